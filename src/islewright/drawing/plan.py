"""What stands on a drawing, in the words that are printed.

Belongs here: the records that a drawing is made from. Does not belong here: how they are
read out of the job (`survey`), where anything lies on the sheet, positions and what is
alive; those are the state's.
"""

from __future__ import annotations

from dataclasses import dataclass, field

GRID, HOUSE, OUTPUT = (f"islanding switch/{t}" for t in ("grid", "house", "inverter"))
SUPPLY = "supply"
#: stands for PV with an inverter of its own, where a letter leads to it
PV_FEED = "PV with its own inverter"


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A cable between two places: its words, device, and RCD it lies behind."""

    name: str
    start: str
    end: str
    cores: str
    length: str
    lines: str = ""
    device: str = ""
    breaker: bool = True
    behind: str = ""
    behind_words: str = ""

    @property
    def words(self) -> str:
        """Device and cable as one text."""
        return ", ".join(part for part in (self.device, self.cable) if part)

    @property
    def cable(self) -> str:
        """Cores, size and length."""
        return f"{self.cores} mm², {self.length} m"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of a board: a circuit, a cable to another place (with a joint letter), a source."""

    key: str
    number: str
    name: str
    lines: str
    device: str
    cores: str
    length: str
    breaker: bool = True
    residual: bool = False
    joint: str = ""
    source: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Rows behind one RCD, or with the same residual protection of their own.

    `joint` is the letter at which a group goes on that began elsewhere, `last` the one at
    its foot where it goes on elsewhere.
    """

    key: str
    head: str
    detail: str
    rcd: bool
    rows: tuple[Row, ...]
    continued: bool = False
    joint: str = ""
    last: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPlan:
    """A board: head, main switch, groups; `house` tells on which side of the switch it is."""

    name: str
    detail: str
    house: bool
    main_switch: str
    main_switch_poles: tuple[str, ...]
    groups: tuple[Group, ...]
    feed: Link | None
    joint: str = ""
    continued: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BondPlan:
    """A neutral-earth bond: at "grid", "house", "inverter" or "not known"; fixed or switched."""

    at: str
    always: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The whole house in words."""

    job: str
    supply: tuple[str, ...]
    system: str
    main_fuse: str
    splits_at: str
    electrode: str
    three_phase: bool
    lines: tuple[str, ...]
    switch_at: str
    poles: tuple[str, ...]
    at_switch: tuple[str, ...]
    bypass: tuple[str, ...]
    switch_bond: BondPlan | None
    inverter_bond: BondPlan | None
    inverter: tuple[str, ...]
    battery: str
    pv: str
    boards: tuple[BoardPlan, ...]
    links: tuple[Link, ...]
    pv_board: str = ""
    joints: dict[str, str] = field(default_factory=dict)

    @property
    def grid_board(self) -> BoardPlan | None:
        """The board whose busbar is the bundle on the grid side."""
        return next((b for b in self.boards if b.feed and b.feed.start == SUPPLY), None)

    @property
    def house_board(self) -> BoardPlan | None:
        """The board whose busbar goes on from the bundle on the house side."""
        return next((b for b in self.boards if b.feed and b.feed.start in {HOUSE, OUTPUT}), None)

    @property
    def taps(self) -> tuple[Link, ...]:
        """Cables from the supply or from the house bar to boards beyond the first of each."""
        first = {b.name for b in (self.grid_board, self.house_board) if b}
        starts, names = {SUPPLY, HOUSE, OUTPUT}, {b.name for b in self.boards}
        return tuple(
            k for k in self.links if k.start in starts and k.end in names and k.end not in first
        )

    @property
    def lines_at_switch(self) -> tuple[str, ...]:
        """Lines that lead to the islanding switch; all of the supply where none is told."""
        return tuple(c for c in self.lines if c in self.at_switch) or self.lines

    def into(self, end: str) -> Link | None:
        """Cable that ends at a place."""
        return next((k for k in self.links if k.end == end), None)

    @property
    def inverter_link(self) -> Link | None:
        """Cable of the inverter's a.c. side."""
        return next((k for k in self.links if k.end.partition("/")[0] == "inverter"), None)


def joint_label(number: int) -> str:
    """A, B .. Z, AA, AB: what two ends of a conductor bear that goes on elsewhere."""
    label = ""
    number += 1
    while number:
        number, letter = divmod(number - 1, 26)
        label = chr(ord("A") + letter) + label
    return label
