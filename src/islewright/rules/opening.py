"""When a device has opened: at which current in a given time, in which time at a given current.

No rule stands here; grid and island mode ask the same devices.
"""

from __future__ import annotations

import math

from islewright.findings import Status, Verdict, at_most
from islewright.network.follow import OneFault
from islewright.network.race import overcurrent_time_s, residual_time_s
from islewright.network.sheet import RaceBar
from islewright.network.way import Guard
from islewright.rules.demand import spread_of
from islewright.rules.study import Study
from islewright.tables.device import (
    fuse_gg_opening_current_a,
    mcb_opening_current_a,
    rcd_opening_current_a,
)
from islewright.units import show

#: stands for "later than any time that somebody would wait" [s]
NEVER_S = 1e9


def opening_current_a(guard: Guard, within_s: float) -> float:
    """I_a of a device: the least current at which it has surely opened in a time [A].

    Raises
    ------
    NotInTable : its standard promises no such time
    Unknown : the job does not state the device
    """
    guard.must_be_known()
    if guard.residual is not None:
        kind = "S" if guard.residual.delay == "S" else "general"
        return float(rcd_opening_current_a(guard.residual.trips_at_a, kind, within_s))
    device = guard.device
    assert device is not None  # noqa: S101 - a guard has one of the two
    if device.curve == "gG":
        return float(fuse_gg_opening_current_a(device.i_n_a, within_s))
    return float(mcb_opening_current_a(device.curve, device.i_n_a, within_s))


def told_interval(bar: RaceBar) -> str:
    """When a device opens, as a person says it; never is never."""
    if math.isinf(bar.earliest_s):
        return "never opens"
    if math.isinf(bar.latest_s):
        return f"may open after {show(bar.earliest_s, 's')}, or never"
    latest = show(bar.latest_s, "s")
    if bar.earliest_s == 0:
        return f"opens within {latest}"
    return f"opens after {show(bar.earliest_s, 's')} at the earliest, within {latest} at the latest"


def told_a(amps: float) -> str:
    """A current as a person says it; what hangs on leakage alone is none."""
    return f"{amps:.3g} A" if amps >= 1e-3 else "no current"


def in_time(study: Study, guard: Guard, bar: RaceBar, row: OneFault) -> Verdict:
    """Whether one device has surely opened in the allowed time at the current that it sees."""
    if bar.questions:
        lacks = [f"{bar.name}: {q.field} not known" for q in bar.questions]
        return Verdict(status=Status.UNDECIDED, questions=bar.questions, because=lacks)

    def because() -> list[str]:
        return [
            f"{bar.name} at {told_a(bar.current_a)}: {told_interval(bar)}",
            f"t_allowed = {row.allowed_s:g} s",
        ]

    if not math.isfinite(bar.latest_s):
        return Verdict(status=Status.NOT_MET, because=because, confirmed="page")
    return at_most(
        bar.latest_s,
        row.allowed_s,
        "s",
        because=because,
        confirmed="page",
        spread=time_spread_s(study, guard, bar, row),
    )


def time_spread_s(study: Study, guard: Guard, bar: RaceBar, row: OneFault) -> float:
    """How much later the device would open at its current less the uncertainty of that [s]."""
    key = "maker" if row.limited else "loop_reading"
    amps = bar.current_a - spread_of(study.profile, key, bar.current_a)
    if guard.residual is not None:
        later = residual_time_s(guard.residual, amps)[1]
    else:
        assert guard.device is not None  # noqa: S101 - a guard has one of the two
        later = overcurrent_time_s(guard.device, amps)[1]
    return max(0.0, min(later, NEVER_S) - bar.latest_s)
