"""Elements to arrays: the core's matrix, and the circuits eliminated onto it in batches.

Index order of the core: nodes, then branch currents. A closed branch is the row
V_a − V_b − z · i = −emf, an open one i = 0, so that contacts may be as small as they are
and a state changes rows, not the layout. Does not belong here: states, faults.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from islewright.network.condense import Condensed
from islewright.network.fault_plan import WIDTH
from islewright.network.parts import EARTH, NODE_LEAK_S, Parts, Stub
from islewright.network.shape import Shape

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Integers = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Terminals:
    """Circuits and cable ends seen from the core; near conductors are 0..4, far ones 5..9.

    `t` (rows, 10, 5) inner volts per attachment volt; `z` (rows, 10, 10) what lies before
    them [Ω]; `y` (rows, 5, 5) the stub's admittance on its attachments [S]. Cable ends lie
    in the core: their `t` is one, `z` and `y` are zero.
    """

    t: Complex
    z: Complex
    y: Complex


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


def eliminate(shape: Shape, omega: float, case: str) -> list[StubBatch]:
    """Eliminate every stub's inner nodes; batches by number of conductors."""
    stubs = shape.parts.stubs
    found = []
    for which in shape.batches:
        chosen = [stubs[i] for i in which]
        if which not in shape.leakages:  # the same hot and cold
            shape.leakages[which] = _leakages(chosen, omega)
        found.append(_batch(chosen, which, shape.leakages[which], case))
    return found


def _batch(stubs: list[Stub], which: tuple[int, ...], leakages: Complex, case: str) -> StubBatch:
    n = len(stubs[0].conductors)
    z = np.array([s.z_hot if case == "hot" else s.z_cold for s in stubs], dtype=complex)
    g_contact = 1 / np.array([s.contact_ohm for s in stubs])
    y = 1 / np.where(z == 0, 1e-6, z)
    near, far = np.arange(n), np.arange(n, 2 * n)
    inner = leakages.copy()
    inner[:, near, near] += g_contact[:, None] + y + NODE_LEAK_S
    inner[:, far, far] += y + NODE_LEAK_S
    inner[:, near, far] -= y
    inner[:, far, near] -= y
    z_inner = np.linalg.inv(inner).astype(np.complex128, copy=False)
    t: Complex = z_inner[:, :, :n] * g_contact[:, None, None]
    y_core: Complex = -t[:, :n, :] * g_contact[:, None, None]
    y_core[:, near, near] += g_contact[:, None]
    att = np.array([s.nodes for s in stubs], dtype=np.intp)
    return StubBatch(which, tuple(s.conductors for s in stubs), att, z_inner, t, y_core)


def _leakages(stubs: list[Stub], omega: float) -> Complex:
    """Admittances (m, 2n, 2n) of what leaks to PE at both ends of each conductor [S].

    The cable's capacitance, and at the far end the loads' leakage.
    """
    n = len(stubs[0].conductors)
    inner = np.zeros((len(stubs), 2 * n, 2 * n), dtype=complex)
    half = np.array([s.farad for s in stubs]) * (0.5j * omega)
    leak = np.array([s.leak_farad for s in stubs]) * (1j * omega)
    pe = np.array([s.conductors.index("PE") if "PE" in s.conductors else -1 for s in stubs])
    is_line = np.array([[c.startswith("L") for c in s.conductors] for s in stubs])
    rows, conductor = np.arange(len(stubs)), np.arange(n)
    to_pe = (pe >= 0)[:, None] & (conductor != pe[:, None])
    for base, leaks in ((0, half[:, None]), (n, half[:, None] + leak[:, None] * is_line)):
        at, siemens = base + conductor, np.where(to_pe, leaks, 0)
        inner[:, at, at] += siemens
        inner[rows, base + pe, base + pe] += siemens.sum(axis=1)
        inner[rows[:, None], at, base + pe[:, None]] -= siemens
        inner[rows[:, None], base + pe[:, None], at] -= siemens
    return inner


class Layout:
    """One job's arrays for one set of impedances ("hot" or "cold"); no state yet.

    `matrix` (u, u) has every branch closed; `shape` tells whose index is whose.
    """

    def __init__(self, parts: Parts, case: str, shape: Shape | None = None) -> None:
        self.parts, self.case = parts, case
        self.shape = shape or Shape(parts)
        self.nodes, self.branches = self.shape.nodes, self.shape.branches
        self.branch_index = self.shape.branch_index
        self.omega = 2 * math.pi * parts.frequency_hz
        self.stubs = eliminate(self.shape, self.omega, case)
        self.matrix = self._matrix()
        #: largest column of the matrix by |re| + |im|, at least its one-norm
        self.norm = max(1.0, largest_column(self.matrix))

    @cached_property
    def condensed(self) -> Condensed:
        """The matrix with the bars taken out that no state touches."""
        return Condensed(self.matrix, self.shape.bars, self.shape.order)

    @cached_property
    def terminals(self) -> Terminals:
        """Every circuit and cable end as seen from the core, in the rows of `shape.ends`."""
        rows = len(self.shape.attached[0])
        t = np.zeros((rows, 2 * WIDTH, WIDTH), dtype=complex)
        z = np.zeros((rows, 2 * WIDTH, 2 * WIDTH), dtype=complex)
        y = np.zeros((rows, WIDTH, WIDTH), dtype=complex)
        start = 0
        for batch in self.stubs:
            m, n = batch.att.shape
            at, half = slice(start, start + m), ((0, slice(0, n)), (WIDTH, slice(n, 2 * n)))
            y[at, :n, :n] = batch.y_core
            for base, inner in half:
                t[at, base : base + n, :n] = batch.t[:, inner]
                for other, also in half:
                    z[at, base : base + n, other : other + n] = batch.z_inner[:, inner, also]
            start += m
        t[start:, :WIDTH] = np.eye(WIDTH)
        return Terminals(t, z, y)

    def _matrix(self) -> Complex:
        n, size = self.nodes, self.nodes + self.branches
        matrix = np.zeros((size, size), dtype=complex)
        matrix[:n, :n] = self._core_admittance()
        branches = self.parts.branches
        hot = self.case == "hot"
        at = np.arange(n, size)
        for ends, sign in (([b.a for b in branches], 1.0), ([b.b for b in branches], -1.0)):
            nodes = np.array(ends, dtype=np.intp)
            real = nodes != EARTH
            matrix[nodes[real], at[real]] += sign
            matrix[at[real], nodes[real]] += sign
        matrix[at, at] = [-(b.z_hot if hot else b.z_cold) for b in branches]
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


def largest_column(matrix: Complex) -> float:
    """Largest column sum of |re| + |im|: the one-norm from above, within a factor of √2."""
    parts = np.abs(np.ascontiguousarray(matrix).view(float)).sum(axis=0)
    return float((parts[::2] + parts[1::2]).max())


def _add(y: Complex, a: Sequence[int], b: Sequence[int], value: Complex) -> None:
    """Stamp admittances between nodes; the index −1 is true earth."""
    i, j = np.array(a, dtype=np.intp), np.array(b, dtype=np.intp)
    np.add.at(y, (i, i), value)
    np.add.at(y, (j, j), value)
    np.add.at(y, (i, j), -value)
    np.add.at(y, (j, i), -value)
