"""A state's sheet as a drawing asks it: a place or contact that it does not name is not known."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from islewright.drawing.plan import Plan
    from islewright.network.sheet import StateSheet

POSITION = {True: "closed", False: "open", None: "not known"}


class View:
    """Positions and what is alive in one state."""

    def __init__(self, sheet: StateSheet) -> None:
        self.sheet = sheet

    def alive(self, place: str) -> bool | None:
        """Whether a place is alive; None where the sheet does not say."""
        return self.sheet.alive.get(place)

    def closed(self, name: str) -> bool | None:
        """Whether a contact is closed; None where the sheet does not say."""
        return self.sheet.closed.get(name)

    def device_closed(self, name: str) -> bool:
        """Position of a circuit's device or an RCD: closed unless the state opens it."""
        return self.sheet.closed.get(name, True)

    def main_switch(self, board: str) -> bool | None:
        """Position of a board's main switch."""
        return self.closed(f"main switch {board}")

    def poles(self, plan: Plan, conductors: Iterable[str]) -> tuple[bool | None, str]:
        """Position of some poles of the islanding switch, and its words.

        Poles that stand differently are drawn closed, the more dangerous way, and the
        words tell them apart.
        """
        switched = [c for c in conductors if c in plan.poles]
        fixed = [c for c in conductors if c not in plan.poles]
        states = {c: self.closed(f"islanding switch {c}") for c in switched}
        if not switched:
            return (True, "not switched") if plan.poles else (None, "not known")
        if len(set(states.values())) == 1 and not fixed:
            position = next(iter(states.values()))
            return position, POSITION[position]
        words = [f"{c} {POSITION[states[c]]}" for c in switched]
        words += [f"{c} not switched" for c in fixed]
        drawn = True if fixed or True in states.values() else None
        return drawn, ", ".join(words)
