"""A state with its loads: constant currents at the far ends, on the state's own inverse.

Each load draws its current at nominal voltage and power factor, at the angle that its
line has without load; so the drop is that of the handbooks and stays linear.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache, cached_property
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from islewright.job.model import Circuit, Job
from islewright.job.once import once_a_part
from islewright.network.places import bar_behind
from islewright.network.solve import Solved

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]

#: with less of U_0 before it a load draws nothing: its line is dead in the state
LEAST_SHARE = 0.5
#: no load lifts anything to this many times the voltage without it
RUNAWAY = 1.5


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


@once_a_part
def _lag_of(_job: Job, circuit: Circuit) -> complex:
    return lagging(circuit)


@cache
def _places(conductors: tuple[str, ...]) -> tuple[list[int], int | None]:
    """Places of the lines, and of the neutral, among some conductors."""
    lines = [i for i, c in enumerate(conductors) if c.startswith("L")]
    return lines, conductors.index("N") if "N" in conductors else None


class Reach:
    """Where the circuits of a state draw, and what one ampere of each does; no load is on yet.

    Every array has one row per circuit of the network. Flows of one state share it.

    Attributes
    ----------
    row : row of each circuit
    ends : its far end
    nodes : (k, 5) its attachments on the core, padded with node 0
    """

    def __init__(self, job: Job, solved: Solved) -> None:
        self.job, self.solved = job, solved
        shape = solved.layout.shape
        self.ends = [e for e in shape.ends if e.end == "far" and e.place.startswith("circuit ")]
        self.row = {e.place.removeprefix("circuit "): k for k, e in enumerate(self.ends)}
        self._at = np.array([e.row for e in self.ends], dtype=np.intp)
        self._far = np.array([e.base for e in self.ends], dtype=np.intp)[:, None] + np.arange(5)
        self.nodes = shape.attached[0][self._at]

    @cached_property
    def t_far(self) -> Complex:
        """Far-end volts per attachment volt (k, 5, 5)."""
        found: Complex = self.solved.layout.terminals.t[self._at[:, None], self._far]
        return found

    @cached_property
    def z_far(self) -> Complex:
        """Impedance of the far end beyond the core (k, 5, 5) [Ω]."""
        z = self.solved.layout.terminals.z
        found: Complex = z[self._at[:, None, None], self._far[:, :, None], self._far[:, None]]
        return found

    def brought(self, drawn: Complex) -> Complex:
        """Injection at the attachments for currents injected at the far ends (k, 5) [A]."""
        found: Complex = (drawn[:, None, :] @ self.t_far)[:, 0, :]
        return found

    @cached_property
    def per_amp(self) -> Complex:
        """Current injected at each far conductor per ampere of load (k, 5) [A/A].

        What a line gives is negative; it comes back on N, or on the other lines. A line that
        is dead in this state gives nothing.
        """
        volts = self.solved.x[self.nodes].tolist()
        least = LEAST_SHARE * self.solved.parts.u0_v
        found = np.zeros((len(self.ends), 5), dtype=np.complex128)
        for k, (end, name) in enumerate(zip(self.ends, self.row, strict=True)):
            lines, neutral = _places(end.conductors)
            lag = _lag_of(self.job, self.job.circuits[name])
            if neutral is None:
                found[k, lines] = _without_neutral([volts[k][i] for i in lines], lag, least)
                continue
            for i in lines:
                if abs(volts[k][i] - volts[k][neutral]) >= least:
                    current = turned(volts[k][i], lag)
                    found[k, i] -= current
                    found[k, neutral] += current
        return found

    @cached_property
    def far_per_amp(self) -> list[list[complex]]:
        """What one ampere more of a circuit adds to its far-end volts (k, 5) [V/A]."""
        own = self.solved.inverse[self.nodes[:, :, None], self.nodes[:, None, :]]
        core = own @ self._brought_per_amp[:, :, None]
        found: Complex = (self.t_far @ core + self.z_far @ self.per_amp[:, :, None])[:, :, 0]
        told: list[list[complex]] = found.tolist()
        return told

    @cached_property
    def _brought_per_amp(self) -> Complex:
        return self.brought(self.per_amp)

    def bar_per_amp(self, place: str) -> dict[str, list[complex]]:
        """What one ampere more of each circuit adds to the volts of a bar, by conductor [V/A]."""
        if place not in self._bars:
            index, brought = self.solved.parts.index, self._brought_per_amp
            at = {c: index[n] for c in ("L1", "L2", "L3", "N") if (n := f"{place}.{c}") in index}
            self._bars[place] = {
                c: (self.solved.inverse[node, self.nodes] * brought).sum(axis=1).tolist()
                for c, node in at.items()
            }
        return self._bars[place]

    @cached_property
    def _bars(self) -> dict[str, dict[str, list[complex]]]:
        return {}


class LoadFlow:
    """Loads on one solved state.

    Parameters
    ----------
    amps : line current of each circuit [A]; circuits that are left out draw nothing, one
        that a gap keeps out of the network draws at its bar
    reach : that of another flow of the same state, so as not to make it twice

    Attributes
    ----------
    x : core solution [V, A]
    """

    def __init__(
        self, job: Job, solved: Solved, amps: Mapping[str, float], reach: Reach | None = None
    ) -> None:
        self.job, self.solved = job, solved
        self.reach = reach or Reach(job, solved)
        stated = np.array([amps.get(name, 0.0) for name in self.reach.row], dtype=np.float64)
        self._drawn: Complex = self.reach.per_amp * stated[:, None]
        injection = np.zeros(solved.layout.nodes, dtype=np.complex128)
        np.add.at(injection, self.reach.nodes, self.reach.brought(self._drawn))
        for name, current in amps.items():
            if name not in self.reach.row:
                self._at_its_bar(injection, name, current)
        self.x: Complex = solved.drive(injection)

    @property
    def held(self) -> bool:
        """Whether something but the loads holds the voltages: no neutral that only they reach.

        Where it is not so, constant currents drive the neutral anywhere; the figures are none.
        """
        nodes, u_0 = self.solved.layout.nodes, self.solved.parts.u0_v
        largest = max(u_0, float(np.abs(self.solved.x[:nodes]).max()))
        return float(np.abs(self.x[:nodes]).max()) <= RUNAWAY * largest

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
            at, back = self.solved.at(bar, line), self.solved.at(bar, "N")
            volts = complex(self.solved.x[at])
            if abs(volts - self.solved.x[back]) >= LEAST_SHARE * self.solved.parts.u0_v:
                injection[at] -= amps * turned(volts, lag)
                injection[back] += amps * turned(volts, lag)

    @cached_property
    def _far_volts(self) -> list[list[complex]]:
        """Far-end volts of every circuit; plain lists, since each is asked for by itself."""
        reach = self.reach
        core = reach.t_far @ self.x[reach.nodes][:, :, None]
        found: Complex = (core + reach.z_far @ self._drawn[:, :, None])[:, :, 0]
        told: list[list[complex]] = found.tolist()
        return told

    def far(self, name: str, *, more_amps: float = 0.0) -> dict[str, complex]:
        """Voltages to true earth at the far end of a circuit that draws some amperes more [V].

        Raises
        ------
        KeyError : the circuit is not in the network
        """
        k = self.reach.row[name]
        both = zip(self._far_volts[k], self.reach.far_per_amp[k], strict=True)
        volts = [there + more_amps * added for there, added in both]
        return dict(zip(self.reach.ends[k].conductors, volts, strict=False))

    def near_currents(self, name: str) -> dict[str, complex]:
        """Current into each conductor of a circuit, loads and leakage, just behind its device [A].

        A neutral that is another circuit's is told there, with what both return through it.

        Raises
        ------
        KeyError : the circuit is not in the network
        """
        k = self.reach.row[name]
        end = self.reach.ends[k]
        if end.base == 0:  # it lies in the core
            shares = self.job.circuits[name].neutral_with
            own = [c for c in end.conductors if c != "N" or not shares]
            found = [self.solved.core_current(f"circuit {name} {c}", x=self.x) for c in own]
            return dict(zip(own, found, strict=True))
        flow = self.solved.layout.terminals.y[end.row] @ self.x[self.reach.nodes[k]]
        flow -= self._drawn[k] @ self.reach.t_far[k]
        return dict(zip(end.conductors, flow.tolist(), strict=False))

    def _bar(self, place: str) -> dict[str, tuple[complex, list[complex]]]:
        """Conductors of a bar: volts, and what one ampere more of each circuit adds to them."""
        if place not in self._bars:
            added = self.reach.bar_per_amp(place)
            volts = self.x[[self.solved.at(place, c) for c in added]].tolist()
            both = zip(added, volts, added.values(), strict=True)
            self._bars[place] = {c: (there, more) for c, there, more in both}
        return self._bars[place]

    @cached_property
    def _bars(self) -> dict[str, dict[str, tuple[complex, list[complex]]]]:
        return {}

    def drop_v(
        self, name: str, source: str, *, lines: tuple[str, ...] = (), more_amps: float = 0.0
    ) -> tuple[float, float]:
        """Source voltage less far-end voltage on the worst pair of conductors [V].

        A pair that the source does not feed lacks its whole nominal voltage.

        Parameters
        ----------
        lines : which lines to look at, two at least where there is no neutral; all if left out

        Returns
        -------
        drop, and the nominal voltage of that pair: U_0; between lines √3 U_0, of a split
        phase 2 U_0
        """
        k = self.reach.row[name]
        conductors = self.reach.ends[k].conductors
        up, far, added = self._bar(source), self._far_volts[k], self.reach.far_per_amp[k]
        has_neutral = "N" in conductors
        nominal = self.solved.parts.u0_v
        if not has_neutral:
            nominal *= 2.0 if self.job.supply.form == "split phase" else math.sqrt(3)
        lines = lines or tuple([c for c in conductors if c.startswith("L")])
        worst, least = -math.inf, LEAST_SHARE * nominal
        for a, b in [(x, "N") for x in lines] if has_neutral else combinations(lines, 2):
            source_v = 0.0
            if a in up and b in up:
                (volts_a, more_a), (volts_b, more_b) = up[a], up[b]
                source_v = abs(volts_a - volts_b + more_amps * (more_a[k] - more_b[k]))
            if source_v < least:
                source_v = nominal
            i, j = conductors.index(a), conductors.index(b)
            lost = source_v - abs(far[i] - far[j] + more_amps * (added[i] - added[j]))
            worst = max(worst, lost)
        return worst, nominal


def _without_neutral(volts: list[complex], lag: complex, least: float) -> list[complex]:
    """Currents injected at lines that have no neutral, adding up to nothing [A/A].

    Nothing is drawn where one of the lines is dead, or all of them are in phase.
    """
    star = sum(volts) / len(volts)
    if min(abs(v - star) for v in volts) < least:
        return [0j] * len(volts)
    drawn = [-turned(v - star, lag) for v in volts]
    rest = sum(drawn) / len(drawn)
    return [amps - rest for amps in drawn]


def turned(volts: complex, lag: complex) -> complex:
    """Turn a current of 1 A against the angle of a voltage."""
    return lag * (volts / abs(volts) if volts else 1.0)
