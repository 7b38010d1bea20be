"""Which faults a house can have, and between which conductors; names and indices alone.

Belongs here: kinds of fault at the ends of circuits and cables. Does not belong here:
impedances and currents (`fault`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Integers = NDArray[np.intp]

#: no cable has more than L1 L2 L3 N PE
WIDTH = 5


@dataclass(frozen=True, slots=True)
class End:
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


class FaultPlan:
    """Which faults a house can have, with `count` ports each; the same hot and cold.

    Attributes
    ----------
    names : one `FaultName` per fault (f)
    row : (f) row of the terminal arrays
    plus, minus : (f, p) the two of its ten conductors that each port lies between
    pe : (f) the exposed part's conductor among the ten; −1 where the circuit has none
    """

    def __init__(self, ends: Sequence[End], count: int) -> None:
        self.count = count
        self.names: list[FaultName] = []
        rows: list[int] = []
        ports: list[tuple[tuple[int, ...], tuple[int, ...]]] = []
        pe: list[int] = []
        for end in ends:
            kinds, between = _between(end.conductors, count, end.base)
            self.names += [FaultName(end.place, end.end, kind) for kind in kinds]
            rows += [end.row] * len(kinds)
            pe += [end.position("PE") if "PE" in end.conductors else -1] * len(kinds)
            ports += between
        self.row: Integers = np.array(rows, dtype=np.intp)
        self.pe: Integers = np.array(pe, dtype=np.intp)
        both = np.array(ports, dtype=np.intp).reshape(-1, 2, count)
        self.plus: Integers = both[:, 0]
        self.minus: Integers = both[:, 1]

    @cached_property
    def position(self) -> dict[FaultName, int]:
        """Row of each fault."""
        return {name: i for i, name in enumerate(self.names)}


@cache
def _between(
    conductors: tuple[str, ...], count: int, base: int
) -> tuple[tuple[str, ...], list[tuple[tuple[int, ...], tuple[int, ...]]]]:
    """Kinds of fault, and the conductors that the ports of each lie between."""
    kinds = fault_kinds(conductors, count)
    ports = []
    for kind in kinds:
        at = [base + conductors.index(c) for c in kind.split("-")]
        ports.append((tuple(at[:count]), (at[-1],) * count))
    return tuple(kinds), ports


def fault_kinds(conductors: tuple[str, ...], ports: int) -> list[str]:
    """Kinds of fault that a set of conductors allows, such as L1-PE, L1-N, L1-L2, L1-L2-L3."""
    lines = [c for c in conductors if c.startswith("L")]
    if ports == 2:
        return ["L1-L2-L3"] if len(lines) == 3 else []
    kinds = [f"{line}-PE" for line in lines if "PE" in conductors]
    kinds += [f"{line}-N" for line in lines if "N" in conductors]
    kinds += [f"{a}-{b}" for a, b in combinations(lines, 2)]
    return kinds
