"""Conductors: resistance, temperature, adiabatic factor, size of the protective conductor."""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable, not_listed, read

__all__ = [
    "adiabatic_size_mm2",
    "fault_temperature_c",
    "k_factor",
    "k_from_temperatures",
    "limit_temperature_c",
    "material_key",
    "protective_minimum_mm2",
    "protective_size_mm2",
    "reactance_ohm_per_km",
    "resistance_ohm_per_km",
    "sizes",
    "temperature_factor",
]

_MATERIAL = {"copper": "Cu", "aluminium": "Al", "aluminum": "Al", "steel": "Fe", "lead": "Pb"}
_INSULATION = {"EPR": "XLPE", "XLPE/EPR": "XLPE"}
REFERENCE_C = 20.0


class _Resistance(NamedTuple):
    material: str
    conductor_class: int
    size_mm2: float
    r20_ohm_per_km: float
    source: str
    confirmed: str


class _Material(NamedTuple):
    material: str
    quantity: str
    value: float
    unit: str
    source: str
    confirmed: str


class _Reactance(NamedTuple):
    arrangement: str
    x_ohm_per_km: float
    source: str
    confirmed: str


class _Insulation(NamedTuple):
    insulation: str
    limit_c: float
    fault_limit_c: float
    source: str
    confirmed: str


class _K(NamedTuple):
    use: str
    insulation: str
    material: str
    above_mm2: float
    to_mm2: float | None
    initial_c: float
    final_c: float
    k: float
    source: str
    confirmed: str


class _ProtectiveSize(NamedTuple):
    above_mm2: float
    to_mm2: float | None
    share_of_line: float | None
    size_mm2: float | None
    source: str
    confirmed: str


class _ProtectiveMinimum(NamedTuple):
    item: str
    condition: str
    material: str
    size_mm2: float
    source: str
    confirmed: str


def material_key(material: str) -> str:
    """Name a conductor material as the tables do: "copper" and "Cu" both give "Cu"."""
    return _MATERIAL.get(material, material)


def insulation_key(insulation: str) -> str:
    """Name an insulation as the tables do: EPR has the columns of XLPE."""
    return _INSULATION.get(insulation, insulation)


@cache
def _resistances(material: str, conductor_class: int) -> dict[float, _Resistance]:
    rows = read("conductor_resistance", _Resistance)
    found = {
        row.size_mm2: row
        for row in rows
        if row.material == material and row.conductor_class == conductor_class
    }
    if not found:
        listed = sorted({f"{row.material} class {row.conductor_class}" for row in rows})
        raise NotInTable(
            f"conductor resistance: {material} class {conductor_class} is not listed; "
            f"listed are {', '.join(listed)}"
        )
    return found


def sizes(material: str, *, conductor_class: int = 2) -> tuple[float, ...]:
    """List the standard sizes of a conductor.

    Parameters
    ----------
    material : "Cu" or "Al" (or "copper", "aluminium")
    conductor_class : 1 solid, 2 stranded, 5 flexible

    Returns
    -------
    nominal cross-sections, rising [mm²]

    References
    ----------
    IEC 60228:2004, Tables 1 to 3.
    """
    return tuple(sorted(_resistances(material_key(material), conductor_class)))


def resistance_ohm_per_km(
    material: str, size_mm2: float, *, theta_c: float, conductor_class: int = 2
) -> Figure:
    """Resistance of one core, per length, at its temperature.

    r = r₂₀ · [1 + α₂₀ · (θ - 20 °C)]

    Parameters
    ----------
    material : "Cu" or "Al" (or "copper", "aluminium")
    size_mm2 : nominal cross-section, one of the table's sizes [mm²]
    theta_c : conductor temperature θ [°C]
    conductor_class : 1 solid, 2 stranded, 5 flexible; fixed wiring is 1 or 2, which the
        table gives the same figures up to 150 mm²

    Returns
    -------
    r [Ω/km]; the table gives the largest value that the standard allows

    Raises
    ------
    NotInTable : no such material, class or size; the message names the neighbours

    References
    ----------
    r₂₀: IEC 60228:2004, Tables 1 to 3. α₂₀: IEC 60287-1-1 (from memory).

    >>> round(resistance_ohm_per_km("Cu", 6, theta_c=70) * 25 / 1000, 4)
    0.0921
    """
    rows = _resistances(material_key(material), conductor_class)
    row = rows.get(size_mm2)
    if row is None:
        raise not_listed(f"{material} conductor, class {conductor_class}", size_mm2, rows, "mm²")
    factor = temperature_factor(material, theta_c)
    return Figure(row.r20_ohm_per_km * factor, source=row.source, confirmed=row.confirmed)


