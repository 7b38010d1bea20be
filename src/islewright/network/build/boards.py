"""Boards with main switch and RCD groups, the islanding switch, the neutral-earth bond."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from islewright.job.equipment import Bond
from islewright.job.gap import Unknown
from islewright.job.model import Board
from islewright.network.impedance import core_impedance
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, SWITCH
from islewright.tables.rows import NotInTable

if TYPE_CHECKING:
    from islewright.network.build.house import House

#: two contacts of less side by side would make the network singular [Ω]
LEAST_CONTACT_OHM = 1e-4


def boards(house: House) -> None:
    """Busbars of every board, the switch before them, the groups behind them."""
    for name, board in house.job.boards.items():
        for conductor in (*house.live, "PE"):
            house.parts.node(name, conductor)
        _main_switch(house, name, board)
        for rcd in board.rcds:
            _contacts(house, f"RCD {name}/{rcd}", name, f"{name}/{rcd}")


def _main_switch(house: House, name: str, board: Board) -> None:
    if board.gap("main_switch") is not None or board.main_switch is None:
        return
    try:
        poles = board.main_switch.poles
    except Unknown as gap:
        house.lacks(f"place {name}", *gap.questions)
        poles = ()
    _contacts(house, f"main switch {name}", f"{name}/in", name, poles=poles)


def _contacts(
    house: House, group: str, before: str, after: str, *, poles: tuple[str, ...] | None = None
) -> None:
    """A contact for each line and N; those that are not poles stay closed."""
    parts = house.parts
    for conductor in house.live:
        kind = "pole" if poles is None or conductor in poles else "link"
        ends = parts.node(before, conductor), parts.node(after, conductor)
        parts.contact(group, conductor, *ends, house.contact_ohm, kind=kind)


def islanding_switch(house: House) -> None:
    """Poles between grid and house terminals, what runs through, bypass and bond."""
    parts, sheet = house.parts, house.job.switch
    ohm = max(sheet.figure("contact_ohm") or house.contact_ohm, LEAST_CONTACT_OHM)
    bypass = sheet.bypass_poles or () if sheet.has("bypass_poles") else ()
    parts.node(SWITCH, "PE")
    for conductor in house.live:
        ends = parts.node(GRID_SIDE, conductor), parts.node(HOUSE_SIDE, conductor)
        kind = "pole" if conductor in sheet.switched_poles else "link"
        parts.contact(SWITCH, conductor, *ends, ohm, kind=kind)
        if conductor in bypass:
            parts.contact("bypass", conductor, *ends, ohm)
    if sheet.gap("bond") is not None:
        house.lacks("bond", sheet.question("bond"))
    elif sheet.bond is not None:
        try:
            at = GRID_SIDE if sheet.bond.at == "grid" else HOUSE_SIDE
            bond(house, "bond", sheet.bond, at, SWITCH)
        except Unknown as gap:
            house.lacks("bond", *gap.questions)


def bond(house: House, group: str, facts: Bond, neutral_at: str, earth_at: str) -> None:
    """Join N and PE through the bond's contact and its conductor, cold.

    Raises
    ------
    Unknown : in which position it closes is not stated, or no such size of its conductor
    """
    parts = house.parts
    ohm = facts.figure("contact_ohm")
    total = house.contact_ohm if ohm is None else ohm
    size, length = facts.figure("size_mm2"), facts.figure("length_m")
    if size is not None and length is not None:
        try:
            total += core_impedance("copper", "PVC", size, length).cold.real
        except NotInTable as odd:
            asked = facts.question("size_mm2")
            raise Unknown(dataclasses.replace(asked, ask=f"{asked.ask} {odd}.")) from None
    kind = "bond" if facts.closed == "in island mode" else "link"
    ends = parts.node(neutral_at, "N"), parts.node(earth_at, "PE")
    parts.contact(group, "", *ends, max(total, LEAST_CONTACT_OHM), kind=kind)
