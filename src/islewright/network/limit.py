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

ALL_TOGETHER = "all together"
EACH_BY_ITSELF = "each phase by itself"
#: rounds in which further phases may reach the limit
ROUNDS = 3


def pole_currents(faults: Faults) -> Complex:
    """Current of each inverter pole per running EMF at its nominal value (f, k, e) [A].

    Poles k are the inverter's sources in the order of `solved.sources`; e all sources.
    """
    solved, ports = faults.solved, faults.ports
    at = inverter_sources(faults)
    rows = solved.layout.nodes + solved.sources[at]
    back = np.einsum("kfi,fip->fkp", solved.inverse[rows][:, ports.nodes], ports.weights)
    found: Complex = solved.by_emf[rows][None] - np.einsum("fkp,fpe->fke", back, faults.by_emf)
    return found


def inverter_sources(faults: Faults) -> NDArray[np.intp]:
    """Positions of the inverter's EMFs among the running sources."""
    branches = faults.solved.parts.branches
    return np.array(
        [i for i, s in enumerate(faults.solved.sources) if branches[s].kind == "inverter"],
        dtype=np.intp,
    )


def limit_scale(faults: Faults, limit_a: Real | float, how: str) -> Real:
    """Factor on every running EMF so that no inverter pole exceeds its limit (f, e).

    Parameters
    ----------
    limit_a : largest r.m.s. current of a pole, one figure or one per fault [A]
    how : "all together" or "each phase by itself"
    """
    currents = pole_currents(faults)
    mine = inverter_sources(faults)
    limit = np.broadcast_to(np.asarray(limit_a, dtype=float), (currents.shape[0],))
    scale = np.ones((currents.shape[0], currents.shape[2]))
    together = how == ALL_TOGETHER
    for _ in range(ROUNDS):
        flow = np.abs(np.einsum("fke,fe->fk", currents, scale))
        over = flow > limit[:, None] * (1 + 1e-12)
        # a phase once scaled stays in the group that shares the factor
        held = over | (scale[:, mine] < 1)
        if together:
            held = np.repeat(held.any(axis=1)[:, None], len(mine), axis=1)
        if not over.any():
            break
        rows = np.flatnonzero(over.any(axis=1))
        _rescale(scale, currents, limit, mine, held, rows)
    return scale


def _rescale(
    scale: Real, currents: Complex, limit: Real, mine: NDArray[np.intp],
    held: NDArray[np.bool_], rows: NDArray[np.intp],
) -> None:  # fmt: skip
    """Give the held phases of some faults the factor at which the worst pole sits at its limit."""
    for row in rows:
        group = mine[held[row]]
        a = currents[row][:, group].sum(axis=1)
        rest = scale[row].copy()
        rest[group] = 0
        b = currents[row] @ rest
        scale[row, group] = _largest_factor(a, b, limit[row])


def _largest_factor(a: Complex, b: Complex, limit: float) -> float:
    """Largest s in 0..1 with |a s + b| ≤ limit at every pole; 0 where none is."""
    best = 1.0
    for a_k, b_k in zip(a, b, strict=True):
        qa, qb, qc = abs(a_k) ** 2, 2 * (a_k * np.conj(b_k)).real, abs(b_k) ** 2 - limit**2
        if qa < 1e-30 or qa * best**2 + qb * best + qc <= 0:
            continue
        inside = qb * qb - 4 * qa * qc
        if inside < 0:
            return 0.0
        best = min(best, max(0.0, float((-qb + np.sqrt(inside)) / (2 * qa))))
    # a pole that another source drives may need a larger factor than the next one bears
    return best if (np.abs(a * best + b) <= limit * (1 + 1e-9)).all() else 0.0


def limited_currents(faults: Faults, scale: Real) -> Complex:
    """Port currents of every fault with the EMFs scaled (f, p) [A]."""
    found: Complex = np.einsum("fpe,fe->fp", faults.by_emf, scale)
    return found