@cache
def _constant(material: str, quantity: str) -> _Material:
    rows: tuple[_Material, ...] = read("conductor_material", _Material)
    for row in rows:
        if row.material == material_key(material) and row.quantity == quantity:
            return row
    listed = sorted({row.material for row in rows if row.quantity == quantity})
    raise NotInTable(f"{quantity} of {material} is not listed; listed are {', '.join(listed)}")


def temperature_factor(material: str, theta_c: float) -> float:
    """Resistance at θ over that at 20 °C.

    1 + α₂₀ · (θ - 20 °C)

    Parameters
    ----------
    material : "Cu", "Al" or "Fe" (or "copper", "aluminium", "steel")
    theta_c : conductor temperature θ [°C]; a float, or an array as the second argument of
        plain arithmetic

    Returns
    -------
    the factor [-], in the shape of `theta_c`

    Raises
    ------
    NotInTable : no such material

    Notes
    -----
    Trade tables round the coefficient to 0.004 1/K and print 1.20 at 70 °C, where this
    gives 1.197.

    References
    ----------
    α₂₀: IEC 60287-1-1 (from memory).
    """
    return 1 + _constant(material, "alpha_20").value * (theta_c - REFERENCE_C)


def reactance_ohm_per_km(size_mm2: float) -> Figure:
    """Reactance of one core of a cable, per length, where nothing better is known.

    Parameters
    ----------
    size_mm2 : nominal cross-section; one figure holds for every standard size [mm²]

    Returns
    -------
    x at 50 Hz [Ω/km]; its spread reaches the nearer end of the handbook range

    Raises
    ------
    NotInTable : no such size

    References
    ----------
    IEC 60364-5-52:2009, Annex G (from memory).
    """
    if size_mm2 not in sizes("Cu"):
        raise not_listed("conductor", size_mm2, sizes("Cu"), "mm²")
    rows = read("conductor_reactance", _Reactance)
    usual = rows[0]
    spread = min(abs(row.x_ohm_per_km - usual.x_ohm_per_km) for row in rows[1:])
    return Figure(usual.x_ohm_per_km, source=usual.source, confirmed=usual.confirmed, spread=spread)


@cache
def _insulation(insulation: str) -> _Insulation:
    rows: tuple[_Insulation, ...] = read("insulation", _Insulation)
    for row in rows:
        if row.insulation == insulation_key(insulation):
            return row
    listed = ", ".join(row.insulation for row in rows)
    raise NotInTable(f"insulation: {insulation} is not listed; listed are {listed}")


def limit_temperature_c(insulation: str) -> Figure:
    """Highest conductor temperature in service: 70 °C for PVC, 90 °C for XLPE [°C].

    Raises
    ------
    NotInTable : no such insulation

    References
    ----------
    IEC 60364-4-43, Table 43A (initial temperature).
    """
    row = _insulation(insulation)
    return Figure(row.limit_c, source=row.source, confirmed=row.confirmed)


def fault_temperature_c(insulation: str) -> Figure:
    """Highest conductor temperature at the end of a fault of up to 5 s [°C].

    Raises
    ------
    NotInTable : no such insulation

    References
    ----------
    IEC 60364-4-43, Table 43A (final temperature).
    """
    row = _insulation(insulation)
    return Figure(row.fault_limit_c, source=row.source, confirmed=row.confirmed)


def k_factor(material: str, insulation: str, *, use: str = "core", size_mm2: float = 0.0) -> Figure:
    """Adiabatic factor k in S = √(I²t) / k.

    Parameters
    ----------
    material : "Cu", "Al", "Fe" or "Pb"
    insulation : for a core "PVC", "XLPE", "rubber 60" ...; for a bare conductor the
        condition "normal", "fire risk", "restricted area"
    use : "core" (live, or protective within a cable or bunched), "separate", "touching
        sheath", "metallic layer", "bare", "conduit"
    size_mm2 : nominal cross-section; PVC has a lower k above 300 mm² [mm²]

    Returns
    -------
    k [A √s / mm²]

    Raises
    ------
    NotInTable : no such row; the message lists the insulations of that use

    References
    ----------
    IEC 60364-4-43, Table 43A; IEC 60364-5-54:2011, Tables A.54.2 to A.54.6.
    """
    rows = [row for row in read("conductor_k", _K) if row.use == use]
    for row in rows:
        if (row.material, row.insulation) == (material_key(material), insulation_key(insulation)):
            top = math.inf if row.to_mm2 is None else row.to_mm2
            if row.above_mm2 < max(size_mm2, 0.1) <= top:
                return Figure(row.k, source=row.source, confirmed=row.confirmed)
    listed = sorted({f"{row.material} {row.insulation}" for row in rows})
    raise NotInTable(
        f'k, use "{use}": {material} {insulation} is not listed; '
        f"listed are {', '.join(listed) or 'other uses'}"
    )


