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
    plan : which faults
    nodes, weights : (f, 5), (f, 5, p) core nodes and injection per ampere of port current
    local : (f, p, p) impedance of the stub before the port [Ω]
    pe_weights : (f, 5) attachment weights of the exposed part's voltage
    pe_local : (f, p) volts of the exposed part per ampere of port current, beyond the core [Ω]
    live : (f, 5) True where the attachment is a line or neutral
    """

    def __init__(self, layout: Layout, ports: int) -> None:
        self.plan = plan = layout.shape.plan(ports)
        self.count, self._size = ports, layout.nodes + layout.branches
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
    def names(self) -> list[FaultName]:
        """One name per fault (f)."""
        return self.plan.names

    @cached_property
    def pairs(self) -> tuple[Integers, Complex, Integers]:
        """Of single ports: the entries of a state's inverse that each one's impedance sums.

        Returns
        -------
        places in the inverse laid flat, weight of each, and where each fault's begin (f); as
        the inverse is symmetric, one of two that mirror each other stands for both
        """
        i, j = np.triu_indices(self.nodes.shape[1])
        own = self.weights[:, :, 0]
        weight = own[:, i] * own[:, j] * np.where(i == j, 1, 2)
        counts = weight != 0
        counts[:, 0] = True  # so that every fault has a place to begin at
        flat = self.nodes[:, i] * self._size + self.nodes[:, j]
        begins = np.concatenate([[0], counts.sum(axis=1).cumsum()[:-1]])
        return flat[counts], weight[counts], begins

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
        if len(ports.nodes) == 0 or ports.count > 1:
            nodes, w = ports.nodes, ports.weights
            flat = nodes[:, :, None] * len(solved.inverse) + nodes[:, None, :]
            core: Complex = w.swapaxes(1, 2) @ solved.inverse.take(flat) @ w
        else:
            places, weight, begins = ports.pairs
            each = np.add.reduceat(solved.inverse.take(places) * weight, begins)
            core = each[:, None, None]
        self.z_port: Complex = ports.local + core

    @cached_property
    def by_emf(self) -> Complex:
        """Port currents for each source that runs, at its EMF (f, p, e) [A]."""
        open_volts = self.ports.weights.swapaxes(1, 2) @ self.solved.by_emf[self.ports.nodes]
        return self._driven(open_volts)

    @cached_property
    def current(self) -> Complex:
        """Port currents with every source at its EMF (f, p) [A]."""
        volts = self.solved.x.take(self.ports.nodes)
        open_volts: Complex = np.einsum("fkp,fk->fp", self.ports.weights, volts)
        return self._driven(open_volts[:, :, None])[:, :, 0]

    def _driven(self, open_volts: Complex) -> Complex:
        """Currents that the voltages of the open ports (f, p, e) drive through them."""
        z = self.z_port
        if self.ports.count == 1:
            with np.errstate(invalid="ignore", divide="ignore"):  # not finite is never met
                single: Complex = open_volts / z
            return single
        a, b, c, d = (z[:, i, j, None] for i in (0, 1) for j in (0, 1))
        one, two = open_volts[:, 0], open_volts[:, 1]
        found = np.empty_like(open_volts)
        whole = a * d - b * c
        found[:, 0] = (d * one - b * two) / whole
        found[:, 1] = (a * two - c * one) / whole
        return found

    @cached_property
    def amps(self) -> Real:
        """Largest port current of each fault, r.m.s. (f) [A]."""
        return np.asarray(line_currents(self.current))

    def unknowns(self, rows: Integers, scale: Complex | None = None) -> Complex:
        """Whole core solution (u, f) of chosen faults; `scale` (f, e) multiplies the EMFs."""
        share = self.by_emf[rows] if scale is None else self.by_emf[rows] * scale[:, None, :]
        port = share.sum(axis=2)
        injected = (self.ports.weights[rows] * port[:, None, :]).sum(axis=2)
        base = self.solved.by_emf
        x = (
            np.repeat(base.sum(axis=1)[:, None], len(rows), axis=1)
            if scale is None
            else base @ scale.T
        )
        # the inverse is symmetric, and its rows lie together in memory
        caused = injected[:, None, :] @ self.solved.inverse[self.ports.nodes[rows]]
        found: Complex = x - caused[:, 0, :].T
        return found


def line_currents(port: Complex) -> Real:
    """Largest conductor current of each fault from its port currents [A]."""
    if port.shape[1] == 1:
        return np.abs(port[:, 0])
    one, two = port[:, 0], port[:, 1]
    return np.asarray(np.maximum(np.maximum(np.abs(one), np.abs(two)), np.abs(one + two)))
