"""gG fuses: times as intervals, opening currents, ratings."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from islewright.tables.figure import Figure
from islewright.tables.gates import Gate, Gates, opening_a, too_fast
from islewright.tables.rows import NotInTable, not_listed, read

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = [
    "fuse_conventional_a",
    "fuse_gg_gates",
    "fuse_gg_let_through_a2s",
    "fuse_gg_opening_current_a",
    "fuse_gg_ratings_a",
    "fuse_gg_time_s",
    "fuse_gg_times",
]


class _Fuse(NamedTuple):
    rated_current_a: float
    non_fusing_x_in: float
    fusing_x_in: float
    conventional_time_h: float
    holds_10s_a: float
    opens_5s_a: float
    holds_0_1s_a: float
    opens_0_1s_a: float
    source: str
    confirmed: str


class _FuseOpening(NamedTuple):
    rated_current_a: float
    within_s: float
    current_a: float
    spread_a: float
    source: str
    confirmed: str


class _LetThrough(NamedTuple):
    rated_current_a: float
    from_a: float
    i2t_a2s: float
    source: str
    confirmed: str


def _fuse_row(i_n_a: float) -> _Fuse:
    rows: tuple[_Fuse, ...] = read("fuse_gate", _Fuse)
    for row in rows:
        if row.rated_current_a == i_n_a:
            return row
    raise not_listed("gG fuse", i_n_a, fuse_gg_ratings_a(), "A")


@cache
def _fuse(i_n_a: float) -> Gates:
    row = _fuse_row(i_n_a)

    def gate(current_a: float, time_s: float) -> Gate:
        return Gate(current_a, time_s, row.source, row.confirmed)

    return Gates(
        earliest=[
            gate(row.non_fusing_x_in * i_n_a, float("inf")),
            gate(row.holds_10s_a, 10.0),
            gate(row.holds_0_1s_a, 0.1),
        ],
        latest=[
            gate(row.fusing_x_in * i_n_a, row.conventional_time_h * 3600),
            gate(row.opens_5s_a, 5.0),
            gate(row.opens_0_1s_a, 0.1),
        ],
    )


def fuse_gg_gates(i_n_a: float) -> Gates:
    """Gates of a gG fuse, to draw the band between its times.

    Parameters
    ----------
    i_n_a : rated current, a listed one [A]

    Returns
    -------
    the gates of both bounds, in amperes and seconds

    Raises
    ------
    NotInTable : no such rating

    References
    ----------
    IEC 60269-1, Tables 2 and 3; IEC 60269-2 below 16 A (from memory).
    """
    return _fuse(float(i_n_a))


def fuse_gg_time_s(i_n_a: float, i_a: float) -> tuple[float, float]:
    """Earliest and latest melting of a gG fuse.

    Parameters
    ----------
    i_n_a : rated current, a listed one [A]
    i_a : r.m.s. current that flows [A]

    Returns
    -------
    earliest, latest [s]

    Raises
    ------
    NotInTable : no such rating; the message names the neighbours

    References
    ----------
    IEC 60269-1, Tables 2 and 3; IEC 60269-2 below 16 A (from memory).

    >>> fuse_gg_time_s(16, 65)
    (0.1, 5.0)
    """
    return _fuse(float(i_n_a)).time_s(i_a)


def fuse_gg_times(i_n_a: float, i_a: Array) -> tuple[Array, Array]:
    """Earliest and latest melting of a gG fuse, as `fuse_gg_time_s`, for many currents.

    Parameters
    ----------
    i_n_a : rated current, a listed one [A]
    i_a : r.m.s. currents, any shape [A]

    Returns
    -------
    earliest, latest, each of the shape of `i_a` [s]

    Raises
    ------
    NotInTable : no such rating

    References
    ----------
    IEC 60269-1, Tables 2 and 3; IEC 60269-2 below 16 A (from memory).
    """
    return _fuse(float(i_n_a)).times_s(i_a)


@cache
def fuse_gg_opening_current_a(
    i_n_a: float, within_s: float, *, standard: str = "IEC 60269"
) -> Figure:
    """Least current at which a gG fuse has surely opened in a time.

    Parameters
    ----------
    i_n_a : rated current, a listed one [A]
    within_s : time allowed, 0.1 s or more [s]
    standard : "IEC 60269" for the gates that every gG fuse keeps, of which 0.1 s stands
        for all times below 5 s; "BS 88-2" for the lower currents that BS 7671 prints for
        fuses of that standard at 0.4 s and 5 s

    Returns
    -------
    I_a [A]; from BS 88-2 with the last printed digit as its spread

    Raises
    ------
    NotInTable : no such rating, less than 0.1 s (BS 88-2: 0.4 s)

    References
    ----------
    IEC 60269-1, Table 3 (from memory); BS 7671:2018, Tables 41.2 and 41.4.
    """
    if standard == "IEC 60269":
        return opening_a(_fuse(float(i_n_a)), within_s, f"gG {i_n_a:g} A")
    if standard != "BS 88-2":
        raise NotInTable(f"fuse standard {standard} is not listed; listed: IEC 60269 and BS 88-2")
    rows = [row for row in read("fuse_opening_bs88", _FuseOpening) if row.rated_current_a == i_n_a]
    if not rows:
        known = (row.rated_current_a for row in read("fuse_opening_bs88", _FuseOpening))
        raise not_listed("gG fuse to BS 88-2", i_n_a, known, "A")
    fitting = [row for row in rows if row.within_s <= within_s]
    if not fitting:
        first = rows[0]
        raise too_fast(f"gG {i_n_a:g} A", within_s, Gate(first.current_a, first.within_s, "", ""))
    row = max(fitting, key=lambda row: row.within_s)
    return Figure(row.current_a, source=row.source, confirmed=row.confirmed, spread=row.spread_a)


def fuse_conventional_a(i_n_a: float) -> Figure:
    """Current I_2 at which a gG fuse opens within the conventional time.

    Parameters
    ----------
    i_n_a : rated current, a listed one [A]

    Returns
    -------
    I_2, 1.6 I_n from 16 A on [A]

    Raises
    ------
    NotInTable : no such rating

    References
    ----------
    IEC 60269-1, Table 2 (from memory).
    """
    row = _fuse_row(float(i_n_a))
    return Figure(row.fusing_x_in * i_n_a, source=row.source, confirmed=row.confirmed)


def fuse_gg_ratings_a() -> tuple[float, ...]:
    """Rated currents of gG fuses, rising [A].

    References
    ----------
    IEC 60269-1, IEC 60269-2 (from memory).
    """
    return tuple(row.rated_current_a for row in read("fuse_gate", _Fuse))


def fuse_gg_let_through_a2s(i_n_a: float, i_a: float) -> Figure:
    """Largest energy that a gG fuse lets through where it melts within a half-wave.

    Parameters
    ----------
    i_n_a : rated current, 16 to 125 A [A]
    i_a : prospective current, r.m.s. [A]

    Returns
    -------
    operating I²t [A²s]

    Raises
    ------
    NotInTable : no such rating (below 16 A none is listed), or too little current: then the
        fuse takes longer, and lets through more

    References
    ----------
    IEC 60269-2, I²t limits for the test of selectivity (from memory).

    >>> float(fuse_gg_let_through_a2s(63, 3000))
    21200.0
    """
    rows: tuple[_LetThrough, ...] = read("fuse_let_through", _LetThrough)
    for row in rows:
        if row.rated_current_a == i_n_a and i_a < row.from_a:
            raise NotInTable(
                f"let-through of a gG fuse of {i_n_a:g} A: listed from {row.from_a:g} A on"
            )
        if row.rated_current_a == i_n_a:
            return Figure(row.i2t_a2s, source=row.source, confirmed=row.confirmed)
    raise not_listed("let-through of a gG fuse", i_n_a, (r.rated_current_a for r in rows), "A")
