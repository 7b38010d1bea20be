"""Voltages and currents of one state, told: what a meter would show at each place.

Filled from a solved state with or without its loads; shown by the command line. Does not
belong here: switch positions (`tell`), faults (`fault_sheet`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from islewright.job.model import Job
from islewright.network.loads import LoadFlow
from islewright.network.parts import Parts
from islewright.network.solve import Solved

#: order of conductors in every list
ORDER = ("L1", "L2", "L3", "N", "PEN", "PE")

Phasors = Mapping[str, complex]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowSheet:
    """What a meter would show in one state.

    Attributes
    ----------
    state : name of the state
    volts : place -> conductor -> voltage to true earth [V]; places are boards and
        terminals, and "circuit NAME" for the far end of a circuit
    cable_amps : cable -> core -> current from its beginning to its end [A]
    circuit_amps : circuit -> conductor -> current into it behind its device [A]
    """

    state: str
    volts: Mapping[str, Phasors]
    cable_amps: Mapping[str, Phasors]
    circuit_amps: Mapping[str, Phasors]

    def between(self, place: str) -> dict[tuple[str, str], float]:
        """Voltage between each two conductors at a place, and of each to true earth [V].

        Raises
        ------
        KeyError : no such place
        """
        return pairs(self.volts[place])


def pairs(volts: Phasors) -> dict[tuple[str, str], float]:
    """Voltage between each two conductors, then of each to true earth [V].

    >>> pairs({"L1": 230 + 0j, "N": 1 + 0j})
    {('L1', 'N'): 229.0, ('L1', 'true earth'): 230.0, ('N', 'true earth'): 1.0}
    """
    names = list(volts)
    found = {(a, b): abs(volts[a] - volts[b]) for i, a in enumerate(names) for b in names[i + 1 :]}
    return found | {(name, "true earth"): abs(volts[name]) for name in names}


def flow_sheet(job: Job, flow: LoadFlow) -> FlowSheet:
    """Tell a state as its loads leave it.

    Parameters
    ----------
    flow : the loads; none at all gives the state with its loads off
    """
    solved, parts = flow.solved, flow.solved.parts
    circuits = _circuits(parts)
    volts: dict[str, dict[str, complex]] = {}
    for name, i in parts.index.items():
        place, _, conductor = name.rpartition(".")
        if conductor in ORDER and not place.startswith("circuit "):
            volts.setdefault(place, {})[conductor] = complex(flow.x[i])
    volts |= {f"circuit {name}": flow.far(name) for name in job.circuits if name in circuits}
    return FlowSheet(
        state=solved.state.name,
        volts={place: in_order(here) for place, here in volts.items()},
        cable_amps=_cables(job, solved, flow),
        circuit_amps={
            name: in_order(flow.near_currents(name)) for name in job.circuits if name in circuits
        },
    )


def _circuits(parts: Parts) -> set[str]:
    return {stub.circuit for stub in parts.stubs} | {inline.circuit for inline in parts.inlines}


def _cables(job: Job, solved: Solved, flow: LoadFlow) -> dict[str, Phasors]:
    cores = {core.name for core in solved.parts.cores}
    found: dict[str, Phasors] = {}
    for name, cable in job.cables.items():
        named = [(core, f"cable {name} {core}") for core in cable.cores]
        amps = {core: solved.core_current(full, x=flow.x) for core, full in named if full in cores}
        if amps:
            found[name] = in_order(amps)
    return found


def in_order(here: Phasors) -> dict[str, complex]:
    """Conductors in the order of a terminal block."""
    return {name: complex(here[name]) for name in ORDER if name in here}
