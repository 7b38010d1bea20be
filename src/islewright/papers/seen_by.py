"""Where a residual current device sees an earth fault and where none does, stretch by stretch."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from islewright.drawing import seen as picture
from islewright.drawing.seen import Lane, Stretch
from islewright.job.gap import Unknown
from islewright.network.places import canonical
from islewright.network.state import Mode
from islewright.network.way import cables_to
from islewright.papers.in_series import ranges
from islewright.papers.place import circuit_numbers, terminals
from islewright.rules.registry import Here
from islewright.tables.rows import NotInTable
from islewright.units import show

if TYPE_CHECKING:
    from islewright.network.sheet import RaceRow
    from islewright.rules.study import Study

#: rows that one sheet takes
MOST = 30
_NOT_FED = Lane(seen=None, fed=False, words="not fed")


def stretches(study: Study) -> list[Stretch]:
    """Cables, then the circuits of each board by the devices that protect them."""
    return [*_cables(study), *_circuits(study)]


def _cables(study: Study) -> list[Stretch]:
    found = []
    for name, cable in study.job.cables.items():
        lanes = tuple(_lane(study, "cable", name, canonical(cable.to), mode) for mode in Mode)
        found.append(
            Stretch(
                name=name,
                detail=f"{terminals(cable.from_)} to {terminals(cable.to)}",
                depth=0,
                lanes=(lanes[0], lanes[1]),
            )
        )
    return found


def _circuits(study: Study) -> list[Stretch]:
    numbers = circuit_numbers(study.job)
    groups: dict[tuple[str, tuple[Lane, ...]], list[str]] = {}
    for name, circuit in study.job.circuits.items():
        lanes = tuple(_lane(study, "circuit", name, circuit.board, mode) for mode in Mode)
        groups.setdefault((circuit.board, lanes), []).append(name)
    order = {board: n for n, board in enumerate(study.job.boards)}
    found = []
    for (board, lanes), names in sorted(groups.items(), key=lambda g: order[g[0][0]]):
        listed = ranges([numbers[name] for name in names])
        single = names[0] if len(names) == 1 else ""
        name = f"{listed} {single}" if single else f"circuits {listed}"
        found.append(Stretch(name=name, detail=board, depth=1, lanes=(lanes[0], lanes[1])))
    return found


def _lane(study: Study, kind: str, name: str, place: str, mode: Mode) -> Lane:
    """What one mode's earth fault at the far end meets."""
    if cables_to(study.job, place, mode) is None:
        return _NOT_FED
    board = study.job.circuits[name].board if kind == "circuit" else ""
    try:
        row = study.story(Here(kind, name, mode, board))
    except (Unknown, NotInTable) as gap:
        asked = gap.questions[0].ask if isinstance(gap, Unknown) else str(gap)
        return Lane(seen=None, fed=True, words=f"not known: {asked}")
    return _told(row)


def _told(row: RaceRow) -> Lane:
    """The first RCD that surely opens; else that none does, and what ends the fault."""
    watching = [bar for bar in row.bars if bar.role == "RCD"]
    sure = [bar for bar in watching if bar.known and math.isfinite(bar.latest_s)]
    if sure:
        first = min(sure, key=lambda bar: bar.latest_s)
        name = {"its own RCBO": "its own"}.get(first.name, first.name)
        return Lane(seen=True, fed=True, words=f"{name} sees it, {show(first.latest_s, 's')}")
    if any(not bar.known for bar in watching):
        return Lane(seen=None, fed=True, words="not known")
    rest = [bar for bar in row.bars if bar.known and math.isfinite(bar.latest_s)]
    ends = min(rest, key=lambda bar: bar.latest_s, default=None)
    after = f"{ends.name}, {show(ends.latest_s, 's')}" if ends else "nothing is sure to end it"
    none = "none sees it" if watching else "no RCD"
    return Lane(seen=False, fed=True, words=f"{none}: {after}")


def told(study: Study) -> dict[str, Any]:
    """The sheet: its drawings, and how many stretches no device sees."""
    rows = stretches(study) if study.solvable else []
    blind = [r.name for r in rows if any(lane.fed and lane.seen is False for lane in r.lanes)]
    pictures = [picture.seen(rows[n : n + MOST]) for n in range(0, len(rows), MOST)]
    return {"drawings": pictures, "blind": blind}
