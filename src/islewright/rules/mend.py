"""Remedies that several rules give, as orders to a person; each is one rule's own bound.

Belongs here: what to fit instead, with the figure that it reaches. Does not belong here:
larger cables (`capacity`, and the rules that know the loop or the drop).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from islewright.job.device import Device
from islewright.job.gap import Unknown
from islewright.network.places import INVERTER, canonical
from islewright.network.race import needs_more, residual_time_s
from islewright.rules.demand import boards_behind, line_demand_a, load_current_a, loads_va
from islewright.rules.registry import Here
from islewright.tables.device import mcb_opening_current_a, ratings_a, rcd_time_s
from islewright.tables.rows import NotInTable

if TYPE_CHECKING:
    from islewright.rules.study import Study


def without_voltage(name: str) -> str:
    """Order where an RCD may not get the voltage that it needs."""
    return f"Fit an RCD that needs no voltage in place of {name}."


BOND = "Fit a neutral-earth bond on the source side of every RCD."


def ratings_like(device: Device) -> tuple[float, ...]:
    """Rated currents that are made of a device's kind, rising [A]."""
    return ratings_a("gG" if device.curve == "gG" else "breaker")


def next_device(device: Device, needed_a: float, at: str = "") -> str | None:
    """Order for the least rating of the same kind that carries a current [A].

    Parameters
    ----------
    at : whose device it is; the main fuse is the operator's
    """
    fits = [i_n for i_n in ratings_like(device) if i_n >= needed_a]
    if not fits:
        return None
    what = "Ask the operator for a main fuse" if at == "main fuse" else "Fit a device"
    return f"{what} of {fits[0]:g} A, if the cable carries it."


def smaller_device(
    study: Study, here: Here, device: Device, bears_a: float, tested: Callable[[float], float]
) -> str | None:
    """Order for the largest rating that the cable bears, if it still carries the load.

    Parameters
    ----------
    bears_a : what the cable bears [A]
    tested : the current that is held against it, of a device of a rated current
    """
    load_a = load_behind_a(study, here)
    fits = [i_n for i_n in ratings_like(device) if tested(i_n) <= bears_a]
    if load_a is None or not fits or fits[-1] < load_a:
        return None
    return f"Fit a device of {fits[-1]:g} A: it still carries the load of {load_a:.1f} A."


def load_behind_a(study: Study, here: Here) -> float | None:
    """What a smaller device must still carry [A]; None where that is not known.

    Sockets count with what is stated to hang on them, since their I_b is the device's own
    rating; a cable of the inverter with all that this may give.
    """
    job = study.job
    try:
        if here.kind == "circuit":
            circuit = job.circuits[here.name]
            return load_current_a(job, circuit, loads_va(circuit))
        demand = max(line_demand_a(job, boards_behind(job, here.name, here.mode)).values())
        cable = job.cables[here.name]
        if INVERTER in (canonical(cable.from_), canonical(cable.to)):
            return max(demand, study.phase_va / float(job.supply.nominal_voltage_v))
    except Unknown:
        return None
    return demand


def quicker_breaker(
    study: Study, here: Here, device: Device, most_a: float, within_s: float
) -> str | None:
    """Order for the largest breaker, up to this rating, that a current opens in time.

    Parameters
    ----------
    most_a : the fault current, with what it may be off taken away [A]
    """
    load_a = load_behind_a(study, here)
    for i_n in reversed([r for r in ratings_a("breaker") if r <= device.i_n_a]):
        if i_n != device.i_n_a and (load_a is None or i_n < load_a):
            return None
        for curve in ("C", "B"):
            try:
                i_a = float(mcb_opening_current_a(curve, i_n, within_s))
            except NotInTable:  # no breaker promises so short a time
                return None
            if i_a <= most_a and (curve, i_n) != (device.curve, device.i_n_a):
                return (
                    f"Fit {curve}{i_n:g} in place of {device.name}: it opens from {i_a:g} A on, "
                    f"and {most_a:.1f} A flow."
                )
    return None


def behind_an_rcd(study: Study, here: Here, amps: float, left_v: float, allowed_s: float) -> str:
    """Order to lay a circuit behind an RCD that its board has, else to fit an RCBO.

    Parameters
    ----------
    amps : residual current on a fault [A]
    left_v : voltage left at the board meanwhile [V]
    allowed_s : time in which it must open [s]
    """
    circuit = study.job.circuits[here.name]
    found = []
    for name, rcd in study.job.boards[circuit.board].rcds.items():
        try:
            latest = residual_time_s(rcd, amps)[1]
            if name != circuit.behind and latest <= allowed_s and not needs_more(rcd, left_v):
                found.append((float(rcd.trips_at_a), latest, name))
        except Unknown:
            continue
    if found:
        _, latest, name = min(found)
        return f"Put it behind {name}, its neutral too: that opens within {latest:g} s."
    i_dn = float(study.profile.number("rcd.additional_rating"))
    latest = rcd_time_s(i_dn, "general", amps)[1]
    device = circuit.device.name
    told = f": that opens within {latest:g} s" if latest <= allowed_s else ""
    return f"Fit an RCBO of {i_dn * 1000:g} mA in place of {device}{told}."
