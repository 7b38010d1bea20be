"""Checks of a cable's ends: terminals and glands that it names are in the maker's sheet."""

from __future__ import annotations

from collections.abc import Iterator

from islewright.job.checked import Checked, stated
from islewright.job.ends import BY_CONDUIT, Entering
from islewright.job.part import Part
from islewright.job.problem import Problem

#: field of the placement by what stands at a cable's end
_PLACED = {
    "islanding switch": "islanding_switch",
    "inverter": "inverter",
    "battery": "battery",
    "PV array": "pv",
}
_ROOMS = (("terminal", "terminals", ()), ("gland", "glands", (BY_CONDUIT,)))


def ends_name_what_the_sheet_has(c: Checked) -> Iterator[Problem]:
    """`terminal at ...` and `gland at ...` name a group of the equipment at that end."""
    for name, cable in c.job.cables.items():
        for at, place in (("from", cable.from_), ("to", cable.to)):
            yield from _named(c, ("cables", name), cable, at, place.partition("/")[0])
    for name, dc in (stated(c.job, "dc_cables") or {}).items():
        for at, place in (("from", dc.from_), ("to", "inverter")):
            yield from _named(c, ("battery and PV cables", name), dc, at, place)


def dc_cables_come_from_what_is_there(c: Checked) -> Iterator[Problem]:
    """The battery or PV array from which a d.c. cable comes is not `none`."""
    fields = {"battery": "battery", "PV array": "pv"}
    for name, cable in (stated(c.job, "dc_cables") or {}).items():
        field, held = fields[cable.from_], c.job.placement
        if held.gap(field) is None and getattr(held, field) is None:
            loc = ("battery and PV cables", name, "from")
            yield c.places.problem(loc, cable.from_, "the job says that there is none")


def _named(
    c: Checked, loc: tuple[str, str], cable: Entering, at: str, place: str
) -> Iterator[Problem]:
    for what, room, also in _ROOMS:
        named = stated(cable, f"{what}_at_{at}")
        if named is None:
            continue
        end = (*loc, f"{what} at {at}")
        if place not in (*_PLACED, *c.job.boards):
            allowed = f"it goes where the cable ends in equipment or a board, and {place} is none"
            yield c.places.problem(end, named, allowed)
            continue
        groups = _groups(c, place, room)
        if groups is not None:
            told = f"group of {room} in the maker's sheet"
            told = f"group of {room} of {place}" if place in c.job.boards else told
            yield from c.refer(end, named, [*groups, *also], told)


def _groups(c: Checked, place: str, room: str) -> list[str] | None:
    """Names of the groups of a sheet or board; None where it, or the room, is not there to ask."""
    sheet: Part | None = c.job.boards.get(place)
    if sheet is None:
        placed = stated(c.job.placement, _PLACED[place])
        sheet = placed and c.job._equipment.get(placed.model)  # noqa: SLF001 - the job is still being made
    groups = None if sheet is None else stated(sheet, room)
    return None if groups is None else list(groups)
