"""A place at which equipment stands: what the room is for, how warm and wet it gets there.

Belongs here: the facts of a place, and at which place a piece of equipment stands. Does not
belong here: whether it may stand there (`rules`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from islewright.job.gap import Gap, Unknown
from islewright.job.kinds import Length, Temperature
from islewright.job.part import Part, fact

if TYPE_CHECKING:
    from islewright.job.model import Job, Placed

_STRICTEST = "of several uses the first that fits, from the left"


class Spot(Part):
    """A place of equipment."""

    situation: Literal["indoors", "outdoors"] = fact("situation", "Indoors or outdoors?")
    room: Literal[
        "sleeping room",
        "opening to a sleeping room",
        "escape route",
        "lobby",
        "void",
        "roof space",
        "living room",
        "garage or workshop",
        "cellar",
        "utility room or store",
        "outbuilding",
    ] = fact("room", "What is the room for?", _STRICTEST)
    ambient_c: Temperature = fact(
        "ambient", "How warm does it get there?", "ask, measure in summer"
    )
    coldest_c: Temperature = fact("coldest", "How cold does it get there?", "ask, think of winter")
    water: Literal["dry", "drops", "spray", "splashes", "jets"] = fact(
        "water", "Which water reaches it?", "rain that is blown in splashes; a hose makes a jet"
    )
    dust: Literal["little", "light dust", "much dust"] = fact(
        "dust", "How dusty is it?", "look at what lies on the shelves; sawdust and hay are much"
    )
    to_openings_m: Length | None = fact(
        "distance to openings",
        "How far from the battery is the nearest door, window, vent or escape route?",
        "measure from its edge; `none` where there is none on that side of the house",
    )
    to_flammables_m: Length | None = fact(
        "distance to flammables",
        "How far from the battery are things stored that burn easily?",
        "fuel, gas, oil, paint, waste; `none` where none are kept there",
    )
    detector: Literal["linked to the house's alarms", "alone", "none"] = fact(
        "fire detector",
        "Is there a smoke or heat detector, and do the house's alarms sound with it?",
        "press its button and listen",
    )
    local_rule: Literal["allowed", "forbidden"] = fact(
        "battery by local rule",
        "May a battery stand there by the rules of the place, fire service and insurer included?",
        "building code, fire service, insurer; keep the answer with the job",
        whom="the local rules",
    )


def spot_of(job: Job, piece: str) -> Spot:
    """Where a piece of equipment stands.

    Without `place` it stands at the job's own place. That is only taken so where all such
    pieces hang at one place by their `at`.

    Parameters
    ----------
    piece : "islanding_switch", "inverter" or "battery"

    Raises
    ------
    Unknown : it is not clear where, or nothing is stated of the place
    """
    placed: Placed = getattr(job.placement, piece)
    if placed.gap("place") is not Gap.LEFT_OUT:
        return job.site if placed.place is None else job.other_places[placed.place]
    apart = [other for other in _without_place(job) if other.at != placed.at]
    if apart:
        raise Unknown(*(one.question("place") for one in (placed, *apart)))
    return job.site


def _without_place(job: Job) -> list[Placed]:
    """Pieces of which only `at` says where they are."""
    held = job.placement
    pieces = [held.islanding_switch, held.inverter, held.battery]
    return [one for one in pieces if one is not None and one.gap("place") is Gap.LEFT_OUT]
