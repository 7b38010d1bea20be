"""Checks of a cable's ends: terminals and glands that it names are in the maker's sheet."""

from __future__ import annotations

from collections.abc import Iterator

from islewright.job.checked import Checked, stated
from islewright.job.ends import BY_CONDUIT
from islewright.job.problem import Problem

_ROOMS = (("terminal", "terminals", ()), ("gland", "glands", (BY_CONDUIT,)))


def ends_name_what_the_sheet_has(c: Checked) -> Iterator[Problem]:
    """`terminal at ...` and `gland at ...` name a group of the equipment at that end."""
    for name, cable in c.job.cables.items():
        for at, place in (("from", cable.from_), ("to", cable.to)):
            for what, room, also in _ROOMS:
                named = stated(cable, f"{what}_at_{at}")
                loc = ("cables", name, f"{what} at {at}")
                if named is None:
                    continue
                if place.partition("/")[0] not in ("islanding switch", "inverter"):
                    allowed = f"it goes where the cable ends in equipment, and {place} is none"
                    yield c.places.problem(loc, named, allowed)
                    continue
                groups = _groups(c, place.partition("/")[0], room)
                if groups is not None:
                    known = [*groups, *also]
                    yield from c.refer(loc, named, known, f"group of {room} in the maker's sheet")


def _groups(c: Checked, equipment: str, room: str) -> list[str] | None:
    """Names of a sheet's groups; None where the sheet, or the room, is not there to ask."""
    placement = c.job.placement
    placed = placement.inverter if equipment == "inverter" else placement.islanding_switch
    sheet = c.job._equipment.get(placed.model)  # noqa: SLF001 - the job is still being made
    groups = None if sheet is None else stated(sheet, room)
    return None if groups is None else list(groups)
