"""A TT house where an overcurrent device cuts off earth faults (411.5.4).

No rule stands here; the rules of disconnection ask for it, beside the RCDs. The loop must stay
low for good: pipes beside the electrode do not count, and nobody may guess that it does.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from islewright.findings import Status, Verdict, at_most
from islewright.network.supply import house_earth_ohm
from islewright.rules.demand import own_spread
from islewright.rules.loop import loop_by_hand
from islewright.rules.opening import in_time, opening_current_a
from islewright.rules.registry import every
from islewright.tables.rows import NotInTable

if TYPE_CHECKING:
    from islewright.job.model import Electrode
    from islewright.network.follow import OneFault
    from islewright.network.sheet import RaceBar
    from islewright.network.way import Guard
    from islewright.rules.registry import Here
    from islewright.rules.study import Study

ASSURED = "assured"


def by_overcurrent(
    study: Study, here: Here, electrode: Electrode, guard: Guard, bar: RaceBar, row: OneFault
) -> Verdict:
    """Z_s ≤ c_min · U_0 / I_a, with R_A alone in the loop, where that surely stays low.

    The device must open at the current of the network too, as a check on the loop by hand.

    Raises
    ------
    Unknown : the loop, the pipes beside the electrode, the device, or whether it stays low
    """
    try:
        i_a = opening_current_a(guard, row.allowed_s)
    except NotInTable as slow:
        return Verdict(status=Status.NOT_MET, because=[str(slow)])
    low = _low_enough(study, here, electrode, guard, i_a)
    if low.status is Status.NOT_MET:
        return low
    if electrode.stays_low != ASSURED:
        lacks = "that the electrode stays low for good is not assured, so 411.5.4 cannot be used"
        return Verdict(status=Status.NOT_MET, because=[*low.because, lacks])
    return every([low, in_time(study, guard, bar, row)])


def _low_enough(
    study: Study, here: Here, electrode: Electrode, guard: Guard, i_a: float
) -> Verdict:
    """The loop against the current at which a device opens in time."""
    r_a = electrode.resistance_ohm
    c_min, u_0 = float(study.profile.number("loop.c_min")), study.job.supply.nominal_voltage_v
    limit = c_min * float(u_0) / i_a
    told = f"c_min · U_0 / I_a = {c_min:g} · {u_0:g} V / {i_a:g} A = {limit:.2f} Ω ({guard.name})"
    if r_a > limit:  # the loop is larger still, so that nobody need measure it
        return Verdict(status=Status.NOT_MET, because=lambda: [f"R_A = {r_a:g} Ω > {told}"])
    z_s, spread, parts = _loop(study, here, electrode)
    return at_most(z_s, limit, "ohm", spread=spread, because=[*parts, told], confirmed="memory")


def _loop(study: Study, here: Here, electrode: Electrode) -> tuple[float, float, list[str]]:
    """Earth-fault loop with the electrode alone [Ω], what it may be off, and its sum."""
    _ = study.job.earthing.parallel_earths  # must be known, since the reading holds them
    parts, spread, z_s = loop_by_hand(study, here)
    r_a, together = electrode.resistance_ohm, house_earth_ohm(study.job)
    pipes = float(r_a) - together
    read = z_s + pipes
    z_s = max(read, float(r_a) + sum(ohm for _, ohm in parts[1:]))
    off = math.hypot(spread, own_spread(study.profile, "electrode_reading", r_a))
    beside = f" + {pipes:.3f} Ω without the pipes" if pipes > 0 else ""
    told = " + ".join(f"{ohm:.3f} Ω" for _, ohm in parts) + beside
    held = "" if read >= z_s else f", at least R_A and the cables: {z_s:.2f} Ω"
    return z_s, off, [f"Z_s = {told} = {read:.2f} Ω, hot{held}"]
