"""Protective devices: times as intervals, opening currents, ratings, let-through energy.

Times are those of the standards' gates, from the cold state at the reference ambient
temperature, at the r.m.s. current that really flows. A breaker that is warm from its load
opens earlier than the earliest time given here.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from islewright.tables.figure import Figure
from islewright.tables.gates import Gate, Gates
from islewright.tables.rows import NotInTable, not_listed, read

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = [
    "breaking_capacities_a",
    "fuse_conventional_a",
    "fuse_gg_opening_current_a",
    "fuse_gg_time_s",
    "fuse_gg_times",
    "mcb_band_a",
    "mcb_conventional_a",
    "mcb_let_through_a2s",
    "mcb_opening_current_a",
    "mcb_time_s",
    "mcb_times",
    "ratings_a",
    "rcd_opening_current_a",
    "rcd_ratings_a",
    "rcd_time_s",
    "rcd_times",
]

CURVES = ("B", "C", "D")


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


# ------------------------------------------------------------------ circuit breakers
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
        raise not_listed("breaker", i_n_a, ratings_a(), "A")
    bounds: dict[str, list[Gate]] = {"earliest": [], "latest": []}
    for row in rows:
        gate = Gate(row.x_in * i_n_a, row.time_s, row.source, row.confirmed)
        bounds[row.bound].append(gate)
    return Gates(**bounds)


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


def _opening(gates: Gates, within_s: float, what: str) -> Figure:
    gate = gates.opening(within_s)
    if gate is None:
        raise _too_fast(what, within_s, gates.fastest())
    return Figure(gate.current_a, source=gate.source, confirmed=gate.confirmed)


def _too_fast(what: str, within_s: float, fastest: Gate) -> NotInTable:
    return NotInTable(
        f"{what}: no current is listed for {within_s:g} s; the shortest time is "
        f"{fastest.time_s:g} s, at {fastest.current_a:g} A"
    )


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
    return _opening(_mcb(curve, float(i_n_a), edition), within_s, f"{curve}{i_n_a:g}")


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


def ratings_a(kind: str = "breaker") -> tuple[float, ...]:
    """Rated currents that are made, rising [A].

    Parameters
    ----------
    kind : "breaker" or "gG"

    Raises
    ------
    NotInTable : no such kind

    References
    ----------
    IEC 60898-1:2015, 5.3.2 (2 and 4 A are sold beside its list); IEC 60269-2.
    """
    if kind == "breaker":
        return tuple(row.rated_current_a for row in read("mcb_rating", _Rating))
    if kind == "gG":
        return tuple(row.rated_current_a for row in read("fuse_gate", _Fuse))
    raise NotInTable(f"ratings of {kind} are not listed; listed are breaker and gG")


def breaking_capacities_a() -> tuple[float, ...]:
    """Rated breaking capacities of circuit breakers, rising [A].

    References
    ----------
    IEC 60898-1:2015, 5.3.4.
    """
    return tuple(row.icn_a for row in read("mcb_capacity", _Capacity))


# ------------------------------------------------------------------ fuses
def _fuse_row(i_n_a: float) -> _Fuse:
    rows: tuple[_Fuse, ...] = read("fuse_gate", _Fuse)
    for row in rows:
        if row.rated_current_a == i_n_a:
            return row
    raise not_listed("gG fuse", i_n_a, ratings_a("gG"), "A")


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
        return _opening(_fuse(float(i_n_a)), within_s, f"gG {i_n_a:g} A")
    if standard != "BS 88-2":
        raise NotInTable(f"fuse standard {standard} is not listed; listed: IEC 60269 and BS 88-2")
    rows = [row for row in read("fuse_opening_bs88", _FuseOpening) if row.rated_current_a == i_n_a]
    if not rows:
        known = (row.rated_current_a for row in read("fuse_opening_bs88", _FuseOpening))
        raise not_listed("gG fuse to BS 88-2", i_n_a, known, "A")
    fitting = [row for row in rows if row.within_s <= within_s]
    if not fitting:
        first = rows[0]
        raise _too_fast(f"gG {i_n_a:g} A", within_s, Gate(first.current_a, first.within_s, "", ""))
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


# ------------------------------------------------------------------ residual current devices
@cache
def _rcd(i_dn_a: float, kind: str) -> Gates:
    rows = [row for row in read("rcd_gate", _RcdGate) if row.kind == kind]
    if not rows:
        raise NotInTable(f"RCD kind {kind} is not listed; listed are general and S")
    if not i_dn_a > 0:
        raise not_listed("RCD", i_dn_a, rcd_ratings_a(), "A")
    bounds: dict[str, list[Gate]] = {"earliest": [], "latest": []}
    for row in rows:
        # 0.25 A may stand for 5 I_dn of a small rating: the larger of the two is sure
        fixed = row.residual_a if row.to_idn_a is None or i_dn_a <= row.to_idn_a else None
        current = (row.x_idn or 0.0) * i_dn_a
        if row.x_idn is None and fixed is None:
            continue
        gate = Gate(max(current, fixed or 0.0), row.time_s, row.source, row.confirmed)
        bounds[row.bound].append(gate)
    return Gates(**{name: _unhidden(gates) for name, gates in bounds.items()})


def _unhidden(gates: list[Gate]) -> list[Gate]:
    """Of gates with one time keep the one with the largest current."""
    kept: dict[float, Gate] = {}
    for gate in sorted(gates):
        kept[gate.time_s] = gate
    return list(kept.values())


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
    return _opening(_rcd(float(i_dn_a), kind), within_s, f"RCD {i_dn_a:g} A {kind}")


def rcd_ratings_a() -> tuple[float, ...]:
    """Preferred rated residual currents, rising [A].

    References
    ----------
    IEC 61008-1, 5.3.3.
    """
    return tuple(row.rated_residual_a for row in read("rcd_rating", _RcdRating))
