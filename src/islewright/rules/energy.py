"""Energy I²t that a device lets through, and the cross-section that stands it.

No rule stands here; several chapters ask what a conductor has to bear until a device opens.
"""

from __future__ import annotations

from islewright.job.device import Device
from islewright.job.loops import known_of
from islewright.job.model import Job
from islewright.job.once import once_a_job
from islewright.network.race import overcurrent_time_s
from islewright.tables.device import (
    breaking_capacities_a,
    fuse_gg_opening_current_a,
    mcb_let_through_a2s,
)
from islewright.tables.rows import NotInTable

#: the formula of heating without loss holds up to here (543.1.2) [s]
LONGEST_S = 5.0
#: shortest time that the tables of devices know [s]
SHORTEST_S = 0.1
_LARGE_A2S = 1e4


def told_a2s(energy: float) -> str:
    """An energy I²t with its unit, in four digits where it is small, never as a power of ten.

    >>> told_a2s(78.4), told_a2s(3.721e4)
    ('78.4 A²s', '37210 A²s')
    """
    return f"{energy:.4g} A²s" if energy < _LARGE_A2S else f"{energy:.0f} A²s"


@once_a_job
def largest_fault_current_a(job: Job) -> float:
    """The larger of the measured and the declared fault current at the origin [A].

    Raises
    ------
    Unknown : neither is stated, or one is not told: it may be the larger
    """
    stated = known_of(job.supply, "largest_fault_current_a")
    return max(float(one.value) for one in stated)


def let_through_a2s(device: Device, amps: float) -> tuple[float, str]:
    """Most I²t that a device lets through at a current or any smaller one above its gate [A²s].

    Raises
    ------
    Unknown : curve, rated current or energy class is not stated

    Notes
    -----
    A fuse that melts in less than 0.1 s takes no more energy for it than at 0.1 s.
    """
    latest = overcurrent_time_s(device, amps)[1]
    plain = amps * amps * latest, f"({amps:.4g} A)² · {latest:g} s"
    if latest > SHORTEST_S:
        return plain
    if device.curve == "gG":
        gate = float(fuse_gg_opening_current_a(device.i_n_a, SHORTEST_S))
        return gate * gate * SHORTEST_S, f"({gate:.4g} A)² · {SHORTEST_S:g} s ({device.name})"
    stated = device.let_through_a2s
    if stated is not None and stated < plain[0]:
        return float(stated) + (stated.spread or 0.0), f"I²t of {device.name}, its maker"
    limited = _limited_a2s(device, amps)
    if limited is None or limited > plain[0]:
        return plain
    told = f"I²t of {device.name}, class {device.energy_class}, up to {amps:.4g} A"
    return limited, told


def _limited_a2s(device: Device, amps: float) -> float | None:
    """What the standard allows an energy limiting breaker; None where it promises nothing."""
    for icn in breaking_capacities_a():
        if amps <= icn:
            try:
                found = mcb_let_through_a2s(
                    device.curve, device.i_n_a, icn, energy_class=device.energy_class
                )
            except NotInTable:
                continue
            return float(found)
    return None
