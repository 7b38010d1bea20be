"""One fault, told: its current, the voltages it leaves, what each device does about it.

Any fault between two conductors, or between three lines, at either end of a circuit or
cable, in any state. Does not belong here: all faults at once (`fault`, `race`).

NoSuchFault (LookupError)    no such place in the network, or no such fault there
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.network.earth_faults import EarthFaults
from islewright.network.fault import Ports
from islewright.network.fault_plan import FaultName
from islewright.network.flow_sheet import in_order
from islewright.network.follow import story
from islewright.network.sheet import RaceRow
from islewright.network.solve import Network, Solved
from islewright.network.state import State
from islewright.tables.profile import Profile

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Integers = NDArray[np.intp]


class NoSuchFault(LookupError):
    """The network has no such fault; the message names those that it has there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultSheet:
    """What happens on one fault in one state.

    Attributes
    ----------
    row : current at the least [A], touch voltages [V] and devices, as in the race table
    largest_a : current at the most: cold conductors, strongest supply [A]
    volts : conductor -> voltage to true earth at the fault [V]
    earth_volts : voltage of the main earthing terminal to true earth [V]
    """

    row: RaceRow
    largest_a: float
    volts: Mapping[str, complex]
    earth_volts: float


class _OneFault(EarthFaults):
    """A single fault of any kind, with the inverter's limit for that kind."""

    def __init__(self, job: Job, solved: Solved, ports: Ports, name: FaultName) -> None:
        self.name = name
        super().__init__(job, solved, ports)

    def chosen(self) -> Integers:
        return np.flatnonzero([name == self.name for name in self.ports.names])

    def limit_a(self) -> float:
        if self.name.kind.endswith("-PE"):
            return super().limit_a()
        return float(self.job.inverter.fault_current.between_lines_a)


def fault_sheet(
    job: Job, net: Network, profile: Profile, state: State, *, place: str, kind: str, end: str
) -> FaultSheet:
    """Tell one fault.

    Parameters
    ----------
    place : "circuit NAME" or "cable NAME"
    kind : conductors that touch, such as "L1-PE", "L1-N", "L1-L2", "L1-L2-L3"
    end : "far" or "near" (just behind the device, or where the cable begins)

    Raises
    ------
    NoSuchFault : no such place in the network, or no such fault there
    Unknown : the inverter's limit for such a fault is not stated
    """
    name = FaultName(place, end, kind)
    least = _solve(job, net, state, name, "hot", float(profile.number("loop.c_min")))
    most = _solve(job, net, state, name, "cold", float(profile.number("loop.c_max")))
    row = story(job, least, profile, place, end)
    if row is None:
        raise NoSuchFault(f"{place} has no fault {kind} at its {end} end")
    if not kind.endswith("-PE"):
        row = replace(row, allowed_s=float("nan"))  # Table 41.1 speaks of faults to earth
    x = least.x[:, 0]
    met = net.parts.index["main earthing terminal.PE"]
    return FaultSheet(
        row=row,
        largest_a=float(most.amps[0]),
        volts=in_order(_volts_at(least, name, x)),
        earth_volts=float(abs(x[met])),
    )


def _solve(
    job: Job, net: Network, state: State, name: FaultName, case: str, factor: float
) -> _OneFault:
    ports = Ports(net.layout(case), 2 if name.kind.count("-") == 2 else 1)
    if name not in ports.position:
        raise NoSuchFault(_which_there_are(net, name))
    found = _OneFault(job, net.solved(state, case=case, factor=factor), ports, name)
    if found.limit_missing:
        raise Unknown(*found.limit_missing)
    return found


def kinds_at(net: Network, place: str) -> list[str]:
    """Faults that the network has at a place, such as L1-PE; none where it has no such place."""
    found = []
    for count in (1, 2):
        names = Ports(net.layout("hot"), count).names
        found += [name.kind for name in names if name.place == place and name.end == "far"]
    return found


def _which_there_are(net: Network, name: FaultName) -> str:
    kinds = kinds_at(net, name.place)
    if not kinds:
        return f"{name.place} has no fault in the network: it lies open, or is not there"
    return f"{name.place} has no fault {name.kind}; it has {', '.join(kinds)}"


def _volts_at(faults: _OneFault, name: FaultName, x: Complex) -> dict[str, complex]:
    """Voltages of all conductors at the fault, to true earth."""
    solved = faults.solved
    circuit = name.place.removeprefix("circuit ")
    if any(stub.circuit == circuit for stub in solved.parts.stubs):
        return _stub_volts(faults, name, circuit, x)
    shape = solved.layout.shape
    end = shape.end_of[name.place, name.end]
    nodes = shape.attached[0][end.row]
    return {c: complex(x[nodes[end.position(c)]]) for c in end.conductors}


def _stub_volts(faults: _OneFault, name: FaultName, circuit: str, x: Complex) -> dict[str, complex]:
    batch, row = faults.solved.stub_row(circuit)
    conductors = batch.conductors[row]
    n = len(conductors)
    half = slice(0, n) if name.end == "near" else slice(n, 2 * n)
    drawn = np.zeros(2 * n, dtype=complex)
    kind = name.kind.split("-")
    for start, amps in zip(kind[:-1], faults.port_amps[0], strict=True):
        drawn[half.start + conductors.index(start)] += amps
        drawn[half.start + conductors.index(kind[-1])] -= amps
    volts = batch.t[row, half] @ x[batch.att[row]] - batch.z_inner[row, half] @ drawn
    return dict(zip(conductors, map(complex, volts), strict=True))
