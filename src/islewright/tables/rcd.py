"""Residual current devices: times as intervals, opening currents, ratings."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from islewright.tables.figure import Figure
from islewright.tables.gates import Gate, Gates, opening_a
from islewright.tables.rows import NotInTable, not_listed, read

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = [
    "rcd_gates",
    "rcd_opening_current_a",
    "rcd_ratings_a",
    "rcd_time_s",
    "rcd_times",
]


class _RcdGate(NamedTuple):
    kind: str
    x_idn: float | None
    residual_a: float | None
    to_idn_a: float | None
    bound: str
    time_s: float
    source: str
    confirmed: str


class _RcdRating(NamedTuple):
    rated_residual_a: float
    source: str
    confirmed: str


@cache
def _rcd(i_dn_a: float, kind: str) -> Gates:
    rows = [row for row in read("rcd_gate", _RcdGate) if row.kind == kind]
    if not rows:
        raise NotInTable(f"RCD kind {kind} is not listed; listed are general and S")
    if not i_dn_a > 0:
        raise not_listed("RCD", i_dn_a, rcd_ratings_a(), "A")
    bounds: dict[str, list[Gate]] = {"earliest": [], "latest": []}
    reach = max(row.x_idn or 0.0 for row in rows) * i_dn_a
    for row in rows:
        # 0.25 A may stand for 5 I_dn of a small rating: the larger of the two is sure
        fixed = row.residual_a if row.to_idn_a is None or i_dn_a <= row.to_idn_a else None
        current = (row.x_idn or 0.0) * i_dn_a
        if row.x_idn is None and fixed is None:
            continue
        if row.bound == "earliest" and fixed is not None and fixed <= reach:
            continue  # far above every listed rating: the multiples alone hold
        gate = Gate(max(current, fixed or 0.0), row.time_s, row.source, row.confirmed)
        bounds[row.bound].append(gate)
    return Gates(**{name: _unhidden(gates) for name, gates in bounds.items()})


def _unhidden(gates: list[Gate]) -> list[Gate]:
    """Of gates with one time keep the one with the largest current."""
    kept: dict[float, Gate] = {}
    for gate in sorted(gates):
        kept[gate.time_s] = gate
    return list(kept.values())


def rcd_gates(i_dn_a: float, kind: str) -> Gates:
    """Gates of an RCD, to draw the band between its times.

    Parameters
    ----------
    i_dn_a : rated residual current I_Δn [A]
    kind : "general", or "S" for the delayed kind

    Returns
    -------
    the gates of both bounds, in amperes of residual current and seconds

    Raises
    ------
    NotInTable : no such kind, or a rating that is not positive

    References
    ----------
    IEC 61008-1 and IEC 61009-1, Table 1.
    """
    return _rcd(float(i_dn_a), kind)


def rcd_time_s(i_dn_a: float, kind: str, residual_a: float) -> tuple[float, float]:
    """Earliest and latest opening of an RCD at a sinusoidal residual current.

    Parameters
    ----------
    i_dn_a : rated residual current I_Δn [A]
    kind : "general", or "S" for the delayed kind
    residual_a : r.m.s. residual current that flows [A]

    Returns
    -------
    earliest, latest [s]: (inf, inf) up to half of I_Δn, latest inf below I_Δn

    Raises
    ------
    NotInTable : no such kind, or a rating that is not positive

    References
    ----------
    IEC 61008-1 and IEC 61009-1, Table 1.

    >>> rcd_time_s(0.03, "general", 0.03)
    (0.0, 0.3)
    """
    return _rcd(float(i_dn_a), kind).time_s(residual_a)


def rcd_times(i_dn_a: float, kind: str, residual_a: Array) -> tuple[Array, Array]:
    """Earliest and latest opening of an RCD, as `rcd_time_s`, for many residual currents.

    Parameters
    ----------
    i_dn_a : rated residual current I_Δn [A]
    kind : "general" or "S"
    residual_a : r.m.s. residual currents, any shape [A]

    Returns
    -------
    earliest, latest, each of the shape of `residual_a` [s]

    Raises
    ------
    NotInTable : no such kind, or a rating that is not positive

    References
    ----------
    IEC 61008-1 and IEC 61009-1, Table 1.
    """
    return _rcd(float(i_dn_a), kind).times_s(residual_a)


@cache
def rcd_opening_current_a(i_dn_a: float, kind: str, within_s: float) -> Figure:
    """Least residual current at which an RCD has surely opened in a time.

    Parameters
    ----------
    i_dn_a : rated residual current I_Δn [A]
    kind : "general" or "S"
    within_s : time allowed, 0.04 s or more, for kind S 0.15 s [s]

    Returns
    -------
    I_a [A]: I_Δn from 0.3 s on (S: 0.5 s), 2 I_Δn from 0.15 s (S: 0.2 s), 5 I_Δn below

    Raises
    ------
    NotInTable : no such kind or rating, or too short a time

    References
    ----------
    IEC 61008-1 and IEC 61009-1, Table 1.
    """
    return opening_a(_rcd(float(i_dn_a), kind), within_s, f"RCD {i_dn_a:g} A {kind}")


def rcd_ratings_a() -> tuple[float, ...]:
    """Preferred rated residual currents, rising [A].

    References
    ----------
    IEC 61008-1, 5.3.3.
    """
    return tuple(row.rated_residual_a for row in read("rcd_rating", _RcdRating))
