"""The inverter's limit found by other ways than the engine's: bisection, and plain rounds.

Pole currents per EMF come from OpenDSS, one source at a time; nothing of the engine's.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.engines.faults import JOINT_OHM, Fault
from tests.engines.house import House
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting

HALVINGS = 60


class Poles:
    """Current of each inverter pole per running EMF, in every fault.

    `amps` (f, k, e): fault, pole, source. `names` are the sources' names (e), `mine` the
    places among them that are the inverter's (k).
    """

    def __init__(self, house: House, setting: Setting, case: str, faults: list[Fault]) -> None:
        elements = house.elements_in(setting, case)
        self.circuit = circuit = Circuit(elements, house.hertz)
        sources = [e for e in elements if e.kind == "emf"]
        self.names = [e.name for e in sources]
        self.mine = [i for i, e in enumerate(sources) if e.role == "inverter"]
        self.amps = np.zeros((len(faults), len(self.mine), len(sources)), dtype=complex)
        for e, alone in enumerate(self.names):
            circuit.scale({name: float(name == alone) for name in self.names})
            for f, fault in enumerate(faults):
                circuit.with_joints(list(fault.pairs), JOINT_OHM)
                for k, at in enumerate(self.mine):
                    self.amps[f, k, e] = circuit.current(sources[at], {})


def all_together(amps: np.ndarray, mine: list[int], limit_a: float) -> np.ndarray:
    """One factor for the inverter's EMFs of one fault (k, e) -> (e)."""
    return _share(amps, mine, limit_a, np.ones(amps.shape[1]), group=range(len(mine)))


def each_by_itself(amps: np.ndarray, mine: list[int], limit_a: float) -> np.ndarray:
    """Phases over the limit share a factor, then those that come over it join (k, e) -> (e)."""
    scale, group = np.ones(amps.shape[1]), set()
    while True:
        flow = np.abs(amps @ scale)
        over = {k for k in range(len(mine)) if flow[k] > limit_a * (1 + 1e-9)}
        if not over - group:
            return scale
        group |= over
        scale = _share(amps, mine, limit_a, scale, group=group)


def _share(amps, mine, limit_a, scale, *, group) -> np.ndarray:
    """The largest common factor at which no pole of the group exceeds the limit; 0 if none."""
    at, poles = [mine[k] for k in group], list(group)
    rest = scale.copy()
    rest[at] = 0
    fixed, moving = amps[poles] @ rest, amps[poles][:, at].sum(axis=1)

    def worst(s: float) -> float:
        return float(np.abs(fixed + s * moving).max())

    found = scale.copy()
    found[at] = _largest(worst, limit_a)
    return found


def _largest(worst: Callable[[float], float], limit_a: float) -> float:
    """Largest s in 0..1 with worst(s) ≤ limit; the function has one valley."""
    if worst(1.0) <= limit_a:
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(0 if worst(0.0) <= limit_a else 2 * HALVINGS):  # down into the valley
        a, b = low + (high - low) / 3, high - (high - low) / 3
        low, high = (low, b) if worst(a) < worst(b) else (a, high)
    inside, outside = low, 1.0
    if worst(inside) > limit_a * (1 + 1e-9):
        return 0.0
    for _ in range(HALVINGS):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if worst(middle) <= limit_a else (inside, middle)
    return inside


def plain_rounds(amps: np.ndarray, limit_a: np.ndarray, rounds: int = 300) -> np.ndarray:
    """Each phase turns its EMF down by half of what its own current asks (f, k, k) -> (f, k)."""
    scale = np.ones(amps.shape[:2])
    for _ in range(rounds):
        flow = np.abs(np.einsum("fke,fe->fk", amps, scale))
        wanted = np.sqrt(limit_a[:, None] / np.maximum(flow, 1e-9))
        scale = np.minimum(1.0, scale * wanted)
    return scale
