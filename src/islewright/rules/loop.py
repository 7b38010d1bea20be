"""Sums of a fault loop that a person can redo by hand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from islewright.job.loops import known_of
from islewright.job.model import Cable, Job
from islewright.job.once import once_a_part
from islewright.network.impedance import circuit_way, core_impedance
from islewright.network.places import canonical
from islewright.network.state import Mode
from islewright.network.supply import tails_ohm
from islewright.network.way import cables_to, source_end
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here

if TYPE_CHECKING:
    from islewright.rules.study import Study


@once_a_study
def loop_by_hand(study: Study, here: Here) -> tuple[list[tuple[str, float]], float, float]:
    """Earth-fault loop of a circuit or cable in grid mode, hot: its parts, spread and sum [Ω].

    The reading at the origin holds all parallel earths; every cable after it adds its
    line and its protective conductor.
    """
    loops = origin_loops(study, "line_earth_ohm")
    z_e = max(loops)[0]
    spread = max(ohm + off for ohm, off in loops) - z_e  # the smaller may reach further
    board, own = here.board, []
    if here.kind == "circuit":
        circuit = study.job.circuits[here.name]
        both = circuit_way(circuit, "L")[0] + circuit_way(circuit, "PE")[0]
        own = [(here.name, abs(both))]
    else:
        cable = study.job.cables[here.name]
        near = source_end(study.job, cable, here.mode)
        board = next(e for e in map(canonical, (cable.from_, cable.to)) if e != near)
    way = cables_to(study.job, board, Mode.GRID) or ()
    added = [(name, _cable_loop_ohm(study.job, cable)) for name, cable in way] + own
    share = float(study.profile.number("spread.length")) / 100
    cables = sum([ohm for _, ohm in added])
    return [("Z_e", z_e), *added], math.hypot(spread, share * cables), z_e + cables


#: whose word has which spread of the profile
_SPREAD_OF = {"measured": "loop_reading", "declared": "declared"}


def origin_loop(study: Study, field: str) -> tuple[float, float]:
    """Worse of the measured and declared loop at the origin, and its spread [Ω].

    Raises
    ------
    Unknown : as `origin_loops`
    """
    return max(origin_loops(study, field))


@once_a_study
def origin_loops(study: Study, field: str) -> list[tuple[float, float]]:
    """Measured and declared loop at the origin, each with its spread [Ω].

    Raises
    ------
    Unknown : neither is stated, or one is not told: it may be the worse one
    """
    found = []
    for source, loops, value in known_of(study.job.supply, field):
        share = float(study.profile.number(f"spread.{_SPREAD_OF[source]}")) / 100
        # what lies between the origin and the tester is counted with the cables
        origin = max(float(value) - tails_ohm(study.job, loops.at, field), 1e-4)
        found.append((origin, value.spread or value * share))
    return found


@once_a_part
def _cable_loop_ohm(_job: Job, cable: Cable) -> float:
    """Line and protective conductor of a cable, hot [Ω]."""
    made = cable.material, cable.insulation
    line = core_impedance(*made, cable.size_mm2, cable.length_m)[0]
    if "PE" not in cable.cores and "PEN" not in cable.cores:
        return abs(line)  # TT: the earth does not come along this cable
    pe = cable.pe_mm2 if "PE" in cable.cores else None
    return abs(line + core_impedance(*made, pe or cable.size_mm2, cable.length_m)[0])
