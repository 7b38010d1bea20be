"""Types of residual current devices: which forms of residual current each of them sees."""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable, read

__all__ = ["bears_dc_a", "sees_wave", "type_for_wave", "wave_adds_dc_a"]


class _Type(NamedTuple):
    rcd_type: str
    above: int
    bears_dc_a: float | None
    source: str
    confirmed: str


class _Wave(NamedTuple):
    wave: str
    rcd_type: str
    adds_dc_a: float | None
    source: str
    confirmed: str


@cache
def _types() -> dict[str, _Type]:
    return {row.rcd_type: row for row in read("rcd_type", _Type)}


@cache
def _waves() -> dict[str, _Wave]:
    return {row.wave: row for row in read("rcd_wave", _Wave)}


@cache
def _type(rcd_type: str) -> _Type:
    if rcd_type not in _types():
        raise NotInTable(f"RCD type {rcd_type} is not listed; listed are {', '.join(_types())}")
    return _types()[rcd_type]


@cache
def _wave(wave: str) -> _Wave:
    if wave not in _waves():
        raise NotInTable(f"fault current {wave} is not listed; listed are {', '.join(_waves())}")
    return _waves()[wave]


@cache
def type_for_wave(wave: str) -> str:
    """Name the least type of RCD that sees a form of residual current.

    Parameters
    ----------
    wave : "sinusoidal", "pulsed", "up to 6 mA d.c.", "mixed frequencies" or "smooth d.c."

    Returns
    -------
    "AC", "A", "F" or "B"

    Raises
    ------
    NotInTable : no such form

    References
    ----------
    IEC 60755, IEC 61008-1, IEC 62423.

    >>> type_for_wave("mixed frequencies")
    'F'
    """
    return _wave(wave).rcd_type


@cache
def sees_wave(rcd_type: str, wave: str) -> bool:
    """Tell whether a type of RCD sees a form of residual current: AC < A < F < B.

    Parameters
    ----------
    rcd_type : "AC", "A", "F" or "B"
    wave : as for `type_for_wave`

    Raises
    ------
    NotInTable : no such type or form

    References
    ----------
    IEC 60755, IEC 61008-1, IEC 62423.

    >>> sees_wave("A", "smooth d.c.")
    False
    """
    return _type(rcd_type).above >= _type(type_for_wave(wave)).above


def bears_dc_a(rcd_type: str) -> Figure:
    """Smooth d.c. with which a type of RCD still works as promised.

    Parameters
    ----------
    rcd_type : "AC", "A", "F" or "B"

    Returns
    -------
    smooth d.c. [A]; no bound for type B, which trips at it

    Raises
    ------
    NotInTable : no such type

    References
    ----------
    IEC 61008-1, IEC 62423.

    >>> float(bears_dc_a("A"))
    0.006
    """
    row = _type(rcd_type)
    most = math.inf if row.bears_dc_a is None else row.bears_dc_a
    return Figure(most, source=row.source, confirmed=row.confirmed)


@cache
def wave_adds_dc_a(wave: str) -> float:
    """Smooth d.c. that a load with this form of fault current may let flow unnoticed.

    Parameters
    ----------
    wave : as for `type_for_wave`

    Returns
    -------
    smooth d.c. [A]; no bound for smooth d.c. itself

    Raises
    ------
    NotInTable : no such form

    References
    ----------
    IEC 62955.

    >>> wave_adds_dc_a("up to 6 mA d.c.")
    0.006
    """
    adds = _wave(wave).adds_dc_a
    return math.inf if adds is None else adds
