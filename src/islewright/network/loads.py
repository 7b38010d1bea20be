"""A state with its loads: constant currents at the far ends, on the state's own inverse.

Each load draws its current at nominal voltage and power factor, at the angle that its
line has without load; so the drop is that of the handbooks and stays linear.
"""

from __future__ import annotations

import cmath
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from islewright.job.model import Circuit, Job
from islewright.network.parts import Inline
from islewright.network.solve import Solved

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Integers = NDArray[np.intp]


def power_factor(circuit: Circuit) -> float:
    """Power factor of a circuit's loads together; 1 where the loads are not known."""
    if not circuit.has("loads"):
        return 1.0
    loads = [x for x in circuit.loads.values() if x.has("power_w") and x.has("power_factor")]
    watts = sum(float(x.power_w) for x in loads)
    va = sum(float(x.power_w) / float(x.power_factor) for x in loads)
    return watts / va if va else 1.0


class LoadFlow:
    """Loads on one solved state.

    Parameters
    ----------
    amps : line current of each circuit [A]; circuits that are left out draw nothing, one
        that a gap keeps out of the network draws at its bar

    Attributes
    ----------
    x : core solution [V, A]
    """

    def __init__(self, job: Job, solved: Solved, amps: Mapping[str, float]) -> None:
        self.job, self.solved = job, solved
        self._inline: dict[str, Inline] = {i.circuit: i for i in solved.parts.inlines}
        self._rows = {
            solved.parts.stubs[i].circuit: (batch, row)
            for batch in solved.layout.stubs
            for row, i in enumerate(batch.circuits)
        }
        injection = np.zeros(solved.layout.nodes, dtype=complex)
        self._inner: dict[str, Complex] = {}
        for name, current in amps.items():
            if name in self._rows or name in self._inline:
                self._inner[name] = self._drawn(name, current)
                self._add(injection, name, self._inner[name])
            else:
                self._at_its_bar(injection, name, current)
        self.x: Complex = solved.drive(injection)

    def _at_its_bar(self, injection: Complex, name: str, amps: float) -> None:
        """A circuit with a gap is not in the network; what it draws loads its board all the same.

        Raises
        ------
        Unknown : on which line it hangs is not stated
        """
        circuit = self.job.circuits[name]
        bar = circuit.board
        if circuit.has("behind") and circuit.behind in self.job.boards[bar].rcds:
            bar = f"{bar}/{circuit.behind}"
        lag = cmath.phase(
            complex(power_factor(circuit), -np.sqrt(max(0.0, 1 - power_factor(circuit) ** 2)))
        )
        for line in self.job.lines_of(circuit):
            at = self.solved.at(bar, line)
            current = cmath.rect(amps, cmath.phase(self.solved.x[at]) + lag)
            injection[at] -= current
            injection[self.solved.at(bar, "N")] += current

    def conductors(self, name: str) -> tuple[str, ...]:
        """Conductors of a circuit in the network."""
        if name in self._inline:
            return self._inline[name].conductors
        batch, row = self._rows[name]
        return batch.conductors[row]

    def _nodes(self, name: str) -> Integers:
        if name in self._inline:
            return np.array(self._inline[name].far, dtype=np.intp)
        batch, row = self._rows[name]
        nodes: Integers = batch.att[row]
        return nodes

    def _drawn(self, name: str, amps: float) -> Complex:
        """Current injected at the far end per conductor [A]; what a line gives is negative."""
        circuit = self.job.circuits[name]
        conductors = self.conductors(name)
        found = np.zeros(len(conductors), dtype=complex)
        lag = cmath.phase(
            complex(power_factor(circuit), -np.sqrt(max(0.0, 1 - power_factor(circuit) ** 2)))
        )
        lines = [i for i, c in enumerate(conductors) if c.startswith("L")]
        volts = self.solved.x[self._nodes(name)]
        if len(lines) == 2 and "N" not in conductors:
            angle = cmath.phase(volts[lines[0]] - volts[lines[1]])
            current = cmath.rect(amps, angle + lag)
            found[lines[0]], found[lines[1]] = -current, current
            return found
        for i in lines:
            current = cmath.rect(amps, cmath.phase(volts[i]) + lag)
            found[i] -= current
            if "N" in conductors:
                found[conductors.index("N")] += current
        return found

    def _add(self, injection: Complex, name: str, drawn: Complex) -> None:
        if name in self._inline:
            np.add.at(injection, np.array(self._inline[name].far), drawn)
            return
        batch, row = self._rows[name]
        n = len(drawn)
        np.add.at(injection, batch.att[row], batch.t[row, n:].T @ drawn)

    def far(self, name: str, *, more_amps: float = 0.0) -> tuple[dict[str, complex], Complex]:
        """Voltages at the far end of a circuit that draws some amperes more than in `x` [V].

        Returns
        -------
        voltage of each conductor to true earth, and the core solution with that current
        """
        more = self._drawn(name, more_amps)
        injection = np.zeros(self.solved.layout.nodes, dtype=complex)
        self._add(injection, name, more)
        nodes = np.flatnonzero(injection)
        x = self.x + self.solved.inverse[:, nodes] @ injection[nodes]
        conductors = self.conductors(name)
        if name in self._inline:
            return dict(zip(conductors, x[self._nodes(name)], strict=True)), x
        batch, row = self._rows[name]
        n = len(conductors)
        drawn = more + self._inner.get(name, 0)
        volts = batch.t[row, n:] @ x[batch.att[row]] + batch.z_inner[row, n:, n:] @ drawn
        return dict(zip(conductors, volts, strict=True)), x

    def near_currents(self, name: str) -> dict[str, complex]:
        """Current into each conductor of a circuit, loads and leakage, just behind its device [A].

        Raises
        ------
        KeyError : the circuit is not in the network
        """
        if name in self._inline:
            inline = self._inline[name]
            found = [self.solved.core_current(f"circuit {name} {c}", x=self.x)
                     for c in inline.conductors]  # fmt: skip
            return dict(zip(inline.conductors, found, strict=True))
        batch, row = self._rows[name]
        n = len(batch.conductors[row])
        flow = batch.y_core[row] @ self.x[batch.att[row]]
        if name in self._inner:
            flow = flow - batch.t[row, n:].T @ self._inner[name]
        return dict(zip(batch.conductors[row], map(complex, flow), strict=True))

    def drop_v(self, name: str, source: str, *, more_amps: float = 0.0) -> tuple[float, float]:
        """Source voltage less far-end voltage on the worst pair of conductors [V].

        Returns
        -------
        drop, and the nominal voltage of that pair: U_0, or √3 U_0 between lines
        """
        far, x = self.far(name, more_amps=more_amps)
        u_0 = self.solved.parts.u0_v
        lines = [c for c in far if c.startswith("L")]
        pairs = [(line, "N") for line in lines] if "N" in far else [(lines[0], lines[-1])]
        drops = []
        for a, b in pairs:
            up = abs(x[self.solved.at(source, a)] - x[self.solved.at(source, b)])
            drops.append(up - abs(far[a] - far[b]))
        return float(max(drops)), u_0 if "N" in far else u_0 * float(np.sqrt(3))
