"""Time that Table 41.1 allows a place, by the system earthing of the state that is judged."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from islewright.job.gap import Unknown
from islewright.network.race import has_sockets, system_of
from islewright.network.state import GRID, ISLAND, Mode
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here
from islewright.tables.rows import NotInTable

if TYPE_CHECKING:
    from islewright.rules.study import Study


@once_a_study
def allowed_s(study: Study, here: Here) -> float:
    """Time that Table 41.1, or 411.3.2.3 to 4 for a cable, allows a place [s].

    Raises
    ------
    Unknown : the circuit's use, its device or a bond is not stated, or the table has no
        such U_0
    """
    system = _column(study, here.mode)
    u0 = float(study.job.supply.nominal_voltage_v)
    final = here.kind == "circuit"
    sockets, i_n = False, math.inf
    if final:
        circuit = study.job.circuits[here.name]
        sockets, i_n = has_sockets(circuit), float(circuit.device.i_n_a)
    try:
        return float(
            study.profile.disconnection_time_s(
                system, u0_v=u0, final=final, sockets=sockets, i_n_a=i_n
            )
        )
    except NotInTable as odd:
        asked = study.job.supply.question("nominal_voltage_v")
        raise Unknown(dataclasses.replace(asked, ask=f"{asked.ask} {odd}")) from None


def shortest_allowed_s(study: Study) -> float:
    """The shortest time that is allowed anywhere in the island [s]."""
    u0 = float(study.job.supply.nominal_voltage_v)
    system = _column(study, Mode.ISLAND)
    return float(
        study.profile.disconnection_time_s(system, u0_v=u0, final=True, sockets=True, i_n_a=0.0)
    )


def _column(study: Study, mode: Mode) -> str:
    """Column of the table: the house may be TT on the grid and TN as an island."""
    system = system_of(study.job, GRID if mode is Mode.GRID else ISLAND)
    return "TT" if system == "TT" else "TN"
