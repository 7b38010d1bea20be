"""A state with its loads: constant currents at the far ends, on the state's own inverse.

Each load draws its current at nominal voltage and power factor, at the angle that its
line has without load; so the drop is that of the handbooks and stays linear.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from islewright.job.model import Circuit, Job
from islewright.network.places import bar_behind
from islewright.network.solve import Solved

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]


def power_factor(circuit: Circuit) -> float:
    """Power factor of a circuit's loads together; 1 where the loads are not known."""
    if not circuit.has("loads"):
        return 1.0
    loads = list(circuit.loads.values())
    if not all(x.has("power_w") and x.has("power_factor") for x in loads):
        return 1.0
    watts = sum(float(x.power_w) for x in loads)
    va = sum(float(x.power_w) / float(x.power_factor) for x in loads)
    return watts / va if va else 1.0


def lagging(circuit: Circuit) -> complex:
    """Current over voltage of a circuit's loads together: a phasor of length 1."""
    share = power_factor(circuit)
    return complex(share, -math.sqrt(max(0.0, 1 - share**2)))


class LoadFlow:
    """Loads on one solved state; every array has one row per circuit of the network.

    Parameters
    ----------
    amps : line current of each circuit [A]; circuits that are left out draw nothing, one
        that a gap keeps out of the network draws at its bar

    Attributes
    ----------
    x : core solution [V, A]
    row : row of each circuit of the network
    """

    def __init__(self, job: Job, solved: Solved, amps: Mapping[str, float]) -> None:
        self.job, self.solved = job, solved
        shape, self._terminals = solved.layout.shape, solved.layout.terminals
        self._ends = [e for e in shape.ends if e.end == "far" and e.place.startswith("circuit ")]
        self.row = {e.place.removeprefix("circuit "): k for k, e in enumerate(self._ends)}
        self._at = np.array([e.row for e in self._ends], dtype=np.intp)
        self._far = np.array([e.base for e in self._ends], dtype=np.intp)[:, None] + np.arange(5)
        self._nodes = shape.attached[0][self._at]
        self._drawn: Complex = self.per_amp * self._amps(amps)[:, None]
        injection = np.zeros(solved.layout.nodes, dtype=np.complex128)
        np.add.at(injection, self._nodes, self._brought(self._drawn))
        for name, current in amps.items():
            if name not in self.row:
                self._at_its_bar(injection, name, current)
        self.x: Complex = solved.drive(injection)

    def _amps(self, amps: Mapping[str, float]) -> NDArray[np.float64]:
        return np.array([amps.get(name, 0.0) for name in self.row], dtype=np.float64)

    @cached_property
    def _t_far(self) -> Complex:
        """Far-end volts per attachment volt (k, 5, 5)."""
        found: Complex = self._terminals.t[self._at[:, None], self._far]
        return found

    def _brought(self, drawn: Complex) -> Complex:
        """Injection at the attachments for currents injected at the far ends (k, 5) [A]."""
        found: Complex = (drawn[:, None, :] @ self._t_far)[:, 0, :]
        return found

    @cached_property
    def per_amp(self) -> Complex:
        """Current injected at each far conductor per ampere of load (k, 5) [A/A].

        What a line gives is negative; it comes back on N, or on the other line.
        """
        volts = self.solved.x[self._nodes].tolist()
        found = np.zeros((len(self._ends), 5), dtype=np.complex128)
        for k, (end, name) in enumerate(zip(self._ends, self.row, strict=True)):
            lines = [i for i, c in enumerate(end.conductors) if c.startswith("L")]
            lag = lagging(self.job.circuits[name])
            if len(lines) == 2 and "N" not in end.conductors:
                current = _turned(volts[k][lines[0]] - volts[k][lines[1]], lag)
                found[k, lines] = -current, current
                continue
            for i in lines:
                current = _turned(volts[k][i], lag)
                found[k, i] -= current
                if "N" in end.conductors:
                    found[k, end.conductors.index("N")] += current
        return found

    def _at_its_bar(self, injection: Complex, name: str, amps: float) -> None:
        """A circuit with a gap is not in the network; what it draws loads its board all the same.

        Raises
        ------
        Unknown : on which line it hangs is not stated
        """
        circuit = self.job.circuits[name]
        behind = circuit.behind if circuit.has("behind") else None
        rcds = self.job.boards[circuit.board].rcds
        bar = bar_behind(circuit.board, behind if behind in rcds else None)
        lag = lagging(circuit)
        for line in self.job.lines_of(circuit):
            at = self.solved.at(bar, line)
            current = amps * _turned(complex(self.solved.x[at]), lag)
            injection[at] -= current
            injection[self.solved.at(bar, "N")] += current

    @cached_property
    def _far_volts(self) -> tuple[Complex, Complex]:
        """Far-end volts now, and what one ampere more of the same circuit adds (k, 5) [V, V/A]."""
        z_far = self._terminals.z[
            self._at[:, None, None], self._far[:, :, None], self._far[:, None]
        ]
        nodes = self._nodes
        own = self.solved.inverse[nodes[:, :, None], nodes[:, None, :]]
        more = self._t_far @ (own @ self._brought(self.per_amp)[:, :, None])
        more = (more + z_far @ self.per_amp[:, :, None])[:, :, 0]
        now = self._t_far @ self.x[nodes][:, :, None] + z_far @ self._drawn[:, :, None]
        return now[:, :, 0], more

    def _source_volts(self, place: str) -> tuple[dict[str, complex], Complex, dict[str, int]]:
        """Volts of a bar's conductors now, and what one ampere more of each circuit adds."""
        if place not in self._sources:
            index = self.solved.parts.index
            at = {c: index[n] for c in ("L1", "L2", "L3", "N") if (n := f"{place}.{c}") in index}
            rows = np.array(list(at.values()), dtype=np.intp)
            brought = self._brought(self.per_amp)
            added = (self.solved.inverse[rows[:, None, None], self._nodes] * brought).sum(axis=2)
            now = {c: complex(self.x[node]) for c, node in at.items()}
            self._sources[place] = (now, added, {c: i for i, c in enumerate(at)})
        return self._sources[place]

    @cached_property
    def _sources(self) -> dict[str, tuple[dict[str, complex], Complex, dict[str, int]]]:
        return {}

    def far(self, name: str, *, more_amps: float = 0.0) -> dict[str, complex]:
        """Voltages to true earth at the far end of a circuit that draws some amperes more [V].

        Raises
        ------
        KeyError : the circuit is not in the network
        """
        k = self.row[name]
        now, more = self._far_volts
        volts = (now[k] + more_amps * more[k]).tolist()
        return dict(zip(self._ends[k].conductors, volts, strict=False))

    def near_currents(self, name: str) -> dict[str, complex]:
        """Current into each conductor of a circuit, loads and leakage, just behind its device [A].

        Raises
        ------
        KeyError : the circuit is not in the network
        """
        k = self.row[name]
        end = self._ends[k]
        if end.base == 0:  # it lies in the core
            found = [self.solved.core_current(f"circuit {name} {c}", x=self.x)
                     for c in end.conductors]  # fmt: skip
            return dict(zip(end.conductors, found, strict=True))
        flow = self._terminals.y[end.row] @ self.x[self._nodes[k]]
        flow -= self._drawn[k] @ self._t_far[k]
        return dict(zip(end.conductors, flow.tolist(), strict=False))

    def drop_v(self, name: str, source: str, *, more_amps: float = 0.0) -> tuple[float, float]:
        """Source voltage less far-end voltage on the worst pair of conductors [V].

        Returns
        -------
        drop, and the nominal voltage of that pair: U_0, or √3 U_0 between lines
        """
        far = self.far(name, more_amps=more_amps)
        now, added, column = self._source_volts(source)
        own = added[:, self.row[name]].tolist()
        up = {c: volts + more_amps * own[column[c]] for c, volts in now.items()}
        lines = [c for c in far if c.startswith("L")]
        pairs = [(line, "N") for line in lines] if "N" in far else [(lines[0], lines[-1])]
        drop = max(abs(up[a] - up[b]) - abs(far[a] - far[b]) for a, b in pairs)
        u_0 = self.solved.parts.u0_v
        return drop, u_0 if "N" in far else u_0 * math.sqrt(3)


def _turned(volts: complex, lag: complex) -> complex:
    """A current of 1 A that lags a voltage."""
    return lag * (volts / abs(volts) if volts else 1.0)
