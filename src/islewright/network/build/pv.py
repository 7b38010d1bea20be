"""PV that feeds in at a board by an inverter of its own, beside the house's (a.c.-coupled)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from islewright.network.build.joined import joined_lines
from islewright.network.build.sources import emf
from islewright.network.parts import Feed

if TYPE_CHECKING:
    from islewright.network.build.house import House


def pv(house: House) -> None:
    """Rated current into each line of the board; PV at the inverter's d.c. side changes nothing."""
    job = house.job
    placed, sheet = (job.placement.pv, job.pv) if job.placement.has("pv") else (None, None)
    if placed is None or sheet is None:
        return
    if sheet.gap("coupling") is not None:
        house.lacks("PV", sheet.question("coupling"))
    elif sheet.coupling == "a.c.":
        watts = sheet.figure("power_w")
        if watts is None:
            house.lacks("PV", sheet.question("power_w"))
        if not placed.has("connected_to"):
            house.lacks("PV", placed.question("connected_to"))
        elif watts is not None:
            stated = placed.has("line") and len(job.phases) > 1
            lines = tuple(placed.line) if stated else job.phases
            _feeds(house, str(placed.connected_to), watts, lines)


def _feeds(house: House, board: str, watts: float, lines: tuple[str, ...]) -> None:
    """In phase with the EMFs that drive the board: the supply's, in an island the inverter's."""
    parts, phases = house.parts, house.job.phases
    forming = {b.conductor: b.emf for b in parts.branches if b.kind == "inverter"}
    if house.job.inverter.output == "single-phase on bridged lines":
        forming = dict.fromkeys(phases, next(iter(forming.values())))
    neutral = parts.node(board, "N")
    on_grid = {line: emf(house, line) for line in phases}
    for group, drives in (("PV on the grid", on_grid), ("PV in the island", forming)):
        joined = joined_lines(house.job, board, island=drives is forming)
        for line in (line for line in joined if line in drives and line in lines):
            volt = drives[line]
            amps = watts / len(lines) / parts.u0_v * volt / abs(volt)
            parts.feeds.append(Feed(group, neutral, parts.node(board, line), amps))
