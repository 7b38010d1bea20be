"""How a circuit is taken off in an outage, as somebody has set it up."""

from typing import Literal

from islewright.job.kinds import Name, Time
from islewright.job.part import Part, fact


class Shedding(Part):
    """A circuit that something takes off: before the island forms, or when it is overloaded."""

    when: Literal["before the island forms", "on overload"] = fact(
        "when", "When is it taken off?", "read the setting of what takes it off"
    )
    within_s: Time = fact(
        "within", "How long after the overload begins is it off?", "read the setting, try it"
    )
    by: Name = fact("by", "What takes it off?", "a contactor, a relay, the inverter's output")
