"""Current-carrying capacity of cables and its correction factors.

Between the rows of a table the value on the safe side is taken, and said so.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache
from typing import NamedTuple

from islewright.tables.conductor import insulation_key, limit_temperature_c, material_key
from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable, not_listed, read

__all__ = [
    "ambient_factor",
    "ambient_law",
    "ampacity_a",
    "ampacity_sizes",
    "arrangements",
    "grouping_factor",
    "harmonic_factor",
    "insulation_factor",
    "methods",
    "reference_ambient_c",
    "soil_factor",
]


class _Ampacity(NamedTuple):
    method: str
    insulation: str
    material: str
    loaded: int
    size_mm2: float
    current_a: float
    table: str
    standing: str
    source: str
    confirmed: str


class _Ambient(NamedTuple):
    place: str
    insulation: str
    temperature_c: float
    reference_c: float
    factor: float
    source: str
    confirmed: str


class _Soil(NamedTuple):
    method: str
    resistivity_k_m_per_w: float
    factor: float
    source: str
    confirmed: str


class _Surrounded(NamedTuple):
    length_mm: float
    factor: float
    source: str
    confirmed: str


class _Harmonic(NamedTuple):
    above_percent: float
    to_percent: float | None
    governs: str
    factor: float
    source: str
    confirmed: str


class _Grouping(NamedTuple):
    table: str
    arrangement: str
    spacing: str
    count_from: int
    count_to: float | None
    factor: float
    standing: str
    source: str
    confirmed: str


_Column = tuple[str, str, str, int]


@cache
def _ampacities() -> dict[_Column, dict[float, Figure]]:
    """Columns of the tables; where pages disagree, the difference is the spread."""
    rows = read("ampacity", _Ampacity)
    others = {
        (row.method, row.insulation, row.material, row.loaded, row.size_mm2): row.current_a
        for row in rows
        if row.standing == "disagrees"
    }
    columns: dict[_Column, dict[float, Figure]] = {}
    for row in rows:
        if row.standing == "used":
            column = (row.method, row.insulation, row.material, row.loaded)
            other = others.get((*column, row.size_mm2), row.current_a)
            columns.setdefault(column, {})[row.size_mm2] = Figure(
                row.current_a,
                source=row.source,
                confirmed=row.confirmed,
                spread=abs(other - row.current_a),
            )
    return columns


def _column(method: str, insulation: str, material: str, loaded: int) -> dict[float, Figure]:
    key = (method, insulation_key(insulation), material_key(material), loaded)
    column = _ampacities().get(key)
    if column is None:
        same = sorted(
            f"{m} {i} {loaded} loaded" for w, i, m, loaded in _ampacities() if w == method
        )
        known = f"of this method: {', '.join(same)}" if same else f"methods: {', '.join(methods())}"
        raise NotInTable(
            f"current-carrying capacity: method {method}, {material} {insulation} with "
            f"{loaded} loaded conductors is not listed; listed {known}"
        )
    return column


def methods() -> tuple[str, ...]:
    """Reference methods of installation that have a column: "A1", "A2", "B1" ... ."""
    return tuple(dict.fromkeys(column[0] for column in _ampacities()))


def ampacity_a(method: str, insulation: str, material: str, loaded: int, size_mm2: float) -> Figure:
    """Current-carrying capacity at the reference ambient temperature, one circuit alone.

    Parameters
    ----------
    method : "A1", "A2", "B1", "B2", "C", "D1", "D2", "E", "F", "F_flat", "F_trefoil",
        "G_horizontal", "G_vertical"; "D_1999" is the one column that D had before 2009
    insulation : "PVC" (70 °C) or "XLPE" (90 °C, EPR too)
    material : "Cu" or "Al" (or "copper", "aluminium")
    loaded : loaded conductors, 2 or 3
    size_mm2 : nominal cross-section [mm²]

    Returns
    -------
    I_z0 [A] in air of 30 °C or ground of 20 °C and 2.5 K·m/W

    Raises
    ------
    NotInTable : no such column or size; the message names the neighbours

    References
    ----------
    IEC 60364-5-52:2009, Tables B.52.2 to B.52.5 and B.52.10 to B.52.13.

    >>> float(ampacity_a("C", "PVC", "Cu", 2, 2.5))
    27.0
    """
    column = _column(method, insulation, material, loaded)
    figure = column.get(size_mm2)
    if figure is None:
        raise not_listed(f"method {method}, {material} {insulation}", size_mm2, column, "mm²")
    return figure


def ampacity_sizes(method: str, insulation: str, material: str, loaded: int) -> tuple[float, ...]:
    """Sizes that a column lists, rising [mm²].

    Raises
    ------
    NotInTable : no such column
    """
    return tuple(sorted(_column(method, insulation, material, loaded)))


@cache
def _ambients(place: str, insulation: str) -> tuple[_Ambient, ...]:
    rows = read("factor_ambient", _Ambient)
    found = [row for row in rows if (row.place, row.insulation) == (place, insulation)]
    if not found:
        listed = sorted({row.insulation for row in rows})
        raise NotInTable(
            f"ambient factor: {insulation} is not listed; listed are {', '.join(listed)}"
        )
    return tuple(sorted(found, key=lambda row: row.temperature_c))


def reference_ambient_c(*, buried: bool = False) -> Figure:
    """Ambient temperature at which the capacities are stated: air 30 °C, ground 20 °C."""
    row = _ambients("ground" if buried else "air", "PVC")[0]
    return Figure(row.reference_c, source=row.source, confirmed=row.confirmed)


def ambient_factor(insulation: str, ambient_c: float, *, buried: bool = False) -> Figure:
    """Correction of the capacity for the temperature of the air or the ground.

    Parameters
    ----------
    insulation : "PVC" or "XLPE" (EPR too)
    ambient_c : temperature of the air, or of the ground [°C]
    buried : whether the cable lies in the ground (methods D)

    Returns
    -------
    factor [-]; the printed one at a row, on a straight line between rows, which lies
    below the law of `ambient_law` and so on the safe side; below the coldest row that row's

    Raises
    ------
    NotInTable : warmer than the last row; the message names it

    References
    ----------
    IEC 60364-5-52:2009, Tables B.52.14 and B.52.15.

    >>> float(ambient_factor("PVC", 40))
    0.87
    """
    rows = _ambients("ground" if buried else "air", insulation_key(insulation))
    upper = next((row for row in rows if row.temperature_c >= ambient_c), None)
    if upper is None:
        known = (row.temperature_c for row in rows)
        raise not_listed(f"ambient factor, {insulation}", ambient_c, known, "°C")
    lower = rows[max(0, rows.index(upper) - 1)]
    if upper.temperature_c == ambient_c or lower is upper:
        return Figure(upper.factor, source=upper.source, confirmed=upper.confirmed)
    share = (ambient_c - lower.temperature_c) / (upper.temperature_c - lower.temperature_c)
    value = lower.factor + share * (upper.factor - lower.factor)
    source = f"{upper.source}, between {lower.temperature_c:g} °C and {upper.temperature_c:g} °C"
    return Figure(value, source=source, confirmed=upper.confirmed)


def ambient_law(insulation: str, ambient_c: float, *, reference_c: float) -> float:
    """Correction for the ambient temperature as the heat balance gives it.

    √[ (θ_limit - θ_ambient) / (θ_limit - θ_reference) ]

    For an insulation that the printed tables leave out, and to prove those tables.

    Parameters
    ----------
    insulation : as `conductor.limit_temperature_c` knows it
    ambient_c : ambient temperature, not above the insulation's limit [°C]
    reference_c : temperature at which the capacity is stated [°C]

    Returns
    -------
    factor [-]

    Raises
    ------
    NotInTable : no such insulation, or warmer than its limit

    References
    ----------
    IEC 60287-1-1, heat balance without losses that depend on temperature.
    """
    limit = limit_temperature_c(insulation)
    if ambient_c > limit:
        raise NotInTable(f"{insulation}: {ambient_c:g} °C is above its limit of {limit:g} °C")
    return math.sqrt((limit - ambient_c) / (limit - reference_c))


def soil_factor(method: str, resistivity_k_m_per_w: float) -> Figure:
    """Correction of the capacity of buried cables for the soil.

    Parameters
    ----------
    method : "D1" (in ducts) or "D2" (direct)
    resistivity_k_m_per_w : thermal resistivity of the soil [K m/W]

    Returns
    -------
    factor [-]: that of the next drier row, for a straight line would lie above the curve

    Raises
    ------
    NotInTable : other method, or drier than the last row

    References
    ----------
    IEC 60364-5-52:2009, Table B.52.16.
    """
    rows = [row for row in read("factor_soil", _Soil) if row.method == method]
    if not rows:
        raise NotInTable(f"soil factor: method {method} is not listed; listed are D1 and D2")
    for row in sorted(rows, key=lambda row: row.resistivity_k_m_per_w):
        if row.resistivity_k_m_per_w >= resistivity_k_m_per_w:
            return Figure(row.factor, source=row.source, confirmed=row.confirmed)
    known = (row.resistivity_k_m_per_w for row in rows)
    raise not_listed(f"soil factor, {method}", resistivity_k_m_per_w, known, "K m/W")


@cache
def _groupings(arrangement: str, spacing: str) -> tuple[_Grouping, ...]:
    rows: tuple[_Grouping, ...] = read("factor_grouping", _Grouping)
    return tuple(row for row in rows if (row.arrangement, row.spacing) == (arrangement, spacing))


def arrangements() -> dict[str, tuple[str, ...]]:
    """Arrangements that have a grouping factor, each with its spacings ("" for none)."""
    known: dict[str, dict[str, None]] = {}
    for row in read("factor_grouping", _Grouping):
        known.setdefault(row.arrangement, {})[row.spacing] = None
    return {arrangement: tuple(spacings) for arrangement, spacings in known.items()}


def grouping_factor(arrangement: str, count: int, *, spacing: str = "") -> Figure:
    """Correction of the capacity for circuits or cables that lie together.

    Parameters
    ----------
    arrangement : "bunched", "wall", "ceiling", "perforated tray", "ladder", "in ground",
        "ducts, multi-core", "ducts, single-core"
    count : circuits or multi-core cables, this one included
    spacing : for buried ones "touching", "one diameter", "0.125 m", "0.25 m", "0.5 m",
        "1.0 m", as far as the table has it

    Returns
    -------
    factor [-]; between rows that of the row with more circuits. Where two pages print
    different figures the difference is the spread.

    Raises
    ------
    NotInTable : no such arrangement, spacing or count

    References
    ----------
    IEC 60364-5-52:2009, Tables B.52.17 to B.52.19.

    >>> float(grouping_factor("bunched", 10))
    0.5
    """
    rows = _groupings(arrangement, spacing)
    if not rows:
        listed = ", ".join(
            " ".join(filter(None, (name, "/".join(filter(None, spacings)))))
            for name, spacings in arrangements().items()
        )
        raise NotInTable(
            f"grouping factor: {arrangement} {spacing}".rstrip()
            + f" is not listed; listed: {listed}"
        )
    hits = [row for row in rows if row.count_from <= count <= (row.count_to or math.inf)]
    used = next((row for row in hits if row.standing == "used"), None)
    if used is None:
        raise not_listed(
            f"grouping factor, {arrangement}", count, (r.count_to or 0 for r in rows), ""
        )
    spread = max(abs(row.factor - used.factor) for row in hits)
    return Figure(used.factor, source=used.source, confirmed=used.confirmed, spread=spread)


def insulation_factor(length_m: float) -> Figure:
    """Correction of the capacity by method C where thermal insulation surrounds the cable.

    Parameters
    ----------
    length_m : length over which it touches the cable all round, above 0 [m]

    Returns
    -------
    factor [-]; between rows that of the longer length, from 0.5 m on the last

    References
    ----------
    BS 7671:2018, 523.9 and Table 52.2 (from memory); IEC 60364-5-52 prints no such table.

    >>> float(insulation_factor(0.3))
    0.51
    """
    rows: tuple[_Surrounded, ...] = read("factor_insulation", _Surrounded)
    row = next((row for row in rows if row.length_mm >= 1000 * length_m), rows[-1])
    return Figure(row.factor, source=row.source, confirmed=row.confirmed)


@lru_cache(maxsize=256)
def harmonic_factor(share_percent: float) -> tuple[Figure, str]:
    """Correction for the third harmonic in a cable with three lines and a neutral.

    Parameters
    ----------
    share_percent : third harmonic of the line current, over the line current [%]

    Returns
    -------
    factor [-], and which current the cable is sized by: "line", or from 33 % on "neutral"

    References
    ----------
    IEC 60364-5-52:2009, Annex E, Table E.52.1 (from memory).

    >>> harmonic_factor(40)[1]
    'neutral'
    """
    rows: tuple[_Harmonic, ...] = read("factor_harmonic", _Harmonic)
    row = next(row for row in rows if share_percent <= (row.to_percent or math.inf))
    return Figure(row.factor, source=row.source, confirmed=row.confirmed), row.governs
