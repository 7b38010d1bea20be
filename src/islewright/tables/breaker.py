"""Circuit breakers: times as intervals, opening currents, ratings, let-through energy.

Times are those of the standard's gates, from the cold state at the reference ambient
temperature, at the r.m.s. current that really flows. A breaker that is warm from its load
opens earlier than the earliest time given here.
"""

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
    "breaking_capacities_a",
    "mcb_band_a",
    "mcb_conventional_a",
    "mcb_gates",
    "mcb_let_through_a2s",
    "mcb_opening_current_a",
    "mcb_ratings_a",
    "mcb_time_s",
    "mcb_times",
]


class _Band(NamedTuple):
    curve: str
    lower_x_in: float
    upper_x_in: float
    source: str
    confirmed: str


class _McbGate(NamedTuple):
    curve: str
    x_in: float
    above_in_a: float
    to_in_a: float
    bound: str
    time_s: float
    edition: str
    source: str
    confirmed: str


class _Rating(NamedTuple):
    rated_current_a: float
    preferred: str
    source: str
    confirmed: str


class _Capacity(NamedTuple):
    icn_a: float
    source: str
    confirmed: str


class _LetThrough(NamedTuple):
    energy_class: int
    curve: str
    icn_a: float
    above_in_a: float
    to_in_a: float
    i2t_a2s: float
    source: str
    confirmed: str


CURVES = ("B", "C", "D")


def _check_curve(curve: str) -> None:
    if curve not in CURVES:
        raise NotInTable(f"breaker curve {curve} is not listed; listed are B, C and D")


@cache
def _mcb(curve: str, i_n_a: float, edition: str) -> Gates:
    _check_curve(curve)
    rows = [
        row
        for row in read("mcb_gate", _McbGate)
        if row.curve == curve
        and row.above_in_a < i_n_a <= row.to_in_a
        and row.edition in ("any", edition)
    ]
    if not rows:
        raise not_listed("breaker", i_n_a, mcb_ratings_a(), "A")
    bounds: dict[str, list[Gate]] = {"earliest": [], "latest": []}
    for row in rows:
        gate = Gate(row.x_in * i_n_a, row.time_s, row.source, row.confirmed)
        bounds[row.bound].append(gate)
    return Gates(**bounds)


def mcb_gates(curve: str, i_n_a: float) -> Gates:
    """Gates of a circuit breaker of any age, to draw the band between its times.

    Parameters
    ----------
    curve : "B", "C" or "D"
    i_n_a : rated current, up to 125 A [A]

    Returns
    -------
    the gates of both bounds, in amperes and seconds

    Raises
    ------
    NotInTable : no such curve, or a rated current beyond the standard

    References
    ----------
    IEC 60898-1:2015, Table 7.
    """
    return _mcb(curve, float(i_n_a), "any")


def mcb_time_s(
    curve: str, i_n_a: float, i_a: float, *, edition: str = "any"
) -> tuple[float, float]:
    """Earliest and latest opening of a circuit breaker.

    Parameters
    ----------
    curve : "B", "C" or "D"
    i_n_a : rated current, up to 125 A [A]
    i_a : r.m.s. current that flows [A]
    edition : "2015" to use the upper times of test d, which only that edition has and which
        are from memory; "any" for a breaker of any age

    Returns
    -------
    earliest, latest [s]: (inf, inf) up to 1.13 I_n, latest inf up to 1.45 I_n

    Raises
    ------
    NotInTable : no such curve, or a rated current beyond the standard

    References
    ----------
    IEC 60898-1:2015, Table 7, tests a to e.

    >>> mcb_time_s("B", 16, 1.8 * 16)
    (1.0, 3600.0)
    """
    return _mcb(curve, float(i_n_a), edition).time_s(i_a)


def mcb_times(curve: str, i_n_a: float, i_a: Array, *, edition: str = "any") -> tuple[Array, Array]:
    """Earliest and latest opening of a circuit breaker, as `mcb_time_s`, for many currents.

    Parameters
    ----------
    curve : "B", "C" or "D"
    i_n_a : rated current, up to 125 A [A]
    i_a : r.m.s. currents, any shape [A]
    edition : "any" or "2015", see `mcb_time_s`

    Returns
    -------
    earliest, latest, each of the shape of `i_a` [s]

    Raises
    ------
    NotInTable : no such curve, or a rated current beyond the standard

    References
    ----------
    IEC 60898-1:2015, Table 7.
    """
    return _mcb(curve, float(i_n_a), edition).times_s(i_a)


