"""Faults at both ends of every circuit and cable, as batches on one solved state.

A fault is a port on the core: weights on at most five core nodes per unit of port
current, and the impedance of the stub that lies before it. Everything follows from the
state's inverse by small products; nothing is factorised again.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from islewright.network.layout import Layout
from islewright.network.solve import Solved

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Real = NDArray[np.float64]
    Integers = NDArray[np.intp]

WIDTH = 5  # no cable has more than L1 L2 L3 N PE


@dataclass(frozen=True, slots=True)
class FaultName:
    """Where and what: `place` is "circuit NAME" or "cable NAME"; `kind` such as "L1-PE"."""

    place: str
    end: str
    kind: str


class Ports:
    """All fault ports of a layout, with `p` ports each (1, or 2 for three-phase faults).

    Attributes
    ----------
    names : one `FaultName` per fault (f)
    nodes, weights : (f, 5), (f, 5, p) core nodes and injection per ampere of port current
    local : (f, p, p) impedance of the stub before the port [Ω]
    pe_weights : (f, 5) attachment weights of the exposed part's voltage
    pe_local : (f, p) volts of the exposed part per ampere of port current, beyond the core [Ω]
    stub_y : (f, 5, 5) the stub's admittance on its attachments, 0 for core ports [S]
    live : (f, 5) True where the attachment is a line or neutral
    """

    def __init__(self, layout: Layout, ports: int) -> None:
        self.names: list[FaultName] = []
        self.count = ports
        self._rows: list[tuple[np.ndarray, ...]] = []
        self._stub_ports(layout)
        self._core_ports(layout)
        if not self._rows:
            self._keep(*_nothing(ports))
        parts = [np.concatenate([row[i] for row in self._rows]) for i in range(7)]
        self.nodes: Integers = parts[0].astype(np.intp)
        self.weights, self.local, self.pe_weights, self.pe_local, self.stub_y, live = parts[1:]
        self.live = live.real.astype(bool)
        self._rows.clear()

    def _stub_ports(self, layout: Layout) -> None:
        for batch in layout.stubs:
            by_cores: dict[tuple[str, ...], list[int]] = {}
            for row, conductors in enumerate(batch.conductors):
                by_cores.setdefault(conductors, []).append(row)
            for conductors, rows in by_cores.items():
                kinds = fault_kinds(conductors, self.count)
                if kinds:
                    self._one_shape(layout, batch, conductors, np.array(rows), kinds)

    def _one_shape(self, layout, batch, conductors, rows, kinds) -> None:  # type: ignore[no-untyped-def]  # noqa: ANN001
        n = len(conductors)
        pattern = np.array(
            [_incidence(conductors, kind, self.count) for kind in kinds]
        )  # (k, n, p)
        k, p = len(kinds), self.count
        ends = np.zeros((2 * k, 2 * n, p))
        ends[:k, :n], ends[k:, n:] = pattern, pattern
        t, z = batch.t[rows], batch.z_inner[rows]
        m, f = len(rows), len(rows) * 2 * k
        weights = np.einsum("mia,fip->mfap", t, ends).reshape(f, n, p)
        local = np.einsum("fip,mij,fjq->mfpq", ends, z, ends, optimize=True).reshape(f, p, p)
        at_pe = [0, n]
        pe = conductors.index("PE") if "PE" in conductors else None
        pe_weights = np.zeros((m, 2 * k, n), dtype=complex)
        pe_local = np.zeros((m, 2 * k, p), dtype=complex)
        if pe is not None:
            for half, offset in enumerate(at_pe):
                chosen = slice(half * k, (half + 1) * k)
                pe_weights[:, chosen] = t[:, None, offset + pe, :]
                pe_local[:, chosen] = -np.einsum("mj,fjp->mfp", z[:, offset + pe], ends[chosen])
        repeat = np.repeat(np.arange(m), 2 * k)
        live = np.array([c != "PE" for c in conductors])
        self._keep(batch.att[rows][repeat], weights, local, pe_weights.reshape(f, n),
                   pe_local.reshape(f, p), batch.y_core[rows][repeat],
                   np.broadcast_to(live, (f, n)))  # fmt: skip
        stubs = layout.parts.stubs
        for row in rows:
            place = f"circuit {stubs[batch.circuits[row]].circuit}"
            for end in ("near", "far"):
                self.names += [FaultName(place, end, kind) for kind in kinds]

    def _core_ports(self, layout: Layout) -> None:
        for place, end, nodes in core_places(layout):
            conductors = tuple(nodes)
            n, p = len(conductors), self.count
            kinds = fault_kinds(conductors, p)
            if not kinds:
                continue
            weights = np.array([_incidence(conductors, kind, p) for kind in kinds], dtype=complex)
            f = len(kinds)
            pe_weights = np.zeros((f, n), dtype=complex)
            if "PE" in conductors:
                pe_weights[:, conductors.index("PE")] = 1
            at = np.broadcast_to(np.array([nodes[c] for c in conductors]), (f, n))
            live = np.broadcast_to(np.array([c != "PE" for c in conductors]), (f, n))
            self._keep(at, weights, np.zeros((f, p, p), dtype=complex), pe_weights,
                       np.zeros((f, p), dtype=complex), np.zeros((f, n, n), dtype=complex),
                       live)  # fmt: skip
            self.names += [FaultName(place, end, kind) for kind in kinds]

    def _keep(self, nodes, weights, local, pe_weights, pe_local, stub_y, live) -> None:  # type: ignore[no-untyped-def]  # noqa: ANN001
        """Pad to five attachments; the padding has weight zero on node 0."""
        short = WIDTH - nodes.shape[1]
        self._rows.append((
            np.pad(nodes, ((0, 0), (0, short))),
            np.pad(weights, ((0, 0), (0, short), (0, 0))),
            local,
            np.pad(pe_weights, ((0, 0), (0, short))),
            pe_local,
            np.pad(stub_y, ((0, 0), (0, short), (0, short))),
            np.pad(live.astype(float), ((0, 0), (0, short))),
        ))  # fmt: skip

    @cached_property
    def position(self) -> dict[FaultName, int]:
        """Row of each fault."""
        return {name: i for i, name in enumerate(self.names)}


def _nothing(p: int) -> tuple[np.ndarray, ...]:
    """Arrays for no faults at all (a one-phase house has none between three lines)."""
    z = np.zeros
    return (z((0, 1)), z((0, 1, p)), z((0, p, p)), z((0, 1)), z((0, p)), z((0, 1, 1)), z((0, 1)))


def fault_kinds(conductors: tuple[str, ...], ports: int) -> list[str]:
    """Kinds of fault that a set of conductors allows, such as L1-PE, L1-N, L1-L2, L1-L2-L3."""
    lines = [c for c in conductors if c.startswith("L")]
    if ports == 2:
        return ["L1-L2-L3"] if len(lines) == 3 else []
    kinds = [f"{line}-PE" for line in lines if "PE" in conductors]
    kinds += [f"{line}-N" for line in lines if "N" in conductors]
    kinds += [f"{a}-{b}" for a, b in combinations(lines, 2)]
    return kinds


def _incidence(conductors: tuple[str, ...], kind: str, ports: int) -> np.ndarray:
    ends = kind.split("-")
    found = np.zeros((len(conductors), ports))
    for p in range(ports):
        found[conductors.index(ends[p]), p] = 1
        found[conductors.index(ends[-1]), p] = -1
    return found


def core_places(layout: Layout) -> list[tuple[str, str, dict[str, int]]]:
    """(place, end, conductor -> node) of circuits in the core, cable ends, and boards."""
    parts = layout.parts
    found: list[tuple[str, str, dict[str, int]]] = []
    for inline in parts.inlines:
        for end, at in (("near", inline.near), ("far", inline.far)):
            found.append(
                (f"circuit {inline.circuit}", end, dict(zip(inline.conductors, at, strict=True)))
            )
    cables: dict[str, dict[str, tuple[int, int]]] = {}
    for core in parts.cores:
        if core.name.startswith("cable "):
            name, _, conductor = core.name.rpartition(" ")
            cables.setdefault(name, {})[conductor] = (core.a, core.b)
    for name, cores in cables.items():
        for i, end in enumerate(("near", "far")):
            nodes = {("N" if c == "PEN" else c): both[i] for c, both in cores.items()}
            # a cable without PE core: its exposed parts are earthed at the terminal
            nodes.setdefault("PE", parts.index["main earthing terminal.PE"])
            found.append((name, end, nodes))
    return found


class Faults:
    """Every fault of one kind of port on one solved state, loads off.

    Attributes
    ----------
    current : (f, p) port currents [A]; with a limited source see `limited`
    """

    def __init__(self, solved: Solved, ports: Ports) -> None:
        self.solved, self.ports = solved, ports
        inv = solved.inverse
        nodes, w = ports.nodes, ports.weights
        z = inv[nodes[:, :, None], nodes[:, None, :]]
        self.z_port: Complex = ports.local + np.einsum("fip,fij,fjq->fpq", w, z, w, optimize=True)
        open_volts = np.einsum("fip,fie->fpe", w, solved.by_emf[nodes])
        self.open_volts: Complex = open_volts
        if ports.count == 1:
            self.by_emf: Complex = open_volts / self.z_port
        else:
            self.by_emf = np.linalg.solve(self.z_port, open_volts)

    @cached_property
    def current(self) -> Complex:
        """Port currents with every source at its EMF (f, p) [A]."""
        total: Complex = self.by_emf.sum(axis=2)
        return total

    @cached_property
    def amps(self) -> Real:
        """Largest port current of each fault, r.m.s. (f) [A]."""
        return np.asarray(line_currents(self.current))

    def unknowns(self, rows: Integers, scale: Complex | None = None) -> Complex:
        """Whole core solution (u, f) of chosen faults; `scale` (f, e) multiplies the EMFs."""
        share = self.by_emf[rows] if scale is None else self.by_emf[rows] * scale[:, None, :]
        port = share.sum(axis=2)
        injected = np.einsum("fip,fp->fi", self.ports.weights[rows], port)
        base = self.solved.by_emf
        x = (
            np.repeat(base.sum(axis=1)[:, None], len(rows), axis=1)
            if scale is None
            else base @ scale.T
        )
        columns = self.solved.inverse[:, self.ports.nodes[rows]]
        found: Complex = x - np.einsum("ufi,fi->uf", columns, injected)
        return found


def line_currents(port: Complex) -> Real:
    """Largest conductor current of each fault from its port currents [A]."""
    largest = np.abs(port).max(axis=1)
    if port.shape[1] == 2:
        largest = np.maximum(largest, np.abs(port.sum(axis=1)))
    return np.asarray(largest)
