"""A plain nodal solution in extended precision: who is right where two solvers differ.

Gaussian elimination with partial pivoting on 80-bit numbers (where the machine has them),
no tricks; slow, and only meant for single cases.
"""

from __future__ import annotations

import math

import numpy as np

from tests.engines.elements import EARTH, FLOAT_OHM, Element, nodes_of


def volts_of(elements: list[Element], hertz: float) -> dict[str, complex]:
    """Voltage of every node to true earth [V]."""
    nodes = nodes_of(elements)
    index = {node: i for i, node in enumerate(nodes)}
    size = len(nodes)
    y = np.zeros((size, size), dtype=np.clongdouble)
    amps = np.zeros(size, dtype=np.clongdouble)
    y[np.arange(size), np.arange(size)] = np.longdouble(1) / np.longdouble(FLOAT_OHM)
    omega = 2 * math.pi * hertz
    for e in elements:
        a, b = (index.get(n, -1) for n in (e.a, e.b))
        if e.kind == "amp":
            _inject(amps, a, b, np.clongdouble(e.ampere))
            continue
        one = np.clongdouble(1)
        value = np.clongdouble(1j * omega * e.farad) if e.kind == "farad" else one / e.ohm
        for i, j, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            if i >= 0 and j >= 0:
                y[i, j] += sign * value
        if e.kind == "emf":
            _inject(amps, a, b, np.clongdouble(e.volt) * value)
    found = _eliminate(y, amps)
    return dict(zip(nodes, map(complex, found), strict=True)) | {EARTH: 0j}


def _inject(amps: np.ndarray, a: int, b: int, value: np.clongdouble) -> None:
    """A current driven from a to b inside an element leaves it at b."""
    if a >= 0:
        amps[a] -= value
    if b >= 0:
        amps[b] += value


def _eliminate(matrix: np.ndarray, right: np.ndarray) -> np.ndarray:
    size = len(right)
    for k in range(size):
        at = k + int(np.abs(matrix[k:, k]).argmax())
        if at != k:
            matrix[[k, at]] = matrix[[at, k]]
            right[[k, at]] = right[[at, k]]
        below = k + 1 + np.flatnonzero(matrix[k + 1 :, k])
        ratio = matrix[below, k] / matrix[k, k]
        matrix[below, k:] -= ratio[:, None] * matrix[k, k:]
        right[below] -= ratio * right[k]
    found = np.zeros_like(right)
    for k in range(size - 1, -1, -1):
        found[k] = (right[k] - matrix[k, k + 1 :] @ found[k + 1 :]) / matrix[k, k]
    return found
