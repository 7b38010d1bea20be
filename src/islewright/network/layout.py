"""Elements to arrays: the core's matrix, and the circuits eliminated onto it in batches.

Index order of the core: nodes, then branch currents. A closed branch is the row
V_a − V_b − z · i = −emf, an open one i = 0, so that contacts may be as small as they are
and a state changes rows, not the layout. Does not belong here: states, faults.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from islewright.network.parts import EARTH, NODE_LEAK_S, Parts, Stub

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Integers = NDArray[np.intp]

#: the two sets of impedances
CASES = ("hot", "cold")


@dataclass(slots=True)
class StubBatch:
    """Circuits with the same number of conductors, eliminated together.

    `m` circuits, `n` conductors; inner nodes are near 0..n-1, far n..2n-1.
    `att` (m, n) attachment nodes; `z_inner` (m, 2n, 2n) [Ω]; `t` (m, 2n, n) inner volts
    per attachment volt; `y_core` (m, n, n) what the stub adds to the core [S].
    """

    circuits: tuple[int, ...]
    conductors: tuple[tuple[str, ...], ...]
    att: Integers
    z_inner: Complex
    t: Complex
    y_core: Complex


def eliminate(stubs: Sequence[Stub], omega: float, case: str) -> list[StubBatch]:
    """Eliminate every stub's inner nodes; batches by number of conductors."""
    by_count: dict[int, list[int]] = {}
    for i, stub in enumerate(stubs):
        by_count.setdefault(len(stub.conductors), []).append(i)
    return [_batch([stubs[i] for i in which], tuple(which), omega, case)
            for which in by_count.values()]  # fmt: skip


def _batch(stubs: list[Stub], which: tuple[int, ...], omega: float, case: str) -> StubBatch:
    m, n = len(stubs), len(stubs[0].conductors)
    z = np.array([s.z_hot if case == "hot" else s.z_cold for s in stubs], dtype=complex)
    g_contact = 1 / np.array([s.contact_ohm for s in stubs])
    y = 1 / np.where(z == 0, 1e-6, z)
    near, far = np.arange(n), np.arange(n, 2 * n)
    inner = np.zeros((m, 2 * n, 2 * n), dtype=complex)
    inner[:, near, near] = g_contact[:, None] + y + NODE_LEAK_S
    inner[:, far, far] = y + NODE_LEAK_S
    inner[:, near, far] = inner[:, far, near] = -y
    half = np.array([s.farad for s in stubs]) * (0.5j * omega)
    leak = np.array([s.leak_farad for s in stubs]) * (1j * omega)
    pe = np.array([s.conductors.index("PE") if "PE" in s.conductors else -1 for s in stubs])
    is_line = np.array([[c.startswith("L") for c in s.conductors] for s in stubs])
    rows = np.flatnonzero(pe >= 0)
    for c in range(n):
        at = rows[pe[rows] != c]
        for base, extra in ((0, 0.0), (n, leak[at] * is_line[at, c])):
            _stamp(inner, at, base + c, base + pe[at], half[at] + extra)
    z_inner = np.linalg.inv(inner).astype(np.complex128, copy=False)
    t: Complex = z_inner[:, :, :n] * g_contact[:, None, None]
    y_core: Complex = -t[:, :n, :] * g_contact[:, None, None]
    y_core[:, near, near] += g_contact[:, None]
    att = np.array([s.nodes for s in stubs], dtype=np.intp)
    return StubBatch(which, tuple(s.conductors for s in stubs), att, z_inner, t, y_core)


def _stamp(matrix: Complex, at: Any, a: Any, b: Any, y: Any) -> None:
    matrix[at, a, a] += y
    matrix[at, b, b] += y
    matrix[at, a, b] -= y
    matrix[at, b, a] -= y


class Layout:
    """One job's arrays for one set of impedances ("hot" or "cold"); no state yet.

    `nodes`, `branches` count the core's unknowns; `matrix` (u, u) has every branch closed.
    """

    def __init__(self, parts: Parts, case: str) -> None:
        self.parts, self.case = parts, case
        self.omega = 2 * np.pi * parts.frequency_hz
        self.nodes, self.branches = len(parts.nodes), len(parts.branches)
        self.stubs = eliminate(parts.stubs, float(self.omega), case)
        self.branch_index = {b.name: i for i, b in enumerate(parts.branches)}
        self.matrix = self._matrix()

    def _matrix(self) -> Complex:
        n, size = self.nodes, self.nodes + self.branches
        y = self._core_admittance()
        matrix = np.zeros((size, size), dtype=complex)
        matrix[:n, :n] = y
        branches = self.parts.branches
        hot = self.case == "hot"
        at = np.arange(n, size)
        a = np.array([b.a for b in branches], dtype=np.intp)
        b = np.array([b.b for b in branches], dtype=np.intp)
        for ends, sign in ((a, 1.0), (b, -1.0)):
            real = ends != EARTH
            matrix[ends[real], at[real]] += sign
            matrix[at[real], ends[real]] += sign
        matrix[at, at] = [-(x.z_hot if hot else x.z_cold) for x in branches]
        return matrix

    def _core_admittance(self) -> Complex:
        n, parts = self.nodes, self.parts
        hot = self.case == "hot"
        y = np.zeros((n + 1, n + 1), dtype=complex)  # the last row is true earth
        values = [1 / (c.z_hot if hot else c.z_cold) for c in parts.cores]
        values += [c.siemens + 1j * self.omega * c.farad for c in parts.capacities]
        a = [c.a for c in parts.cores] + [c.a for c in parts.capacities]
        b = [c.b for c in parts.cores] + [c.b for c in parts.capacities]
        _add(y, a, b, np.array(values))
        for batch in self.stubs:
            np.add.at(y, (batch.att[:, :, None], batch.att[:, None, :]), batch.y_core)
        y[np.arange(n), np.arange(n)] += NODE_LEAK_S
        return y[:n, :n]


def _add(y: Complex, a: Sequence[int], b: Sequence[int], value: Complex) -> None:
    """Stamp admittances between nodes; the index −1 is true earth."""
    i, j = np.array(a, dtype=np.intp), np.array(b, dtype=np.intp)
    np.add.at(y, (i, i), value)
    np.add.at(y, (j, j), value)
    np.add.at(y, (i, j), -value)
    np.add.at(y, (j, i), -value)
