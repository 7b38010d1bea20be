"""Where a cable enters equipment: terminals and glands of a sheet, and a cable's two ends.

Belongs here: what is stated of an end, and which terminals and glands that leaves. Does not
belong here: whether the cable fits (`rules`).
"""

from __future__ import annotations

from typing import Literal

from islewright.job.kinds import (
    CONDUCTORS,
    Conductors,
    Count,
    Millimetres,
    Name,
    Size,
    Torque,
)
from islewright.job.part import Part, fact, sheet
from islewright.job.ranges import ConductorRanges, DiameterRanges

CoreForm = Literal["solid", "stranded", "fine-stranded", "fine-stranded with ferrule"]
End = Literal["from", "to"]


class Terminal(Part):
    """A group of terminals, one for each conductor, unless the sheet says otherwise.

    One called after a conductor (`PE`) is for that conductor, one called `battery`, `PV` or
    `d.c.` for the d.c. cables, and any other for all those that have none of their own.
    """

    takes: ConductorRanges = sheet("takes", "Which conductors does the terminal take?")
    torque_nm: Torque = sheet("torque", "How tight?")
    for_: Conductors | None = sheet("for", "For which conductors is it?", default=None)
    each: Count = sheet("for each conductor", "How many has it for each conductor?", default=1)
    at_once: Count = sheet(
        "conductors at once", "How many conductors may lie in one terminal?", default=1
    )


class Gland(Part):
    """A row of cable glands."""

    count: Count = sheet("count", "How many?")
    clamps: DiameterRanges = sheet("clamps", "Which diameters does it clamp?")


class Cores(Part):
    """How the cores of a cable are made."""

    core_form: CoreForm = fact(
        "core form", "How are its cores made, and have they ferrules?", "strip one and look"
    )


class Entering(Cores):
    """What is stated of a cable's ends, where they enter equipment or boards."""

    terminal_at_from: Name | None = fact(
        "terminal at from",
        "Which terminals does it enter where it begins?",
        "left out: those called after its end, or the only ones for its conductors",
        default=None,
    )
    terminal_at_to: Name | None = fact(
        "terminal at to",
        "Which terminals does it enter where it ends?",
        "left out: those called after its end, or the only ones for its conductors",
        default=None,
    )
    gland_at_from: Name | None = fact(
        "gland at from",
        "Through which gland does it enter where it begins?",
        "left out: one that clamps it; `by conduit` where it needs none",
        default=None,
    )
    gland_at_to: Name | None = fact(
        "gland at to",
        "Through which gland does it enter where it ends?",
        "left out: one that clamps it; `by conduit` where it needs none",
        default=None,
    )


class DcCable(Entering):
    """A d.c. cable from battery or PV array to the inverter."""

    from_: Literal["battery", "PV array"] = fact("from", "Where does it come from?", default=...)
    size_mm2: Size = fact("size", "Which cross-section has it?", "read the sheath")
    outside_diameter_mm: Millimetres = fact("outside diameter", "How thick is it?", "measure it")
    count: Count = fact(
        "cables", "How many such cables run side by side?", "two where each is one core", default=1
    )


#: groups of terminals that are for d.c. cables alone, in the sheet of an inverter
DC_GROUPS = ("battery", "PV", "d.c.")

#: what stands at a cable's gland where it enters through a conduit that is its own entry
BY_CONDUIT = "by conduit"


def terminals_for(
    groups: dict[str, Terminal], conductor: str, stated: str | None, port: str
) -> list[str]:
    """Names of the groups of terminals that a conductor may enter.

    Parameters
    ----------
    groups : terminals of the sheet, by name
    stated : the group that the cable states for this end, None where it states none
    port : what stands behind the slash of the cable's end, "" where nothing does

    Returns
    -------
    one name where it is clear; none, or several, where somebody must say
    """
    own, rest = [], []
    for name, group in groups.items():
        if name == conductor or (group.for_ is not None and conductor in group.for_):
            own.append(name)
        elif group.for_ is None and name not in CONDUCTORS and name not in DC_GROUPS:
            rest.append(name)
    if stated in own or (stated and not own):
        return [stated] if stated in groups else []
    for found in (own, rest):
        if len(found) > 1 and port in found:
            return [port]
        if found:
            return found
    return []


def dc_terminals_for(
    groups: dict[str, Terminal], stated: str | None, port: str, *, at_inverter: bool
) -> list[str]:
    """Names of the groups of terminals that a d.c. cable may enter, as `terminals_for`.

    Parameters
    ----------
    port : "battery" or "PV", where it comes from
    at_inverter : whether it is the end at the inverter; at battery and array all are d.c.
    """
    if stated:
        return [stated] if stated in groups else []
    if not at_inverter:
        return list(groups)
    return [name for name in (port, "d.c.") if name in groups][:1]
