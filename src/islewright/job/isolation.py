"""Where the converter can be isolated, and the point that the operator can reach."""

from typing import Literal

from islewright.job.part import Part, fact

Means = Literal["suitable for isolation", "not suitable"]
_SIGN = "the sign on the device; `none` where nothing opens that side"


class Isolation(Part):
    """Devices that isolate the inverter on each of its sides."""

    output: Means | None = fact(
        "inverter output", "Which means isolates the inverter on its a.c. side?", _SIGN
    )
    battery: Means | None = fact(
        "battery side", "Which means isolates the inverter from the battery?", _SIGN
    )
    pv: Means | None = fact(
        "PV side", "Which means isolates the inverter from the PV array?", _SIGN
    )
    operators_point: Literal["within reach", "locked away"] | None = fact(
        "operator's point",
        "Can the operator reach a point that isolates the house's sources at any time?",
        "go and look; `none` where there is no such point",
    )
