"""How contacts move and what they stand: the neutral pole of a switch, the contact of a bond.

Facts of the maker's. Does not belong here: where switch and bond sit (`equipment`).
"""

from __future__ import annotations

from typing import Literal

from islewright.job.kinds import Current, Time
from islewright.job.part import Part, fact

_WHOM = "the maker"
_HOW = "the maker's sheet; ask where it is silent"


class NeutralPole(Part):
    """In which order a neutral pole moves, beside the poles of the lines."""

    opens: Literal["with the lines", "after the lines", "before the lines"] = fact(
        "opens", "When does the neutral pole open?", _HOW, whom=_WHOM
    )
    closes: Literal["with the lines", "before the lines", "after the lines"] = fact(
        "closes", "When does the neutral pole close?", _HOW, whom=_WHOM
    )


class Withstand(Part):
    """A short-time current that a contact stands."""

    current_a: Current = fact(
        "current", "Which short-time current does the contact stand?", _HOW, whom=_WHOM
    )
    for_s: Time = fact("for", "For how long does it stand that current?", _HOW, whom=_WHOM)
