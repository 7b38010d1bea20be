"""The inverter's current limit in every fault of a state, all faults at once.

Seen from the inverter a fault is a small matrix: pole current per EMF. The limit scales
EMFs until no pole gives more than it can. "All together": one factor for every phase.
"Each phase by itself": the phases over their limit share one factor, the rest keep
theirs. Loss of voltage, trip and restart are events in time and lie in `race`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from islewright.network.fault import Faults

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Real = NDArray[np.float64]
    Booleans = NDArray[np.bool_]
    Rows = NDArray[np.intp] | slice

ALL_TOGETHER = "all together"
EACH_BY_ITSELF = "each phase by itself"
#: rounds in which further phases may reach the limit
ROUNDS = 3


#: rows of all faults
EVERY = slice(None)


def pole_currents(faults: Faults, rows: Rows = EVERY) -> Complex:
    """Current of each inverter pole per running EMF at its nominal value (f, k, e) [A].

    Poles k are the inverter's sources in the order of `solved.sources`; e all sources.
    """
    solved, ports = faults.solved, faults.ports
    at = inverter_sources(faults)
    poles = solved.layout.nodes + solved.sources[at]
    reach = solved.inverse[poles][:, ports.nodes[rows]].swapaxes(0, 1)
    back = reach @ ports.weights[rows]  # (f, k, p)
    with np.errstate(invalid="ignore"):  # not finite is never met
        found: Complex = solved.by_emf[poles][None] - back @ faults.by_emf[rows]
    return found


def inverter_sources(faults: Faults) -> NDArray[np.intp]:
    """Positions of the inverter's EMFs among the running sources."""
    branches = faults.solved.parts.branches
    return np.array(
        [i for i, s in enumerate(faults.solved.sources) if branches[s].kind == "inverter"],
        dtype=np.intp,
    )


def limit_scale(faults: Faults, limit_a: Real | float, how: str, rows: Rows = EVERY) -> Real:
    """Factor on every running EMF so that no inverter pole exceeds its limit (f, e).

    Parameters
    ----------
    limit_a : largest r.m.s. current of a pole, one figure or one per fault [A]
    how : "all together" or "each phase by itself"
    rows : which faults; all if left out
    """
    currents = pole_currents(faults, rows)
    mine = inverter_sources(faults)
    limit = np.broadcast_to(np.asarray(limit_a, dtype=float), (currents.shape[0],))
    scale = np.ones((currents.shape[0], currents.shape[2]))
    together = how == ALL_TOGETHER
    for _ in range(ROUNDS):
        flow = np.abs(summed(currents, scale))
        over = flow > limit[:, None] * (1 + 1e-12)
        beyond = np.flatnonzero(over.any(axis=1))
        if not len(beyond):
            break
        # a phase once scaled stays in the group that shares the factor
        held = np.zeros(scale.shape, dtype=bool)
        held[:, mine] = together | over | (scale[:, mine] < 1)
        _rescale(scale, currents, limit, held, beyond)
    return scale


def _rescale(
    scale: Real, currents: Complex, limit: Real, held: Booleans, rows: NDArray[np.intp]
) -> None:
    """Give the held phases of some faults the factor at which the worst pole sits at its limit."""
    some, kept = currents[rows], held[rows]
    a = summed(some, kept)
    b = summed(some, np.where(kept, 0.0, scale[rows]))
    factor = largest_factor(a, b, limit[rows])
    scale[rows] = np.where(kept, factor[:, None], scale[rows])


def largest_factor(a: Complex, b: Complex, limit: Real) -> Real:
    """Largest s in 0..1 with |a s + b| ≤ limit at every pole; 0 where there is none.

    Parameters
    ----------
    a, b : current of each pole per unit of s, and without it (f, k) [A]
    limit : largest current of a pole (f) [A]
    """
    most = limit[:, None]
    qa, qb = np.abs(a) ** 2, 2 * (a * np.conj(b)).real
    inside = qb * qb - 4 * qa * (np.abs(b) ** 2 - most**2)
    free = qa < 1e-30  # this pole does not depend on s
    root = (-qb + np.sqrt(np.maximum(inside, 0.0))) / (2 * np.where(free, 1.0, qa))
    best: Real = np.clip(np.where(free, 1.0, root), 0.0, 1.0).min(axis=1)
    # a pole that another source drives may need a larger factor than the next one bears
    flow = np.abs(a * best[:, None] + b)
    borne = (flow <= most * (1 + 1e-9)).all(axis=1)
    return np.where(borne, best, 0.0)


def limited_currents(faults: Faults, scale: Real, rows: Rows = EVERY) -> Complex:
    """Port currents of some faults with the EMFs scaled (f, p) [A]."""
    return summed(faults.by_emf[rows], scale)


def summed(each: Complex, factor: Real | Booleans) -> Complex:
    """Sum over the sources of what each gives (f, k, e), times its factor (f, e)."""
    with np.errstate(invalid="ignore"):
        found: Complex = np.einsum("fke,fe->fk", each, factor)
    return found
