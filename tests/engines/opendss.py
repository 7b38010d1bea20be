"""Elements to an OpenDSS circuit, solved directly; voltages come back by node.

One process holds one circuit: making a second one ends the first. Every node is a bus of
its own; true earth is OpenDSS's node 0.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
import opendssdirect as dss

from tests.engines.elements import EARTH, FLOAT_OHM, Element, nodes_of


class Circuit:
    """One circuit in OpenDSS."""

    def __init__(self, elements: list[Element], hertz: float) -> None:
        self.elements = elements
        self.nodes = nodes_of(elements)
        self.hertz = hertz
        self._bus = {node: f"b{i}.1" for i, node in enumerate(self.nodes)} | {EARTH: "b0.0"}
        self.index = {node: i for i, node in enumerate(self.nodes)}
        self._joints = 0
        self._open: set[str] = set()
        self._order: np.ndarray | None = None
        run = dss.Text.Command
        run("clear")
        run(f"set defaultbasefrequency={float(hertz)!r}")
        run("new circuit.house bus1=idle.1 bus2=idle.0 phases=1 basekv=0.001 r1=1 x1=0 r0=1 x0=0")
        for i, element in enumerate(elements):
            run(self._line(f"e{i}", element))
        for i, node in enumerate(self.nodes):
            run(
                f"new reactor.leak{i} phases=1 bus1={self._bus[node]} bus2=b0.0 r={FLOAT_OHM!r} x=0"
            )
        run("set mode=direct")

    def _line(self, name: str, e: Element) -> str:
        a, b = self._bus[e.a], self._bus[e.b]
        r, x = float(e.ohm.real), float(e.ohm.imag)
        if e.kind == "farad":
            # one volt, so that microfarad is taken as it is
            return (
                f"new capacitor.{name} phases=1 bus1={a} bus2={b} kv=1 cuf={float(e.farad) * 1e6!r}"
            )
        if e.kind == "emf":
            volt, degree = abs(e.volt), math.degrees(cmath.phase(e.volt))
            return (
                f"new vsource.{name} phases=1 bus1={b} bus2={a} basekv={float(volt) / 1e3!r} pu=1 "
                f"angle={float(degree)!r} r1={r!r} x1={x!r} r0={r!r} x0={x!r}"
            )
        if e.kind == "amp":
            amps, degree = abs(e.ampere), math.degrees(cmath.phase(e.ampere))
            return (
                f"new isource.{name} phases=1 bus1={b} bus2={a} amps={float(amps)!r} "
                f"angle={float(degree)!r}"
            )
        return f"new reactor.{name} phases=1 bus1={a} bus2={b} r={r!r} x={x!r}"

    def volts(self) -> np.ndarray:
        """Solve; voltage of every node to true earth, in the order of `nodes` [V].

        Raises
        ------
        ArithmeticError : OpenDSS has no finite answer for some node
        """
        dss.Solution.Solve()
        if self._order is None:
            names = [name.partition(".")[0][1:] for name in dss.Circuit.YNodeOrder()]
            self._order = np.array([int(n) if n.isdigit() else len(self.nodes) for n in names])
        flat = np.asarray(dss.Circuit.YNodeVArray(), dtype=float)
        found = np.full(len(self.nodes) + 1, np.nan + 0j)
        found[self._order] = flat[0::2] + 1j * flat[1::2]
        if not np.isfinite(found[:-1]).all():
            raise ArithmeticError("OpenDSS has no finite answer")
        return found[:-1]

    def with_joints(self, pairs: list[tuple[str, str]], ohm: float) -> np.ndarray:
        """Voltages with each pair of nodes joined through `ohm`, at most two pairs [V]."""
        for i in range(2):
            name = f"reactor.fault{i}"
            if i >= len(pairs):
                if i < self._joints:
                    dss.Text.Command(f"edit {name} enabled=no")
                continue
            a, b = (self._bus[node] for node in pairs[i])
            if i < self._joints:
                dss.Text.Command(f"edit {name} enabled=yes bus1={a} bus2={b}")
            else:
                dss.Text.Command(f"new {name} phases=1 bus1={a} bus2={b} r={float(ohm)!r} x=0")
                self._joints = i + 1
        return self.volts()

    def current(self, element: Element, volts: dict[str, complex]) -> complex:
        """Current from a to b [A]; a source's as OpenDSS says it, the rest from `volts`.

        OpenDSS turns a source's angle from degrees with a pi that is 3e-10 off; its own
        current is free of that, one from the ends' voltages is not.
        """
        if element.kind == "emf":
            dss.Circuit.SetActiveElement(f"vsource.e{self.elements.index(element)}")
            re, im = dss.CktElement.Currents()[:2]
            return -complex(re, im)
        if element.kind == "amp":
            return element.ampere
        a, b = volts[element.a], volts[element.b]
        if element.kind == "farad":
            return (a - b) * 2j * math.pi * self.hertz * element.farad
        return (a - b) / element.ohm

    def stand(self, conducting: set[str]) -> None:
        """Let the elements of these names conduct; the others stand open. Probes stay."""
        kinds = {"emf": "vsource", "farad": "capacitor"}
        for i, element in enumerate(self.elements):
            on = element.name in conducting
            if element.kind == "amp" or on == (element.name not in self._open):
                continue
            (self._open.discard if on else self._open.add)(element.name)
            word = "yes" if on else "no"
            dss.Text.Command(f"edit {kinds.get(element.kind, 'reactor')}.e{i} enabled={word}")
            self._order = None  # OpenDSS numbers its nodes anew

    def scale(self, factors: dict[str, float]) -> None:
        """Multiply the EMFs of the sources named, from their values in the elements."""
        for i, element in enumerate(self.elements):
            if element.name in factors:
                pu = float(factors[element.name])
                dss.Text.Command(f"edit vsource.e{i} pu={pu!r}")
