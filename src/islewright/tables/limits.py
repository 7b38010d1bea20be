"""Limits of protection and supply that stand in a table of a standard."""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable, not_listed, read

__all__ = [
    "body_impedance_ohm",
    "disconnection_time_s",
    "drop_limit_percent",
    "touch_limits",
    "touch_time_s",
    "touch_voltage_v",
]


class _Disconnection(NamedTuple):
    system: str
    circuit: str
    above_u0_v: float
    to_u0_v: float | None
    supply: str
    time_s: float
    standing: str
    source: str
    confirmed: str


class _TouchVoltage(NamedTuple):
    place: str
    supply: str
    voltage_v: float
    source: str
    confirmed: str


class _TouchTime(NamedTuple):
    place: str
    touch_v: float
    time_s: float
    standing: str
    source: str
    confirmed: str


class _Body(NamedTuple):
    touch_v: float
    impedance_ohm: float
    source: str
    confirmed: str


class _Drop(NamedTuple):
    supply: str
    use: str
    limit_percent: float
    extra_percent_per_m: float
    extra_from_m: float | None
    extra_at_most_percent: float
    source: str
    confirmed: str


@cache
def disconnection_time_s(
    system: str, u0_v: float, *, circuit: str = "final", supply: str = "ac"
) -> Figure:
    """Longest time until a device cuts off an earth fault.

    Parameters
    ----------
    system : "TN" or "TT"; an IT system takes that of its second fault
    u0_v : nominal voltage line to earth [V]
    circuit : "final" for Table 41.1, "distribution" for all other circuits
    supply : "ac" or "dc"

    Returns
    -------
    time [s]

    Raises
    ------
    NotInTable : no such system, or 50 V and less, where none is asked

    References
    ----------
    IEC 60364-4-41:2005+A1:2017, Table 41.1, 411.3.2.3, 411.3.2.4.

    >>> float(disconnection_time_s("TN", 230))
    0.4
    """
    for row in read("disconnection_time", _Disconnection):
        if (row.system, row.circuit, row.supply, row.standing) == (system, circuit, supply, "used"):
            top = math.inf if row.to_u0_v is None else row.to_u0_v
            if row.above_u0_v < u0_v <= top:
                return Figure(row.time_s, source=row.source, confirmed=row.confirmed)
    raise NotInTable(
        f"disconnection time: no row for {system}, {circuit} circuit, {u0_v:g} V {supply}; "
        "listed are TN and TT, final and distribution circuits, above 50 V"
    )


def touch_voltage_v(place: str = "normal", *, supply: str = "ac") -> Figure:
    """Touch voltage that may stay on for good.

    Parameters
    ----------
    place : "normal" or "special" (parts 7: children, livestock)
    supply : "ac" (r.m.s.) or "dc"

    Returns
    -------
    voltage [V]

    Raises
    ------
    NotInTable : no such place or supply

    References
    ----------
    IEC 60364-4-41, IEC 61201.
    """
    for row in read("touch_voltage", _TouchVoltage):
        if (row.place, row.supply) == (place, supply):
            return Figure(row.voltage_v, source=row.source, confirmed=row.confirmed)
    raise NotInTable(
        f"touch voltage: {place} {supply} is not listed; listed are normal and special, ac and dc"
    )


def touch_limits(place: str = "dry") -> tuple[tuple[float, float], ...]:
    """Rows of the table behind `touch_time_s`, to draw its steps.

    Parameters
    ----------
    place : "dry" or "wet"

    Returns
    -------
    pairs of touch voltage [V] and time [s], rising voltages

    Raises
    ------
    NotInTable : no such place

    References
    ----------
    IEC 61200-413 conventional curve (from memory).
    """
    rows = [row for row in read("touch_time", _TouchTime) if row.place == place]
    if not rows:
        raise NotInTable(f"touch time: place {place} is not listed; listed are dry and wet")
    return tuple(sorted((row.touch_v, row.time_s) for row in rows if row.standing == "used"))


def touch_time_s(touch_v: float, *, place: str = "dry") -> Figure:
    """How long a touch voltage may last.

    Parameters
    ----------
    touch_v : prospective touch voltage, a.c. [V]
    place : "dry" or "wet"

    Returns
    -------
    time [s]: that of the next higher listed voltage, and "never ends" up to the lowest;
    where pages disagree, the difference is the spread

    Raises
    ------
    NotInTable : no such place, or above the last voltage of the curve

    References
    ----------
    IEC 61200-413, conventional curves L and Lp (from memory).
    """
    rows = [row for row in read("touch_time", _TouchTime) if row.place == place]
    used = sorted((row for row in rows if row.standing == "used"), key=lambda row: row.touch_v)
    if not used:
        raise NotInTable(f"touch time: place {place} is not listed; listed are dry and wet")
    row = next((row for row in used if touch_v <= row.touch_v), None)
    if row is None:
        raise not_listed(f"touch time, {place}", touch_v, (r.touch_v for r in used), "V")
    if row is used[0]:
        return Figure(math.inf, source=row.source, confirmed=row.confirmed)
    others = [abs(r.time_s - row.time_s) for r in rows if r.touch_v == row.touch_v]
    return Figure(row.time_s, source=row.source, confirmed=row.confirmed, spread=max(others))


def body_impedance_ohm(touch_v: float) -> Figure:
    """Conventional impedance of a person in shoes on a dry floor, hand to feet.

    Parameters
    ----------
    touch_v : touch voltage, one of 50, 100 and 220 [V]

    Returns
    -------
    impedance [Ω]

    Raises
    ------
    NotInTable : another voltage

    References
    ----------
    IEC 61200-413.
    """
    rows = read("body_impedance", _Body)
    for row in rows:
        if row.touch_v == touch_v:
            return Figure(row.impedance_ohm, source=row.source, confirmed=row.confirmed)
    raise not_listed("body impedance", touch_v, (row.touch_v for row in rows), "V")


def drop_limit_percent(use: str, *, supply: str = "public", length_m: float = 0.0) -> Figure:
    """Voltage drop that the standard recommends as the most, from the origin to the load.

    Parameters
    ----------
    use : "lighting" or "other"
    supply : "public" low-voltage network or "private" supply
    length_m : length of the main wiring; a private supply gains a little beyond 100 m [m]

    Returns
    -------
    limit [% of the nominal voltage]

    Raises
    ------
    NotInTable : no such use or supply

    References
    ----------
    IEC 60364-5-52:2009, Table G.52.1 (informative).
    """
    for row in read("voltage_drop", _Drop):
        if (row.supply, row.use) == (supply, use):
            beyond = max(0.0, length_m - (row.extra_from_m or math.inf))
            extra = min(row.extra_at_most_percent, row.extra_percent_per_m * beyond)
            return Figure(row.limit_percent + extra, source=row.source, confirmed=row.confirmed)
    raise NotInTable(
        f"voltage drop: {use}, {supply} supply is not listed; "
        "listed are lighting and other, public and private"
    )