@cache
def mcb_opening_current_a(
    curve: str, i_n_a: float, within_s: float, *, edition: str = "any"
) -> Figure:
    """Least current at which a circuit breaker has surely opened in a time.

    Parameters
    ----------
    curve : "B", "C" or "D"
    i_n_a : rated current, up to 125 A [A]
    within_s : time allowed, 0.1 s or more [s]
    edition : "any" or "2015", see `mcb_time_s`

    Returns
    -------
    I_a [A]: 5, 10 or 20 I_n for the times of Table 41.1 and for 5 s

    Raises
    ------
    NotInTable : no such curve or rating, or less than 0.1 s

    References
    ----------
    IEC 60898-1:2015, Table 2 and Table 7.

    >>> float(mcb_opening_current_a("B", 16, 0.4))
    80.0
    """
    return opening_a(_mcb(curve, float(i_n_a), edition), within_s, f"{curve}{i_n_a:g}")


def mcb_band_a(curve: str, i_n_a: float) -> tuple[Figure, Figure]:
    """Range of currents in which the instantaneous release begins to act.

    Parameters
    ----------
    curve : "B", "C" or "D"
    i_n_a : rated current [A]

    Returns
    -------
    lower and upper end [A]

    Raises
    ------
    NotInTable : no such curve

    References
    ----------
    IEC 60898-1:2015, Table 2.
    """
    _check_curve(curve)
    row = next(row for row in read("mcb_band", _Band) if row.curve == curve)
    lower, upper = (
        Figure(x * i_n_a, source=row.source, confirmed=row.confirmed)
        for x in (row.lower_x_in, row.upper_x_in)
    )
    return lower, upper


def mcb_conventional_a(i_n_a: float) -> Figure:
    """Current I_2 at which a circuit breaker opens within the conventional time.

    Parameters
    ----------
    i_n_a : rated current, up to 125 A [A]

    Returns
    -------
    I_2 = 1.45 I_n [A]

    Raises
    ------
    NotInTable : a rated current beyond the standard

    References
    ----------
    IEC 60898-1:2015, Table 7, test b.
    """
    gate = _mcb("B", float(i_n_a), "any").latest[0]
    return Figure(gate.current_a, source=gate.source, confirmed=gate.confirmed)


def mcb_let_through_a2s(curve: str, i_n_a: float, icn_a: float, *, energy_class: int = 3) -> Figure:
    """Largest energy that a breaker of a limiting class lets through.

    Parameters
    ----------
    curve : "B" or "C"; D has no class
    i_n_a : rated current, up to 32 A [A]
    icn_a : rated breaking capacity 3, 4.5, 6 or 10 kA [A]
    energy_class : 2 or 3; class 1 promises nothing

    Returns
    -------
    I²t [A²s]

    Raises
    ------
    NotInTable : no such row

    References
    ----------
    EN 60898-1, Annex ZA (from memory but for four values).
    """
    for row in read("mcb_let_through", _LetThrough):
        same = (row.curve, row.icn_a, row.energy_class) == (curve, icn_a, energy_class)
        if same and row.above_in_a < i_n_a <= row.to_in_a:
            return Figure(row.i2t_a2s, source=row.source, confirmed=row.confirmed)
    raise NotInTable(
        f"let-through energy: class {energy_class}, {curve}{i_n_a:g}, {icn_a:g} A is not "
        "listed; listed are classes 2 and 3, B and C up to 32 A, 3000 to 10000 A"
    )


def breaking_capacities_a() -> tuple[float, ...]:
    """Rated breaking capacities of circuit breakers, rising [A].

    References
    ----------
    IEC 60898-1:2015, 5.3.4.
    """
    return tuple(row.icn_a for row in read("mcb_capacity", _Capacity))


def mcb_ratings_a() -> tuple[float, ...]:
    """Rated currents of circuit breakers, rising [A].

    References
    ----------
    IEC 60898-1:2015, 5.3.2 (2 and 4 A are sold beside its list).
    """
    return tuple(row.rated_current_a for row in read("mcb_rating", _Rating))
