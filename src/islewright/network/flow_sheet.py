"""Voltages and currents of one state, told: what a meter would show at each place.

Filled from a solved state with or without its loads; shown by the command line. Does not
belong here: switch positions (`tell`), faults (`fault_sheet`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from islewright.job.model import Cable, Circuit, Job
from islewright.network.loads import LoadFlow
from islewright.network.parts import Parts
from islewright.network.solve import Solved

#: order of conductors in every list
ORDER = ("L1", "L2", "L3", "N", "PEN", "PE")

#: contacts that join neutral to PE, or the operator's PE to the house's
EARTH_CONTACTS = ("bond", "inverter bond", "PEN split", "supply PE")
#: conductors of the main earthing
EARTH_CORES = ("earthing conductor", "earthing terminal link")

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
    earth_amps : bond, split of the PEN, earthing conductor and what else joins the house to
        earth or its neutral to PE -> current [A]; an open contact carries none
    residual_amps : RCD -> sum of the currents through it [A]; RCDs are "BOARD/RCD", and
        "cable NAME" or "circuit NAME" for the residual part of a device
    """

    state: str
    volts: Mapping[str, Phasors]
    cable_amps: Mapping[str, Phasors]
    circuit_amps: Mapping[str, Phasors]
    earth_amps: Phasors
    residual_amps: Mapping[str, float]

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
        earth_amps=_earths(flow),
        residual_amps=_residuals(job, flow, circuits),
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


def _earths(flow: LoadFlow) -> dict[str, complex]:
    """Currents of all that joins neutral to PE, or PE to true earth."""
    solved = flow.solved
    found = {
        branch.name: solved.current(branch.name, x=flow.x)
        for branch in solved.parts.branches
        if branch.group in EARTH_CONTACTS
    }
    return found | {
        core.name: solved.core_current(core.name, x=flow.x)
        for core in solved.parts.cores
        if core.name in EARTH_CORES or core.name.startswith("parallel earth ")
    }


def _residuals(job: Job, flow: LoadFlow, circuits: set[str]) -> dict[str, float]:
    """What every RCD sees, standing leakage and loads together."""
    groups = {f"{board}/{rcd}": f"RCD {board}/{rcd}" for board in job.boards
              for rcd in job.boards[board].rcds}  # fmt: skip
    groups |= {f"cable {name}": f"device {name}" for name, cable in job.cables.items()
               if _has_residual(cable)}  # fmt: skip
    poles = flow.solved.layout.shape.poles
    found = {
        name: float(abs(flow.x[poles[group]].sum()))
        for name, group in groups.items()
        if group in poles
    }
    for name in job.circuits:
        if name in circuits and _has_residual(job.circuits[name]):
            drawn = flow.near_currents(name)
            found[f"circuit {name}"] = abs(sum(a for c, a in drawn.items() if c != "PE"))
    return found


def _has_residual(part: Cable | Circuit) -> bool:
    """Whether its device has a residual part, as far as the job says."""
    if part.gap("device") is not None or part.device is None:
        return False
    return part.device.has("residual")


def in_order(here: Phasors) -> dict[str, complex]:
    """Conductors in the order of a terminal block."""
    return {name: complex(here[name]) for name in ORDER if name in here}
