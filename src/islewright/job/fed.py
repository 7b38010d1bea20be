"""Checks of what feeds what: boards, the lines of their circuits, the inverter's own cable.

What is dead in one state alone is no mistake of the file; here stands what no state can feed.
"""

from __future__ import annotations

from collections.abc import Iterator

from islewright.job.checked import Checked, stated
from islewright.job.equipment import Inverter
from islewright.job.problem import Problem
from islewright.job.ways import INVERTER, SUPPLY, Way, bar, reached

_ON_EVERY_LINE = ("three-phase with neutral", "single units per phase", "split phase")


def every_board_is_fed(c: Checked) -> Iterator[Problem]:
    """A cable reaches each board, from the supply or the inverter."""
    if not _cables_are_whole(c):
        return
    for name in c.boards:
        if name not in c.fed:
            allowed = "no cable leads here from the supply or the inverter"
            yield c.places.problem(("boards", name), name, allowed, at_key=True)


def circuits_are_on_lines_that_reach_their_board(c: Checked) -> Iterator[Problem]:
    """A line of a circuit comes to its board through cables that have it."""
    if not _cables_are_whole(c):
        return
    phases = c.job.phases
    on_line = {line: _reached_by(c.ways, line) for line in phases}
    right: set[tuple[tuple[str, ...], str]] = set()
    for name, circuit in c.job.circuits.items():
        lines = stated(circuit, "lines") or ()
        if (lines, circuit.board) in right:
            continue
        absent = [x for x in lines if x in phases and circuit.board not in on_line[x]]
        if circuit.board not in c.fed or not absent:
            right.add((lines, circuit.board))
            continue  # a board that nothing feeds is told already
        has = " ".join(x for x in phases if circuit.board in on_line[x]) or "none"
        why = f"but no cable brings {' '.join(absent)} to {circuit.board}"
        loc = ("circuits", name, "lines")
        yield c.places.problem(loc, " ".join(lines), f"its lines are: {has}", why=why)


def _reached_by(ways: list[Way], line: str) -> set[str]:
    return reached([way for way in ways if line in way.cores], [SUPPLY, INVERTER])


def the_inverters_cable_has_its_lines(c: Checked) -> Iterator[Problem]:
    """What the inverter gives has a core to leave by."""
    cables = {n: k for n, k in c.job.cables.items() if INVERTER in (bar(k.from_), bar(k.to))}
    if not _cables_are_whole(c) or not cables:
        return
    cores = {core for cable in cables.values() for core in cable.cores}
    placed = stated(c.job.placement, "inverter")
    sheet = c.job._equipment.get(placed.model) if placed else None  # noqa: SLF001 - under check
    output = stated(sheet, "output") if isinstance(sheet, Inverter) else None
    line = stated(placed, "line") if placed else None
    has = " ".join(x for x in c.job.phases if x in cores) or "no line"
    known = set(line or ()) & set(c.job.phases)
    if output == "single-phase" and line and not known <= cores:
        allowed = f"its cable, {', '.join(cables)}, has {has}"
        yield c.places.problem(("equipment", "inverter", "line"), " ".join(line), allowed)
    if output in _ON_EVERY_LINE and not set(c.job.phases) <= cores:
        name, cable = next(iter(cables.items()))
        allowed = f"the inverter is {output}, so its cable has {' '.join(c.job.phases)}"
        yield c.places.problem(("cables", name, "cores"), " ".join(cable.cores), allowed)


def _cables_are_whole(c: Checked) -> bool:
    """Whether all cables could be read and end somewhere; else what is told is told again."""
    ends = {end for cable in c.job.cables.values() for end in (cable.from_, cable.to)}
    return c.whole and ends <= set(c.ends)
