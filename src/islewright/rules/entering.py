"""What enters equipment where: cable ends, the terminals of their conductors, the glands.

No rule stands here; the rules of the chapter `entry` ask it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from islewright.findings import Question, Verdict, at_least, at_most
from islewright.job.ends import (
    BY_CONDUIT,
    DcCable,
    Gland,
    Terminal,
    dc_terminals_for,
    terminals_for,
)
from islewright.job.gap import Gap, Unknown
from islewright.job.model import Board, Cable, Circuit, Job
from islewright.network.places import INVERTER, SWITCH
from islewright.network.way import circuits_of
from islewright.rules.registry import Unlisted, every
from islewright.tables.diameter import outside_diameter
from islewright.tables.rows import NotInTable
from islewright.units import Span

if TYPE_CHECKING:
    from collections.abc import Iterator

    from islewright.job.equipment import Sheet
    from islewright.job.part import Part


class CableEnd(NamedTuple):
    """An end of a cable in equipment or a board.

    `at` is "from" or "to"; `port` is what stands behind the slash, at a board "cables".
    """

    name: str
    cable: Cable | DcCable | Circuit
    at: str
    equipment: str
    port: str
    sheet: Sheet | Board

    @property
    def glands(self) -> dict[str, Gland]:
        """Groups of glands through which it may enter; none where it needs none.

        Raises
        ------
        Unknown : the sheet's glands, or by which of none it enters, are not stated
        """
        stated = self._stated("gland")
        if stated == BY_CONDUIT:
            return {}
        if not self.sheet.glands:
            if isinstance(self.sheet, Board):
                return {}  # by knock-outs, trunking or an open side
            raise Unknown(self.cable.question(f"gland_at_{self.at}"))
        return {stated: self.sheet.glands[stated]} if stated else self.sheet.glands

    def terminal(self, conductor: str) -> str:
        """Name of the group of terminals that a conductor enters.

        Raises
        ------
        Unknown : the sheet's terminals, or which of them it is, are not stated
        """
        stated = self.terminal_stated
        if isinstance(self.cable, DcCable):
            inside = self.equipment == INVERTER
            found = dc_terminals_for(self.sheet.terminals, stated, self.port, at_inverter=inside)
        else:
            found = terminals_for(self.sheet.terminals, conductor, stated, self.port)
        if len(found) != 1:
            circuit = isinstance(self.cable, Circuit)
            asked: Part = self.sheet if circuit else self.cable
            raise Unknown(asked.question("terminals" if circuit else f"terminal_at_{self.at}"))
        return found[0]

    @property
    def terminal_stated(self) -> str | None:
        """The group of terminals that the cable names at this end."""
        return self._stated("terminal")

    def _stated(self, what: str) -> str | None:
        """What the cable names at this end; the file has no such keys for circuits."""
        if isinstance(self.cable, Circuit):
            return None
        stated: str | None = getattr(self.cable, f"{what}_at_{self.at}")
        return stated


def ends_in_equipment(job: Job, name: str) -> list[CableEnd]:
    """Ends of a cable in the islanding switch and the inverter."""
    cable = job.cables[name]
    found = []
    for at, place in (("from", cable.from_), ("to", cable.to)):
        equipment, _, port = place.partition("/")
        if equipment in (SWITCH, INVERTER):
            sheet = job.switch if equipment == SWITCH else job.inverter
            found.append(CableEnd(name, cable, at, equipment, port, sheet))
    return found


def ends_in_boards(job: Job, name: str) -> list[CableEnd]:
    """Ends of a cable in boards."""
    cable = job.cables[name]
    return [
        CableEnd(name, cable, at, place, "cables", job.boards[place])
        for at, place in (("from", cable.from_), ("to", cable.to))
        if place in job.boards
    ]


def ends_of_circuits(job: Job, board: str) -> list[CableEnd]:
    """Where the circuits of a board begin."""
    sheet = job.boards[board]
    return [
        CableEnd(name, circuit, "from", board, "circuits", sheet)
        for name, circuit in circuits_of(job, board).items()
    ]


def ends_of_dc(job: Job) -> list[CableEnd]:
    """Both ends of every d.c. cable; none where neither battery nor array has one.

    Raises
    ------
    Unknown : battery or array are there, and nothing is stated of their cables
    """
    array = job.pv if job.pv is not None and job.pv.coupling == "d.c." else None
    sheets: dict[str, Sheet | None] = {"battery": job.battery, "PV array": array}
    if not any(sheets.values()):
        return []
    found = []
    for name, cable in job.dc_cables.items():
        sheet, port = sheets[cable.from_], cable.from_.removesuffix(" array")
        if sheet is not None:
            found.append(CableEnd(name, cable, "from", cable.from_, port, sheet))
            found.append(CableEnd(name, cable, "to", INVERTER, port, job.inverter))
    return found


def entries(
    end: CableEnd, known: dict[object, str]
) -> Iterator[tuple[str, Terminal, float, list[str]]]:
    """Conductors of an end by terminal and size: group's name, group, size [mm²], conductors.

    `known` keeps which group a conductor enters, for other ends at the same terminals.
    """
    found: dict[tuple[str, float], list[str]] = {}
    for core, size in _conductors(end.cable):
        if size is not None:
            place = id(end.sheet), end.port, core, end.terminal_stated
            if place not in known:
                known[place] = end.terminal(core)
            found.setdefault((known[place], size), []).append(core)
    for (name, size), cores in found.items():
        yield name, end.sheet.terminals[name], size, cores


def _conductors(cable: Cable | DcCable | Circuit) -> Iterator[tuple[str, float | None]]:
    """Each conductor with its cross-section [mm²]."""
    if isinstance(cable, DcCable):
        yield "d.c.", float(cable.size_mm2)
        return
    left_out = isinstance(cable, Circuit) and cable.gap("cores") is Gap.LEFT_OUT
    cores = ("L1", "N", "PE") if left_out else cable.cores or ()
    for core in cores:
        yield core, cable.pe_mm2 if core == "PE" else float(cable.size_mm2)


def diameter(cable: Cable | DcCable | Circuit) -> tuple[Span, float, str, str]:
    """Outside diameter of a cable: its bounds [mm], spread [mm], how it is told, confirmed.

    As measured; for a cable that nobody has measured yet, the bounds of its type's table.

    Raises
    ------
    Unknown : it is not stated, and the table does not reach the type
    """
    if cable.gap("outside_diameter_mm") is None:
        d = cable.outside_diameter_mm
        told = f"outside diameter = {d:g} mm"
        return Span(float(d), float(d)), d.spread or 0.0, told, "as stated"
    asked = cable.question("outside_diameter_mm")
    if isinstance(cable, DcCable):
        raise Unknown(asked)
    if cable.has("earth_mm2") and cable.pe_mm2 != cable.size_mm2:
        raise Unknown(asked)
    try:
        row = outside_diameter(cable.type, len(cable.cores), float(cable.size_mm2))
    except NotInTable as gap:
        raise Unlisted(str(gap), asked) from None
    bounds = Span(row.least_mm, row.most_mm)
    told = f"not measured; {row.type} {row.cores} x {row.area_mm2:g} mm² has between "
    told += f"{bounds.low:g} mm and {bounds.high:g} mm"
    return bounds, 0.0, told, row.confirmed


def within(value: float, span: Span, unit: str, **rest: Any) -> Verdict:
    """Hold a value against the end of a range that is nearer to it; both ends are taken."""
    if value - span.low < span.high - value:
        return at_least(value, span.low, unit, **rest)
    return at_most(value, span.high, unit, **rest)


def surely_within(bounds: Span, span: Span, asked: Question) -> bool:
    """Whether a value of which only bounds are known lies in a range.

    Raises
    ------
    Unknown : both may be, within and without
    """
    if span.low <= bounds.low and bounds.high <= span.high:
        return True
    if bounds.high < span.low or bounds.low > span.high:
        return False
    raise Unknown(asked)


def enclosed(bounds: Span, span: Span, unit: str, asked: Question, **rest: Any) -> Verdict:
    """Hold a value of which only bounds are known against a range.

    Raises
    ------
    Unknown : both may be, within and without
    """
    surely_within(bounds, span, asked)
    ends = (within(end, span, unit, **rest) for end in bounds)
    return min(ends, key=lambda verdict: abs(verdict.limit - verdict.value))


def tightest(demands: list[Verdict]) -> Verdict:
    """Demands that must all be met; of equal ones that with the least room is told first."""

    def room(verdict: Verdict) -> float:
        left = verdict.limit - verdict.value
        return math.inf if math.isnan(left) else (-left if verdict.at_least else left)

    return every(sorted(demands, key=room))
