"""Names of the places that every house has, and how a job's cable ends map to them."""

from __future__ import annotations

SWITCH = "islanding switch"
GRID_SIDE = "islanding switch/grid"
HOUSE_SIDE = "islanding switch/house"
MET = "main earthing terminal"
INVERTER = "inverter"

_SAME_BAR = {"islanding switch/inverter": HOUSE_SIDE, "inverter/output": INVERTER}


def canonical(place: str) -> str:
    """House and inverter terminals of the switch are one bar; so are the inverter's own."""
    return _SAME_BAR.get(place, place)


def bar_behind(board: str, behind: str | None) -> str:
    """Place of the bar that a cable or circuit hangs on: the board's, or that of an RCD."""
    return f"{board}/{behind}" if behind else board


def earth_bar(place: str) -> str:
    """Place of the PE bar: PE passes through no switch and no RCD."""
    return SWITCH if place in (GRID_SIDE, HOUSE_SIDE) else place.partition("/")[0]
