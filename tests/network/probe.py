"""What the tests of small houses ask of a solved state in one line."""

from __future__ import annotations

import numpy as np

from islewright.network.earth_faults import EarthFaults
from islewright.network.fault import Faults, Ports
from islewright.network.fault_plan import FaultName
from islewright.network.limit import limit_scale, limited_currents
from islewright.network.solve import Network, Solved
from islewright.network.state import State


def fault(
    net: Network, state: State, place: str, kind: str, *, end: str = "far", case: str = "cold"
) -> tuple[complex, np.ndarray, Solved]:
    """Current of one bolted fault without any limit [A], and the whole solution [V, A]."""
    solved = net.solved(state, case=case)
    faults = Faults(solved, Ports(solved.layout, 1))
    row = faults.ports.position[FaultName(place, end, kind)]
    x = faults.unknowns(np.array([row]))[:, 0]
    return complex(faults.current[row, 0]), x, solved


def loop_ohm(
    net: Network, state: State, place: str, kind: str, *, end: str = "far", case: str = "cold"
) -> complex:
    """Impedance that a tester between two conductors sees [Ω]."""
    solved = net.solved(state, case=case)
    faults = Faults(solved, Ports(solved.layout, 1))
    return complex(faults.z_port[faults.ports.position[FaultName(place, end, kind)], 0, 0])


def limited_a(net: Network, state: State, place: str, kind: str, limit_a: float) -> float:
    """Current of one fault at the inverter's limit, each phase by itself [A]."""
    solved = net.solved(state)
    faults = Faults(solved, Ports(solved.layout, 1))
    scale = limit_scale(faults, limit_a, "each phase by itself")
    row = faults.ports.position[FaultName(place, "far", kind)]
    return float(abs(limited_currents(faults, scale)[row, 0]))


def earth_faults(job, net: Network, state: State, *, case: str = "hot") -> EarthFaults:
    """All earth faults of a state, under the inverter's limit."""
    solved = net.solved(state, case=case)
    return EarthFaults(job, solved, Ports(solved.layout, 1))


def residual_a(solved: Solved, x: np.ndarray, group: str) -> float:
    """Sum of the currents through the poles of an RCD [A]."""
    return float(abs(x[solved.layout.shape.poles[group]].sum()))
