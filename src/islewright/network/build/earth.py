"""Earthing terminal, electrode, parallel earths, and where the PEN splits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from islewright.job.gap import Unknown
from islewright.job.part import Part
from islewright.network.impedance import Pair, run_impedance
from islewright.network.parts import EARTH
from islewright.network.places import MET, canonical

if TYPE_CHECKING:
    from islewright.network.build.house import House


def earthing(house: House) -> None:
    """Earthing terminal, electrode, parallel earths, and the link to the board."""
    parts, facts = house.parts, house.job.earthing
    met = parts.node(MET, "PE")
    try:
        electrode = facts.electrode
        if electrode is not None:
            rod = parts.node("electrode", "PE")
            ohm = complex(electrode.resistance_ohm)
            parts.core("earthing conductor", met, rod, *_run(house, electrode, "conductor"))
            parts.core("electrode", rod, EARTH, ohm, ohm)
    except Unknown as gap:
        house.lacks("electrode", *gap.questions)
    for name, value in (
        (facts.parallel_earths or {}).items() if facts.has("parallel_earths") else ()
    ):
        parts.core(f"parallel earth {name}", met, EARTH, complex(value), complex(value))
    try:
        board = parts.node(canonical(facts.main_earthing_terminal), "PE")
        parts.core("earthing terminal link", met, board, *_run(house, facts, "link"))
    except Unknown as gap:
        house.lacks(MET, *gap.questions)


def _run(house: House, owner: Part, field: str) -> Pair:
    """Impedance of a described conductor; a joint where none is described, which is said."""
    if owner.has(field):
        return run_impedance(getattr(owner, field))
    ohm = house.contact_ohm
    what = "earthing conductor" if field == "conductor" else "link from earthing terminal to board"
    house.parts.assume(what, f"{ohm * 1000:g} mΩ", "not described; taken as a joint")
    return Pair(complex(ohm), complex(ohm))


def split_of_pen(house: House) -> None:
    """Where the PEN ends, N and PE are joined; TN-S and TT have no such place."""
    parts, supply = house.parts, house.job.supply
    if supply.system_earthing == "TN-C-S":
        if supply.gap("pen_splits_at") is not None or supply.pen_splits_at is None:
            house.lacks("supply", supply.question("pen_splits_at"))
            return
        at = canonical(supply.pen_splits_at)
        # ahead of a main switch: a PEN is never switched
        arriving = f"{at}/in" if parts.has(f"{at}/in", "N") else at
        ends = parts.node(arriving, "N"), parts.node(at, "PE")
        parts.contact("PEN split", "", *ends, house.contact_ohm, kind="link")
    brought = any(c.from_ == "supply" and "PE" in c.cores for c in house.job.cables.values())
    if supply.system_earthing == "TN-S" and not brought:
        ends = parts.node("supply", "PE"), parts.node(MET, "PE")
        parts.contact("supply PE", "", *ends, house.contact_ohm, kind="link")
