"""Faults at both ends of every circuit and cable, as batches on one solved state.

A fault is a port on the core: weights on at most five core nodes per unit of port
current, and the impedance of the stub that lies before it. Everything follows from the
state's inverse by small products; nothing is factorised again.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from islewright.network.fault_plan import FaultName
from islewright.network.layout import Layout
from islewright.network.solve import Solved

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Real = NDArray[np.float64]
    Integers = NDArray[np.intp]


class Ports:
    """All fault ports of a layout, with `p` ports each (1, or 2 for three-phase faults).

    Attributes
    ----------
    plan, names : which faults, one `FaultName` each (f)
    nodes, weights : (f, 5), (f, 5, p) core nodes and injection per ampere of port current
    local : (f, p, p) impedance of the stub before the port [Ω]
    pe_weights : (f, 5) attachment weights of the exposed part's voltage
    pe_local : (f, p) volts of the exposed part per ampere of port current, beyond the core [Ω]
    live : (f, 5) True where the attachment is a line or neutral
    """

    def __init__(self, layout: Layout, ports: int) -> None:
        self.plan = plan = layout.shape.plan(ports)
        self.names, self.count = plan.names, ports
        nodes, live = layout.shape.attached
        self.terminals = end = layout.terminals
        row, plus, minus = plan.row, plan.plus, plan.minus
        self.nodes: Integers = nodes[row]
        self.live = live[row]
        at = row[:, None]
        self.weights: Complex = (end.t[at, plus] - end.t[at, minus]).swapaxes(1, 2)
        z = end.z[at, plus] - end.z[at, minus]  # (f, p, 10)
        across = np.take_along_axis
        self.local: Complex = across(z, plus[:, None], 2) - across(z, minus[:, None], 2)
        earthed = (plan.pe >= 0)[:, None]
        self.pe_weights: Complex = np.where(earthed, end.t[row, plan.pe], 0)
        self.pe_local: Complex = np.where(earthed, -across(z, plan.pe[:, None, None], 2)[..., 0], 0)

    @property
    def position(self) -> dict[FaultName, int]:
        """Row of each fault."""
        return self.plan.position


class Faults:
    """Every fault of one kind of port on one solved state, loads off.

    Attributes
    ----------
    current : (f, p) port currents [A]; with a limited source see `limited`
    """

    def __init__(self, solved: Solved, ports: Ports) -> None:
        self.solved, self.ports = solved, ports
        nodes, w = ports.nodes, ports.weights
        across = w.swapaxes(1, 2)
        flat = nodes[:, :, None] * len(solved.inverse) + nodes[:, None, :]
        self.z_port: Complex = ports.local + across @ solved.inverse.take(flat) @ w
        open_volts: Complex = across @ solved.by_emf[nodes]
        if ports.count == 1:
            self.by_emf: Complex = open_volts / self.z_port
        else:
            self.by_emf = np.linalg.solve(self.z_port, open_volts).astype(np.complex128, copy=False)

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