def k_from_temperatures(material: str, *, initial_c: float, final_c: float) -> float:
    """Adiabatic factor k from the rise that a conductor may take.

    k = √[ Q_c · (β + 20 °C) / ρ₂₀ · ln(1 + (θ_f - θ_i) / (β + θ_i)) ]

    Parameters
    ----------
    material : "Cu", "Al", "Fe" or "Pb"
    initial_c : conductor temperature when the fault begins θ_i [°C]
    final_c : conductor temperature allowed when it ends θ_f [°C]

    Returns
    -------
    k [A √s / mm²]

    Raises
    ------
    NotInTable : no constants for that material

    References
    ----------
    IEC 60364-5-54:2011, Annex A; constants Table A.54.1 (from memory).

    >>> round(k_from_temperatures("Cu", initial_c=70, final_c=160))
    115
    """
    beta = _constant(material, "theta_zero").value
    heat = _constant(material, "heat_capacity").value
    rho = _constant(material, "rho_20").value
    rise = math.log1p((final_c - initial_c) / (beta + initial_c))
    return math.sqrt(heat * (beta + REFERENCE_C) / rho * rise)


def adiabatic_size_mm2(i_a: float, time_s: float, k: float) -> float:
    """Least cross-section that stands a fault.

    S = √(I² · t) / k

    Parameters
    ----------
    i_a : fault current, r.m.s. [A]
    time_s : time until it is cut off, at most 5 s [s]
    k : adiabatic factor [A √s / mm²]

    Returns
    -------
    S [mm²]

    References
    ----------
    IEC 60364-5-54:2011, 543.1.2.
    """
    return math.sqrt(i_a * i_a * time_s) / k


def protective_size_mm2(line_mm2: float, *, material: str = "Cu") -> Figure:
    """Protective conductor that needs no calculation, of the line conductor's material.

    Parameters
    ----------
    line_mm2 : line conductor [mm²]
    material : "Cu" or "Al", for the next standard size up

    Returns
    -------
    least cross-section by the table [mm²]

    Raises
    ------
    NotInTable : the half of the line conductor is above the largest standard size

    References
    ----------
    IEC 60364-5-54:2011, Table 54.2.

    >>> float(protective_size_mm2(50))
    25.0
    """
    for row in read("protective_size", _ProtectiveSize):
        if row.above_mm2 < line_mm2 <= (math.inf if row.to_mm2 is None else row.to_mm2):
            wanted = (
                row.size_mm2 if row.size_mm2 is not None else line_mm2 * (row.share_of_line or 1)
            )
            if row.share_of_line is not None and row.share_of_line < 1:
                wanted = _next_size(wanted, material)
            return Figure(wanted, source=row.source, confirmed=row.confirmed)
    raise NotInTable(f"protective conductor: no row for a line conductor of {line_mm2:g} mm²")


def _next_size(wanted_mm2: float, material: str) -> float:
    for size in sizes(material):
        if size >= wanted_mm2:
            return size
    raise not_listed(f"{material} conductor", wanted_mm2, sizes(material), "mm²")


def protective_minimum_mm2(item: str, condition: str, *, material: str = "Cu") -> Figure:
    """Least (or for "need not exceed" largest needed) size of a conductor for earthing.

    Parameters
    ----------
    item : "separate protective conductor", "PEN conductor", "earthing conductor", "main
        bonding", "supplementary bonding", "protective conductor current above 10 mA"
    condition : as the table words it, such as "mechanically protected"
    material : "Cu", "Al" or "Fe"

    Returns
    -------
    cross-section [mm²]

    Raises
    ------
    NotInTable : no such row; the message lists the conditions of that item

    References
    ----------
    IEC 60364-5-54:2011, 542.3, 543.1.3, 543.4.1, 543.7, 544.
    """
    rows = [row for row in read("protective_minimum", _ProtectiveMinimum) if row.item == item]
    for row in rows:
        if (row.condition, row.material) == (condition, material_key(material)):
            return Figure(row.size_mm2, source=row.source, confirmed=row.confirmed)
    listed = sorted({f"{row.material} {row.condition}" for row in rows})
    raise NotInTable(
        f"{item}: {material} {condition} is not listed; listed are {', '.join(listed) or 'none'}"
    )
