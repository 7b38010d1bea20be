"""Chains of protective devices: who meets an earth fault, when, and the charts of that.

Circuits with the same devices in series share a chart; what is printed below it comes from
the member with the weakest fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from islewright.drawing import time_current as chart
from islewright.drawing.bands import Band
from islewright.drawing.words import residual_words
from islewright.job.gap import Unknown
from islewright.network.race import guards_at
from islewright.network.state import Mode
from islewright.network.way import is_backed_up
from islewright.papers.place import circuit_numbers, short_place
from islewright.papers.say import capital, listed
from islewright.rules.registry import Here
from islewright.tables import device as published
from islewright.tables.rows import NotInTable
from islewright.units import show

if TYPE_CHECKING:
    from islewright.network.sheet import RaceBar, RaceRow
    from islewright.network.way import Guard
    from islewright.rules.study import Study
    from islewright.tables.gates import Gates

#: circuits named in full in the head of a chart; more are told by their numbers
MOST_NAMES = 2


@dataclass(frozen=True, slots=True)
class Member:
    """One circuit of a chain, with the weakest and the strongest fault of each mode."""

    name: str
    guards: dict[Mode, tuple[Guard, ...]]
    far: dict[Mode, RaceRow]
    near: dict[Mode, RaceRow]


def chains(study: Study) -> dict[str, Any]:
    """Charts with their words, and the circuits that cannot be drawn with the reason."""
    groups: dict[tuple[Any, ...], list[Member]] = {}
    left_out: dict[str, list[str]] = {}
    for name in study.job.circuits:
        try:
            member = _member(study, name)
            groups.setdefault(_key(member), []).append(member)
        except Unknown as gap:
            left_out.setdefault(gap.questions[0].ask, []).append(short_place(study.job, name))
        except NotInTable as odd:
            left_out.setdefault(capital(str(odd)), []).append(short_place(study.job, name))
    return {
        "charts": [_told(study, members) for members in groups.values()],
        "left_out": [{"why": why, "places": listed(p)} for why, p in left_out.items()],
    }


def _member(study: Study, name: str) -> Member:
    job = study.job
    board = job.circuits[name].board
    modes = [m for m in Mode if m is Mode.GRID or is_backed_up(job, board)]
    guards, far, near = {}, {}, {}
    for mode in modes:
        here = Here("circuit", name, mode, board)
        far[mode], near[mode] = study.story(here), study.story(here, "near")
        guards[mode] = guards_at(job, "circuit", name, mode)[0]
    return Member(name, guards, far, near)


def _key(member: Member) -> tuple[Any, ...]:
    """What makes two circuits share a chart: the same gates in the same order, and time."""
    bands = tuple(tuple(map(_kind, guards)) for guards in member.guards.values())
    allowed = tuple(row.allowed_s for row in member.far.values())
    return (*bands, *allowed)


def _kind(guard: Guard) -> tuple[object, ...]:
    guard.must_be_known()
    if guard.residual is not None:
        part = guard.residual
        return ("RCD", part.trips_at_a, part.delay, part.type)
    assert guard.device is not None  # noqa: S101 - a guard has one of the two
    return (guard.device.curve, float(guard.device.i_n_a), guard.branch.startswith("main"))


def _gates(guard: Guard) -> Gates:
    if guard.residual is not None:
        delayed = "S" if guard.residual.delay == "S" else "general"
        return published.rcd_gates(guard.residual.trips_at_a, delayed)
    assert guard.device is not None  # noqa: S101 - a guard has one of the two
    if guard.device.curve == "gG":
        return published.fuse_gg_gates(guard.device.i_n_a)
    return published.mcb_gates(guard.device.curve, guard.device.i_n_a)


# ------------------------------------------------------------------------- the chart
def _told(study: Study, members: Sequence[Member]) -> dict[str, Any]:
    title = _title(study, members)
    chain = chart.Chain(
        title=title,
        bands=tuple(_bands(members)),
        currents=tuple(_currents(members)),
        allowed_s=min(row.allowed_s for row in members[0].far.values()),
        stop=_stop(members),
    )
    return {
        "title": title,
        "circuits": [member.name for member in members],
        "devices": [band.name for band in chain.bands],
        "svg": chart.time_current(chain),
        "notes": [_note(members, mode) for mode in members[0].far],
    }


def _title(study: Study, members: Sequence[Member]) -> str:
    if len(members) <= MOST_NAMES:
        return listed(short_place(study.job, m.name) for m in members)
    numbers = circuit_numbers(study.job)
    return f"Circuits {ranges([numbers[m.name] for m in members])}"


def ranges(numbers: Sequence[int]) -> str:
    """Numbers as one says them.

    >>> ranges([1, 2, 3, 7, 9, 10])
    '1 to 3, 7, 9, 10'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words = [f"{r[0]} to {r[-1]}" if len(r) > 2 else ", ".join(map(str, r)) for r in runs]
    return ", ".join(words)


