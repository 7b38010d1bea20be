"""One state, factorised once and asked by name.

Belongs here: the inverse of a state, its healthy solution, voltages and currents by name.
Does not belong here: faults (`fault`), the inverter's limit (`limit`).
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from islewright.findings import Question
from islewright.job.gap import Unknown
from islewright.network.condense import Dense, Response
from islewright.network.edit import edited
from islewright.network.layout import Layout, StubBatch, largest_column
from islewright.network.parts import EARTH, Parts
from islewright.network.shape import Shape
from islewright.network.state import State

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]

#: a worse condition is a defect of the model, not an answer. Dead lines that hang on their
#: 1 nS alone, with no circuit's capacitance beside it, reach 1e14 and stay exact where it counts
WORST_CONDITION = 1e15


class SingularNetwork(Unknown):
    """The state cannot be solved: its figures lie too far apart, or a part floats freely."""

    def __init__(self, state: str, why: str) -> None:
        ask = (
            f"Which length or resistance is wrong? The state {state!r} {why}: its figures lie "
            "too far apart, or a part of the house hangs on nothing."
        )
        super().__init__(Question(field="cables", ask=ask))


class Solved:
    """A state's inverse and its healthy solution with loads off.

    Attributes
    ----------
    response : the state's inverse, as far as it was asked for
    by_emf : (u, e) response to each source that runs, at its nominal EMF times `factor`; a
        what feeds a current, an inverter or PV, is one more column
    sources : branch positions of the EMFs, in the order of the first columns
    feeds : sources of a current that run
    """

    def __init__(
        self, layout: Layout, state: State, factor: float = 1.0, twin: Solved | None = None
    ) -> None:
        if twin is not None:
            layout = twin.layout  # edited already, where the state changes elements
        elif state.changes:
            layout = Layout(edited(layout.parts, state.changes), layout.case)
        self.layout: Layout = layout
        self.state = state
        self.parts: Parts = layout.parts
        branches = layout.parts.branches
        self.closed = np.array(state.closed_of(branches), dtype=bool)
        n = layout.nodes
        self.response: Response = self._response() if twin is None else twin.response
        emf = np.array([b.emf * factor for b in branches], dtype=np.complex128)
        self.sources = np.flatnonzero(self.closed & (emf != 0))
        drive: Complex = emf[self.sources]
        self.by_emf: Complex = -self.response.columns(n + self.sources) * drive
        self.feeds = [feed for feed in self.parts.feeds if state.runs(feed.group)]
        if self.feeds:
            fed = sum(self.per_ampere(feed.b, feed.a) * feed.amps for feed in self.feeds)
            self.by_emf = np.column_stack([self.by_emf, fed])

    @property
    def inverse(self) -> Complex:
        """Response of nodes [V] and branch currents [A] to injections [A] and EMFs [V] (u, u)."""
        return self.response.whole

    def _response(self) -> Response:
        """Inverse of the state's matrix, as far as it is needed.

        Raises
        ------
        SingularNetwork : it has none, or one that is worth nothing
        """
        opened = self.layout.nodes + np.flatnonzero(~self.closed)
        try:
            found = self._opened(opened)
        except np.linalg.LinAlgError as bad:
            raise SingularNetwork(self.state.name, "has no definite solution") from bad
        #: one-norm condition number of the matrix, or a bound from above
        condition = self.layout.norm * found.largest_column()
        if not condition < WORST_CONDITION:
            condition = self.layout.norm * largest_column(found.whole)
        if not condition < WORST_CONDITION:
            raise SingularNetwork(self.state.name, f"has the condition {condition:.0e}")
        return found

    def _opened(self, opened: NDArray[np.intp]) -> Response:
        """Inverse with these branch currents held at nothing."""
        layout = self.layout
        if layout.condensed.reaches(opened):
            return Response(layout.condensed, opened)
        matrix = layout.matrix.copy()
        matrix[opened, :] = 0
        matrix[:, opened] = 0
        matrix[opened, opened] = 1
        return Dense(matrix)

    @cached_property
    def x(self) -> Complex:
        """Healthy solution: node voltages to true earth [V], then branch currents [A]."""
        total: Complex = self.by_emf.sum(axis=1)
        return total

    def per_ampere(self, a: int, b: int) -> Complex:
        """Unknowns (u) per ampere that goes in at node a and out at node b [V/A, A/A]."""
        into, out_of = self.response.columns(np.array([a, b])).T
        found: Complex = into - out_of
        return found

    def drive(self, injection: Complex) -> Complex:
        """Solution with currents [A] injected into the core's nodes, sources running."""
        n = self.layout.nodes
        found: Complex = self.x + self.inverse[:, :n] @ injection
        return found

    def at(self, place: str, conductor: str) -> int:
        """Index of a node.

        Raises
        ------
        KeyError : no such node
        """
        return self.parts.index[f"{place}.{conductor}"]

    def voltage(
        self,
        place: str,
        conductor: str,
        *,
        to: tuple[str, str] | None = None,
        x: Complex | None = None,
    ) -> complex:
        """Voltage of a conductor at a place [V], to another node or to true earth.

        Places of circuits are `circuit NAME/near` and `circuit NAME/far`.
        """
        x = self.x if x is None else x
        volts = self._node_voltage(place, conductor, x)
        return volts - (self._node_voltage(*to, x) if to else 0)

    def _node_voltage(self, place: str, conductor: str, x: Complex) -> complex:
        name = f"{place}.{conductor}"
        if name in self.parts.index:
            return complex(x[self.parts.index[name]])
        circuit, _, end = place.removeprefix("circuit ").rpartition("/")
        batch, row = self.stub_row(circuit)
        at = batch.conductors[row].index(conductor) + (
            0 if end == "near" else len(batch.conductors[row])
        )
        return complex(batch.t[row, at] @ x[batch.att[row]])

    def stub_row(self, circuit: str) -> tuple[StubBatch, int]:
        """The batch and the row in it that hold a circuit.

        Raises
        ------
        KeyError : the circuit is not in the network
        """
        end = self.layout.shape.end_of[f"circuit {circuit}", "near"]
        row = end.row
        for batch in self.layout.stubs:
            if row < len(batch.circuits):
                return batch, row
            row -= len(batch.circuits)
        raise KeyError(circuit)

    def current(self, branch: str, *, x: Complex | None = None) -> complex:
        """Current of a contact, bond or source by name [A], counted from its a to its b."""
        x = self.x if x is None else x
        return complex(x[self.layout.nodes + self.layout.branch_index[branch]])

    def core_current(self, name: str, *, x: Complex | None = None) -> complex:
        """Current of a cable core or electrode by name [A], counted from its a to its b."""
        x = self.x if x is None else x
        core = next(c for c in self.parts.cores if c.name == name)
        ends = [0j if end == EARTH else complex(x[end]) for end in (core.a, core.b)]
        return (ends[0] - ends[1]) / (core.z_hot if self.layout.case == "hot" else core.z_cold)


class Network:
    """A job's network: layouts made once, states solved on first question."""

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        self.shape = Shape(parts)
        self._layouts: dict[str, Layout] = {}
        self._solved: dict[tuple[State, str], dict[float, Solved]] = {}

    def layout(self, case: str) -> Layout:
        """Arrays for "hot" (minima) or "cold" (maxima)."""
        if case not in self._layouts:
            self._layouts[case] = Layout(self.parts, case, self.shape)
        return self._layouts[case]

    def solved(self, state: State, *, case: str = "hot", factor: float = 1.0) -> Solved:
        """A state with one set of impedances, every source at `factor` times its EMF."""
        by_factor = self._solved.setdefault((state, case), {})
        if factor not in by_factor:
            twin = next(iter(by_factor.values()), None)  # its matrix is the same
            by_factor[factor] = Solved(self.layout(case), state, factor, twin)
        return by_factor[factor]
