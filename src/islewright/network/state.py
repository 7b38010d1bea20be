"""Supply states: which contacts are closed and which sources run.

A state is data; nothing is solved here. `Mode` holds the two words that people use.
"""

from __future__ import annotations

import enum
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from islewright.network.parts import Branch, Change


class Mode(enum.Enum):
    """The two modes that a reader knows; each covers several states."""

    GRID = "grid mode"
    ISLAND = "island mode"

    __hash__ = object.__hash__  # a member is one object; the name's hash takes ten times as long


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """One supply state of the house.

    Attributes
    ----------
    name : as a person says it
    mode : the mode that the state belongs to, None for a dead house
    grid : "on", "out" (open at the transformer) or "out, street loaded"
    inverter : "off", "feeding" or "forming"
    pv : "off" or "feeding": what a.c.-coupled PV does
    switch : "closed", "open" or "bypassed"
    bond : "as the switch" (closed where the poles are open) or "open"; one that is declared
        "always" closed is no part of a state
    opened, closed : contacts that stand otherwise than the state says, by their name
        ("islanding switch L1", "main fuse L2", "device kitchen")
    changes : edits to the elements
    """

    name: str
    mode: Mode | None
    grid: str = "on"
    inverter: str = "off"
    pv: str = "off"
    switch: str = "closed"
    bond: str = "as the switch"
    opened: frozenset[str] = field(default_factory=frozenset)
    closed: frozenset[str] = field(default_factory=frozenset)
    changes: tuple[Change, ...] = ()

    def __hash__(self) -> int:
        return hash(self.name)  # states differ by name; a hash of every fact takes long

    def but(self, name: str, **changes: object) -> State:
        """The same state with some facts changed, under a name of its own."""
        return replace(self, name=name, **changes)  # type: ignore[arg-type]

    def is_closed(self, branch: Branch) -> bool:
        """Whether a contact or source of the network conducts in this state."""
        return self.closed_of([branch])[0]

    def closed_of(self, branches: Sequence[Branch]) -> list[bool]:
        """Whether each of these contacts and sources conducts in this state."""
        decided = self._positions()
        found = [decided.get((b.group, b.kind), True) for b in branches]
        if self.opened or self.closed:
            for i, branch in enumerate(branches):
                if branch.name in self.opened or branch.group in self.opened:
                    found[i] = False
                elif branch.name in self.closed or branch.group in self.closed:
                    found[i] = True
        return found

    def runs(self, group: str) -> bool:
        """Whether the sources of this group (`Feed.group`) drive their current."""
        if group == "inverter":
            return self.inverter == "feeding"
        here = "PV in the island" if self.inverter == "forming" else "PV on the grid"
        return self.pv == "feeding" and group == here

    @classmethod
    def decides(cls, branch: Branch) -> bool:
        """Whether some state moves this contact or source without naming it."""
        return (branch.group, branch.kind) in _DECIDED

    def _positions(self) -> dict[tuple[str, str], bool]:
        """Positions that the state itself decides; every other contact is closed."""
        forming = self.inverter == "forming"
        bonded = self.switch == "open" and self.bond != "open"
        return {
            ("public supply", "grid"): self.grid == "on",
            ("street load", "street load"): self.grid == "out, street loaded",
            ("inverter", "inverter"): forming,
            ("bridge", "pole"): forming,  # on the grid it would join the lines of the street
            ("bond", "bond"): bonded,
            ("inverter bond", "bond"): bonded,
            ("bypass", "pole"): self.switch == "bypassed",
            ("islanding switch", "pole"): self.switch == "closed",
        }


GRID = State(name="grid", mode=Mode.GRID)
_DECIDED = frozenset(GRID._positions())  # noqa: SLF001 - the same keys in every state
GRID_FEEDING = State(
    name="grid, inverter feeding", mode=Mode.GRID, inverter="feeding", pv="feeding"
)
ISLAND = State(
    name="island, on the battery",
    mode=Mode.ISLAND, grid="out", inverter="forming", switch="open",
)  # fmt: skip
ISLAND_PV = ISLAND.but("island, with PV", pv="feeding")
ISLAND_STREET = ISLAND.but("island, street loaded", grid="out, street loaded")
ISLAND_GRID_BACK = ISLAND.but("island, public supply back", grid="on")
BYPASS = State(name="bypass", mode=Mode.GRID, switch="bypassed")
OUTAGE = State(name="outage, inverter off", mode=None, grid="out", switch="closed")
ALL_OPEN = State(
    name="everything open", mode=None, grid="on", switch="open",
    bond="open", opened=frozenset({"main fuse"}),
)  # fmt: skip
DEAD_BOND_CLOSED = State(name="dead, bond closed", mode=None, grid="out", switch="open")
DEAD_BOND_OPEN = DEAD_BOND_CLOSED.but("dead, bond open", bond="open")

STATES = (
    GRID, GRID_FEEDING, ISLAND, ISLAND_PV, ISLAND_STREET, ISLAND_GRID_BACK,
    BYPASS, OUTAGE, ALL_OPEN, DEAD_BOND_CLOSED, DEAD_BOND_OPEN,
)  # fmt: skip
