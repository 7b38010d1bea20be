"""A device that watches a circuit for arcs."""

from typing import Literal

from islewright.job.device import Feed
from islewright.job.part import Part, fact


class ArcFault(Part):
    """An arc-fault detection device, alone or as a part of another device."""

    at: Literal["origin", "further on"] = fact(
        "at", "Does it sit where the circuit begins, or further on?", "follow the cable"
    )
    feed: Feed = fact(
        "feed", "May the device be fed from both sides?", "arrows or line/load marks on the device"
    )
    line_terminals: Literal["board", "load"] = fact(
        "line terminals", "Which way do its line terminals face?", "marks on the device"
    )
