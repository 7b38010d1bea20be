"""Cables as ways between places: what they reach, and where live conductors close a ring.

Belongs here: the graph of a job's cables, without any impedance. Does not belong here:
currents and voltages (`network`), and the switch positions of a state.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

from islewright.job.kinds import LINES

if TYPE_CHECKING:
    from islewright.job.model import Job

SUPPLY = "supply"
EARTHING_TERMINAL = "main earthing terminal"
SWITCH_GRID = "islanding switch/grid"
SWITCH_HOUSE = "islanding switch/house"
INVERTER = "inverter"

#: every place that is no board, and what it is the same bar as
SAME_BAR: Mapping[str, str] = {
    SUPPLY: SUPPLY,
    SWITCH_GRID: SWITCH_GRID,
    SWITCH_HOUSE: SWITCH_HOUSE,
    "islanding switch/inverter": SWITCH_HOUSE,
    INVERTER: INVERTER,
    "inverter/output": INVERTER,
    EARTHING_TERMINAL: EARTHING_TERMINAL,
}


class Way(NamedTuple):
    """A cable, or the closed islanding switch (whose name is empty)."""

    name: str
    ends: tuple[str, str]
    cores: tuple[str, ...]


def bar(place: str) -> str:
    """Name of the bar that a place lies on."""
    return SAME_BAR.get(place, place)


def ways_of(job: Job) -> list[Way]:
    """Cables and the closed islanding switch; the bypass is declared and no way of its own."""
    ways = [
        Way(name, (bar(cable.from_), bar(cable.to)), cable.cores)
        for name, cable in job.cables.items()
    ]
    return [Way("", (SWITCH_GRID, SWITCH_HOUSE), (*LINES, "N")), *ways]


def conductors_at_switch(job: Job) -> tuple[str, ...]:
    """Lines and neutral that any cable brings to the islanding switch; PEN counts as N."""
    brought = {
        "N" if core == "PEN" else core
        for cable in job.cables.values()
        if {bar(cable.from_), bar(cable.to)} & {SWITCH_GRID, SWITCH_HOUSE}
        for core in cable.cores
    }
    return tuple(c for c in (*job.phases, "N") if c in brought)


def reached(ways: Iterable[Way], start: Iterable[str], *, stop: str = "") -> set[str]:
    """Places that hang together with the given ones; `stop` is reached but not passed."""
    beside: dict[str, list[str]] = {}
    for way in ways:
        a, b = way.ends
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    seen = set(start)
    ahead = deque(seen)
    while ahead:
        place = ahead.popleft()
        for other in () if place == stop else beside.get(place, ()):
            if other not in seen:
                seen.add(other)
                ahead.append(other)
    return seen


def live_rings(ways: Iterable[Way], conductors: Iterable[str]) -> Iterator[tuple[str, ...]]:
    """Cables that close a ring of one live conductor, each ring once, the closing one last.

    PEN counts as N. Single-core cables side by side carry different conductors and close
    nothing.
    """
    told: set[frozenset[str]] = set()
    listed = list(ways)
    for conductor in conductors:
        wanted = {conductor, "PEN"} if conductor == "N" else {conductor}
        tree: list[Way] = []
        beside: dict[str, str] = {}  # of each place one that hangs together with it
        for way in listed:
            if wanted.isdisjoint(way.cores):
                continue
            one, other = (_last(beside, end) for end in way.ends)
            if one != other:
                beside[one] = other
                tree.append(way)
                continue
            back = _between(tree, *way.ends)
            names = (*(w.name for w in back if w.name), *([way.name] if way.name else []))
            if frozenset(names) not in told:
                told.add(frozenset(names))
                yield names


def _last(beside: dict[str, str], place: str) -> str:
    """Where a walk from a place through those beside it ends: once for all that hang together."""
    while place in beside:
        place = beside[place]
    return place


def _between(tree: list[Way], start: str, end: str) -> list[Way]:
    """The ways that lead from one place to another, which hang together."""
    came: dict[str, Way | None] = {start: None}
    ahead = deque([start])
    while ahead:
        place = ahead.popleft()
        if place == end:
            break
        for way in tree:
            if place in way.ends:
                other = way.ends[1] if place == way.ends[0] else way.ends[0]
                if other not in came:
                    came[other] = way
                    ahead.append(other)
    path: list[Way] = []
    place = end
    while (step := came[place]) is not None:
        path.append(step)
        place = step.ends[0] if place == step.ends[1] else step.ends[1]
    return path