def _bands(members: Sequence[Member]) -> Iterable[Band]:
    """Each device once, nearest first; one that a single mode meets says which."""
    found: dict[tuple[object, ...], list[tuple[Guard, Mode]]] = {}
    for member in members:
        for mode, guards in member.guards.items():
            for place, guard in enumerate(guards):
                key = (*_kind(guard), guard.role == "RCD" or place == 0 or guard.branch)
                found.setdefault(key, []).append((guard, mode))
    for met in found.values():
        guard = met[0][0]
        gates = _gates(guard)
        yield Band(
            name=_band_name([g for g, _mode in met]),
            earliest=tuple((g.current_a, g.time_s) for g in gates.earliest),
            latest=tuple((g.current_a, g.time_s) for g in gates.latest),
            residual=guard.residual is not None,
        )


def _band_name(guards: Sequence[Guard]) -> str:
    """R1, R2, 30 mA; C25, inverter cable; main fuse gG 63 A."""
    first = guards[0]
    if first.residual is not None:
        names = list(dict.fromkeys(g.name for g in guards))
        amps = residual_words(first.residual).partition(",")[0]
        own = names == ["its own RCBO"]
        mixed = len(names) > 2 or (len(names) > 1 and "its own RCBO" in names)
        name = "residual part" if own else "RCDs" if mixed else ", ".join(names)
        return f"{name}, {amps}"
    cable = first.branch.removeprefix("device ")
    feeds = f", {cable}" if guards and " of the " not in first.name and _is_feeder(first) else ""
    return f"{first.name}{feeds}"


def _is_feeder(guard: Guard) -> bool:
    return guard.leaves not in {"all but this circuit", "nothing"} or (
        guard.leaves == "nothing" and not guard.branch.startswith("main")
    )


def _currents(members: Sequence[Member]) -> Iterable[chart.Current]:
    for mode in members[0].far:
        far = [m.far[mode].current_a for m in members]
        near = [m.near[mode].current_a for m in members]
        limited = all(m.far[mode].limited for m in members)
        low, high = min(far), max(far if limited else near)
        if math.isfinite(low) and math.isfinite(high):
            yield chart.Current(mode=mode.value, low_a=low, high_a=max(low, high), limited=limited)


def _stop(members: Sequence[Member]) -> chart.Stop | None:
    """When the inverter gives up, where it is limited and the maker says so."""
    row = members[0].far.get(Mode.ISLAND)
    if row is None or not row.limited:
        return None
    bar = next((b for b in row.bars if b.role == "inverter" and b.known), None)
    if bar is None or not math.isfinite(bar.latest_s):
        return None
    return chart.Stop(at_a=row.current_a, earliest_s=bar.earliest_s, latest_s=bar.latest_s)


# ------------------------------------------------------------------------- in words
def _note(members: Sequence[Member], mode: Mode) -> dict[str, Any]:
    """What the weakest fault of the chain meets in one mode."""
    row = min((m.far[mode] for m in members), key=lambda r: r.current_a)
    surely = [b for b in row.bars if b.known and b.latest_s <= row.allowed_s]
    return {
        "mode": capital(mode.value),
        "bars": [_bar(bar) for bar in row.bars if bar.known],
        "allowed": show(row.allowed_s, "s") if math.isfinite(row.allowed_s) else "not known",
        "in_time": bool(surely),
    }


def _bar(bar: RaceBar) -> str:
    """R4 within 40 ms; B16 within 0.1 s; main fuse: after 10 s, or never."""
    name = {"its own RCBO": "residual part"}.get(bar.name, bar.name)
    if math.isinf(bar.earliest_s):
        return f"{name} never"
    if math.isinf(bar.latest_s):
        return f"{name} after {show(bar.earliest_s, 's')}, or never"
    if bar.earliest_s > 0:
        return f"{name} {_from_to(bar)}"
    return f"{name} within {show(bar.latest_s, 's')}"


def _from_to(bar: RaceBar) -> str:
    if bar.earliest_s == bar.latest_s:
        return f"after {show(bar.latest_s, 's')}"
    return f"{show(bar.earliest_s, 's')} to {show(bar.latest_s, 's')}"
