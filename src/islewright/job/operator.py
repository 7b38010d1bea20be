"""What the public supply and its operator state for this house: voltage band and limits.

Belongs here: facts of the survey alone. Does not belong here: what a rule set asks (profiles).
"""

from typing import Any, Literal

from islewright.job.kinds import ApparentPower, Date, Share, Voltage
from islewright.job.part import Part, fact

OPERATOR = "the operator"


def limit(key: str, ask: str) -> Any:
    """A limit that only the operator can state; `none` where he sets none."""
    return fact(key, ask, "ask in writing; `none` where the operator sets none", whom=OPERATOR)


class SupplyVoltage(Part):
    """Between which voltages the supply lies, line to neutral at the origin."""

    lowest_v: Voltage = fact(
        "lowest", "What is the lowest voltage of a line?", "logger, or readings in the evening"
    )
    highest_v: Voltage = fact(
        "highest", "What is the highest voltage of a line?", "logger, or readings on a sunny noon"
    )
    date: Date = fact("date", "When was the supply voltage measured?")


class OperatorLimits(Part):
    """Limits that the operator sets for this house; they stand before those of the profile."""

    rise: Share | None = limit(
        "voltage rise", "How far may own sources lift the voltage above the origin?"
    )
    unbalance_va: ApparentPower | None = limit(
        "single-phase power", "How much may single-phase sources feed into one line?"
    )
    start_change: Share | None = limit(
        "voltage change at a start", "How far may a start pull the voltage at the origin down?"
    )
    reach: Literal["asked for", "not asked for"] = fact(
        "point of isolation",
        "Does the operator ask for a point of isolation within reach?",
        "ask in writing",
        whom=OPERATOR,
    )
