"""Who lies where in a job's arrays: the same for hot and cold conductors and every state.

Belongs here: indices only. Does not belong here: impedances (`layout`), states (`solve`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from islewright.network.condense import Order
from islewright.network.fault_plan import WIDTH, End, FaultPlan
from islewright.network.parts import EARTH, Branch, Parts
from islewright.network.places import MET
from islewright.network.state import State

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Integers = NDArray[np.intp]
    Booleans = NDArray[np.bool_]
    Complex = NDArray[np.complex128]


class Shape:
    """Indices of one job's elements.

    Attributes
    ----------
    nodes, branches : count of the core's unknowns, nodes first
    branch_index : position of each branch by its name
    batches : stubs with the same number of conductors, by their positions in `parts.stubs`
    leakages : kept here by `layout` for each batch, since hot and cold share them too [S]
    """

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        self.nodes, self.branches = len(parts.nodes), len(parts.branches)
        self.branch_index = {b.name: i for i, b in enumerate(parts.branches)}
        self.batches: list[tuple[int, ...]] = _batches(parts)
        self._plans: dict[int, FaultPlan] = {}
        self.leakages: dict[tuple[int, ...], Complex] = {}

    @cached_property
    def poles(self) -> dict[str, list[int]]:
        """Unknowns of the currents of each contact group."""
        found: dict[str, list[int]] = {}
        for i, branch in enumerate(self.parts.branches):
            found.setdefault(branch.group, []).append(self.nodes + i)
        return found

    @cached_property
    def ends(self) -> list[End]:
        """Both ends of every circuit and cable; the stubs' rows first, in order of batches."""
        found = []
        stubs = [self.parts.stubs[i] for batch in self.batches for i in batch]
        for row, stub in enumerate(stubs):
            place = f"circuit {stub.circuit}"
            found.append(End(place, "near", row, 0, stub.conductors))
            found.append(End(place, "far", row, WIDTH, stub.conductors))
        for row, (place, end, nodes) in enumerate(self._core_places, len(stubs)):
            found.append(End(place, end, row, 0, tuple(nodes)))
        return found

    @cached_property
    def end_of(self) -> dict[tuple[str, str], End]:
        """Each end by its place and "near" or "far"."""
        return {(end.place, end.end): end for end in self.ends}

    @cached_property
    def _core_places(self) -> list[tuple[str, str, dict[str, int]]]:
        return _core_places(self.parts)

    def plan(self, count: int) -> FaultPlan:
        """Faults with one port each, or with two (three-phase)."""
        if count not in self._plans:
            self._plans[count] = FaultPlan(self.ends, count)
        return self._plans[count]

    @cached_property
    def attached(self) -> tuple[Integers, Booleans]:
        """Core nodes of every row (rows, 5), padded with node 0; which are line or neutral."""
        rows = [s.nodes for batch in self.batches for s in (self.parts.stubs[i] for i in batch)]
        rows += [tuple(nodes.values()) for _, _, nodes in self._core_places]
        nodes = np.array([(*row, *(0,) * (WIDTH - len(row))) for row in rows], dtype=np.intp)
        live = np.zeros((len(rows), WIDTH), dtype=bool)
        for end in self.ends:
            live[end.row, : len(end.conductors)] = [c != "PE" for c in end.conductors]
        return nodes.reshape(-1, WIDTH), live

    @cached_property
    def bars(self) -> list[Integers]:
        """Bars behind one contact group that no state moves, with the group's currents.

        Each array (m, k) holds m bars of k unknowns. No two of them touch, so each can be
        taken out of the network by itself.
        """
        by_size: dict[int, list[list[int]]] = {}
        for bar in _bars(self.parts):
            by_size.setdefault(len(bar), []).append(bar)
        return [np.array(found, dtype=np.intp) for found in by_size.values()]

    @cached_property
    def order(self) -> Order:
        """The unknowns of these bars, and the rest."""
        return Order(self.nodes + self.branches, self.bars)


def _batches(parts: Parts) -> list[tuple[int, ...]]:
    by_count: dict[int, list[int]] = {}
    for i, stub in enumerate(parts.stubs):
        by_count.setdefault(len(stub.conductors), []).append(i)
    return [tuple(which) for which in by_count.values()]


def _core_places(parts: Parts) -> list[tuple[str, str, dict[str, int]]]:
    """(place, end, conductor -> node) of circuits that lie in the core, and of cable ends."""
    found: list[tuple[str, str, dict[str, int]]] = []
    for inline in parts.inlines:
        for end, at in (("near", inline.near), ("far", inline.far)):
            here = dict(zip(inline.conductors, at, strict=True))
            found.append((f"circuit {inline.circuit}", end, here))
    cables: dict[str, dict[str, tuple[int, int]]] = {}
    for core in parts.cores:
        if core.name.startswith("cable "):
            name, _, conductor = core.name.rpartition(" ")
            cables.setdefault(name, {})[conductor] = (core.a, core.b)
    for name, cores in cables.items():
        for i, end in enumerate(("near", "far")):
            nodes = {("N" if c == "PEN" else c): both[i] for c, both in cores.items()}
            # a cable without PE core: its exposed parts are earthed at the terminal
            nodes.setdefault("PE", parts.index[f"{MET}.PE"])
            found.append((name, end, nodes))
    return found


def _bars(parts: Parts) -> list[list[int]]:
    """Greedy, large groups first: those whose nodes hang on no other contact and no other bar."""
    beside = _neighbours(parts)
    groups: dict[str, list[int]] = {}
    for i, branch in enumerate(parts.branches):
        groups.setdefault(branch.group, []).append(i)
    contacts = Counter(end for b in parts.branches for end in (b.a, b.b))
    taken: set[int] = set()
    found = []
    for which in sorted(groups.values(), key=len, reverse=True):
        group = [parts.branches[i] for i in which]
        if any(State.decides(branch) for branch in group):
            continue
        for nodes in _sides(group):
            alone = all(node != EARTH and contacts[node] == 1 for node in nodes)
            if alone and not any(taken & beside[node] for node in nodes):
                taken.update(nodes)
                found.append([*nodes, *(len(parts.nodes) + i for i in which)])
                break
    return found


def _sides(group: Sequence[Branch]) -> tuple[list[int], list[int]]:
    return [branch.b for branch in group], [branch.a for branch in group]


def _neighbours(parts: Parts) -> list[set[int]]:
    """Nodes that share an element with each node, cores and circuits alike."""
    beside: list[set[int]] = [set() for _ in parts.nodes]
    joined = [(c.a, c.b) for c in parts.cores] + [(c.a, c.b) for c in parts.capacities]
    for ends in (*joined, *(stub.nodes for stub in parts.stubs)):
        for node in ends:
            if node != EARTH:
                beside[node].update(ends)
    return beside
