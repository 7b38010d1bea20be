"""Which faults a house can have, and between which conductors; names and indices alone.

Belongs here: kinds of fault at the ends of circuits and cables. Does not belong here:
impedances and currents (`fault`).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, cached_property
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Booleans = NDArray[np.bool_]
    Integers = NDArray[np.intp]

#: no cable has more than L1 L2 L3 N PE
WIDTH = 5


class End(NamedTuple):
    """One end of a circuit or cable: row of the terminal arrays, and its first place in it.

    `place` is "circuit NAME" or "cable NAME"; `end` is "near" or "far".
    """

    place: str
    end: str
    row: int
    base: int
    conductors: tuple[str, ...]

    def position(self, conductor: str) -> int:
        """Place of a conductor among the ten of a row: near 0..4, far 5..9."""
        return self.base + self.conductors.index(conductor)


class FaultName(NamedTuple):
    """Where and what: `place` is "circuit NAME" or "cable NAME"; `kind` such as "L1-PE"."""

    place: str
    end: str
    kind: str


class At(NamedTuple):
    """One fault of some: its row among all, its column among these; its end, and its kind."""

    row: int
    column: int
    end: str
    kind: str


class Stretch(NamedTuple):
    """Rows of the faults at one end: the first, and their kinds; those to earth come first."""

    place: str
    end: str
    first: int
    kinds: tuple[str, ...]
    earthed: int


class FaultPlan:
    """Which faults a house can have, with `count` ports each; the same hot and cold.

    Attributes
    ----------
    row : (f) row of the terminal arrays
    plus, minus : (f, p) the two of its ten conductors that each port lies between
    pe : (f) the exposed part's conductor among the ten; −1 where the circuit has none
    earthed : (f) whether the fault is one to the protective conductor
    """

    def __init__(self, ends: Sequence[End], count: int) -> None:
        self.count = count
        self._ends = ends
        found = [_between(end.conductors, count, end.base) for end in ends]
        self._kinds = found
        found = found or [_between((), count, 0)]
        rows = np.array([end.row for end in ends] or [0], dtype=np.intp)
        self.row: Integers = np.repeat(rows, [len(each.kinds) for each in found])
        self.plus: Integers = np.concatenate([each.plus for each in found])
        self.minus: Integers = np.concatenate([each.minus for each in found])
        self.pe: Integers = np.concatenate([each.pe for each in found])
        self.earthed: Booleans = np.concatenate([each.earthed for each in found])

    @cached_property
    def names(self) -> list[FaultName]:
        """One name per fault."""
        return [
            FaultName(end.place, end.end, kind)
            for end in self._ends
            for kind in _between(end.conductors, self.count, end.base).kinds
        ]

    @cached_property
    def to_earth(self) -> Integers:
        """Rows of the faults to the protective conductor."""
        return np.flatnonzero(self.earthed)

    @cached_property
    def earth_ends(self) -> dict[tuple[str, str], list[At]]:
        """The faults to the protective conductor of each place and end, in order of lines."""
        found: dict[tuple[str, str], list[At]] = {}
        column = 0
        for place, end, first, kinds, earthed in self.stretches:
            if earthed:
                found[place, end] = [
                    At(first + k, column + k, end, kinds[k]) for k in range(earthed)
                ]
                column += earthed
        return found

    @cached_property
    def stretches(self) -> list[Stretch]:
        """The faults by their ends, in the order of rows."""
        found, first = [], 0
        for end, between in zip(self._ends, self._kinds, strict=True):
            found.append(Stretch(end.place, end.end, first, between.kinds, between.to_earth))
            first += len(between.kinds)
        return found

    def ends_of(self, rows: Integers) -> dict[tuple[str, str], list[At]]:
        """Some faults by their place and end; their columns are in the order of the rows."""
        found: dict[tuple[str, str], list[At]] = {}
        names = self.names
        for column, row in enumerate(rows.tolist()):
            place, end, kind = names[row]
            found.setdefault((place, end), []).append(At(row, column, end, kind))
        return found

    @cached_property
    def position(self) -> dict[FaultName, int]:
        """Row of each fault."""
        return {name: i for i, name in enumerate(self.names)}


class _Between(NamedTuple):
    """Kinds of fault at one end (k), and the same arrays as the plan has for all ends."""

    kinds: tuple[str, ...]
    plus: Integers
    minus: Integers
    pe: Integers
    earthed: Booleans
    to_earth: int


@cache
def _between(conductors: tuple[str, ...], count: int, base: int) -> _Between:
    """Kinds of fault, and the conductors that the ports of each lie between."""
    kinds = fault_kinds(conductors, count)
    at = [[base + conductors.index(c) for c in kind.split("-")] for kind in kinds]
    pe = base + conductors.index("PE") if "PE" in conductors else -1
    return _Between(
        kinds=tuple(kinds),
        plus=np.array([x[:count] for x in at], dtype=np.intp).reshape(-1, count),
        minus=np.array([[x[-1]] * count for x in at], dtype=np.intp).reshape(-1, count),
        pe=np.full(len(kinds), pe, dtype=np.intp),
        earthed=np.array([kind.endswith("-PE") for kind in kinds], dtype=bool),
        to_earth=sum(kind.endswith("-PE") for kind in kinds),
    )


def fault_kinds(conductors: tuple[str, ...], ports: int) -> list[str]:
    """Kinds of fault that a set of conductors allows, such as L1-PE, L1-N, L1-L2, L1-L2-L3."""
    lines = [c for c in conductors if c.startswith("L")]
    if ports == 2:
        return ["L1-L2-L3"] if len(lines) == 3 else []
    kinds = [f"{line}-PE" for line in lines if "PE" in conductors]
    kinds += [f"{line}-N" for line in lines if "N" in conductors]
    kinds += [f"{a}-{b}" for a, b in combinations(lines, 2)]
    return kinds
