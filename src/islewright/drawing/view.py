"""A state's sheet as a drawing asks it: a place or contact that it does not name is not known."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from islewright.drawing.ink import Alive, Position
from islewright.drawing.plan import SUPPLY

if TYPE_CHECKING:
    from islewright.drawing.plan import BoardPlan, Plan
    from islewright.network.sheet import StateSheet

POSITION = {True: "closed", False: "open", None: "not known"}
_CONDUCTORS = ("L1", "L2", "L3", "N")


class View:
    """Positions and what is alive in one state."""

    def __init__(self, sheet: StateSheet) -> None:
        self.sheet = sheet

    def alive(self, place: str) -> Alive:
        """Whether a place is alive; None where the sheet does not say."""
        return self.sheet.alive.get(place)

    @property
    def service(self) -> Alive:
        """Whether the incoming cable is alive before the main fuse."""
        return self.sheet.alive.get("service", self.alive(SUPPLY))

    @property
    def origin(self) -> Alive:
        """Whether it is alive behind the main fuse."""
        if "service" in self.sheet.alive or self.closed("main fuse") is not False:
            return self.alive(SUPPLY)
        return None

    def feed(self, board: BoardPlan) -> Alive:
        """Whether it is alive before a board's main switch."""
        start = board.feed.start if board.feed else ""
        return self.sheet.alive.get(f"{board.name}/in", self.alive(start))

    def closed(self, name: str) -> Position:
        """Position of a contact or of all its poles; None where the sheet does not say.

        Poles that stand differently count as closed, the more dangerous way.
        """
        if name in self.sheet.closed:
            return self.sheet.closed[name]
        poles = [self.sheet.closed.get(f"{name} {c}") for c in _CONDUCTORS]
        told = {position for position in poles if position is not None}
        return True in told if told else None

    def device_closed(self, name: str) -> bool:
        """Position of a circuit's device or an RCD: closed unless the state opens it."""
        return self.closed(name) is not False

    def main_switch(self, board: BoardPlan) -> tuple[Position, str]:
        """Position of a board's main switch and its words."""
        name = f"main switch {board.name}"
        told = {c: self.sheet.closed.get(f"{name} {c}") for c in board.main_switch_poles}
        return self.closed(name), _apart(told) or POSITION[self.closed(name)]

    def poles(self, plan: Plan, conductors: Iterable[str]) -> tuple[Position, str]:
        """Position of some poles of the islanding switch, and its words.

        Lines that no cable brings there are left out: a switch of two poles on one line of
        three has no way past its poles.
        """
        conductors = [c for c in conductors if c in plan.at_switch] or list(conductors)
        switched = [c for c in conductors if c in plan.poles]
        fixed = [c for c in conductors if c not in plan.poles]
        if not switched:
            return (True, "not switched") if plan.poles else (None, "not known")
        told = {c: self.closed(f"islanding switch {c}") for c in switched}
        words = _apart(told) or POSITION[told[switched[0]]]
        if fixed:
            said = words if _apart(told) else f"{' '.join(switched)} {words}"
            return True, f"{said}, {' '.join(fixed)} not switched"
        return (True if True in told.values() else told[switched[0]]), words

    def bonds(self, plan: Plan) -> str:
        """What the neutral-earth bonds do, in words."""
        words = []
        if plan.switch_bond:
            where = "in the switch " if plan.inverter_bond else ""
            words.append(f"{where}{POSITION[self.switch_bond(plan)]}")
        if plan.inverter_bond:
            words.append(f"in the inverter {POSITION[self.inverter_bond(plan)]}")
        return "; ".join(words) or "none"

    def switch_bond(self, plan: Plan) -> Position:
        """Position of the islanding switch's bond; a fixed one is always closed."""
        fixed = bool(plan.switch_bond and plan.switch_bond.always)
        return True if fixed else self.closed("bond")

    def inverter_bond(self, plan: Plan) -> Position:
        """Position of the inverter's bond; a fixed one is always closed."""
        if plan.inverter_bond and plan.inverter_bond.always:
            return True
        own = self.closed("inverter bond")
        return self.closed("bond") if own is None and plan.switch_bond is None else own


def _apart(told: dict[str, Position]) -> str:
    """Poles that stand differently, told one by one; empty where all stand alike."""
    if len(set(told.values())) < 2:
        return ""
    return ", ".join(f"{pole} {POSITION[position]}" for pole, position in told.items())
