"""Impedance of cores, runs and circuits, hot and cold."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from islewright.job.model import Circuit, Run
from islewright.tables.conductor import (
    limit_temperature_c,
    reactance_ohm_per_km,
    resistance_ohm_per_km,
)


class Pair(NamedTuple):
    """An impedance at the insulation's limit temperature, and at 20 °C [Ω]."""

    hot: complex
    cold: complex


def core_impedance(material: str, insulation: str, size_mm2: float, length_m: float) -> Pair:
    """Impedance of one core.

    Z = ℓ · (r(θ) + j x), r(θ) at the limit of the insulation or at 20 °C

    Parameters
    ----------
    material : "copper" or "aluminium"
    insulation : "PVC" or "XLPE"
    size_mm2 : nominal cross-section [mm²]
    length_m : length, one way [m]

    Raises
    ------
    NotInTable : no such size

    References
    ----------
    IEC 60228:2004; reactance 0.08 mΩ/m by IEC 60364-5-52 Annex G (from memory).
    """
    hot, cold = _per_km(material, insulation, float(size_mm2))
    km = float(length_m) / 1000
    return Pair(hot * km, cold * km)


@cache
def _per_km(material: str, insulation: str, size_mm2: float) -> Pair:
    """The tables' figures for one kind of core [Ω/km]."""
    hot_c = limit_temperature_c(insulation)
    x = 1j * reactance_ohm_per_km(size_mm2)
    return Pair(
        complex(resistance_ohm_per_km(material, size_mm2, theta_c=hot_c) + x),
        complex(resistance_ohm_per_km(material, size_mm2, theta_c=20) + x),
    )


def run_impedance(run: Run) -> Pair:
    """Impedance of an earthing or bonding conductor; it is taken as warm as PVC allows."""
    return core_impedance(run.material, "PVC", run.size_mm2, run.length_m)


def circuit_way(circuit: Circuit, conductor: str) -> Pair:
    """Impedance of one conductor of a circuit, from the device to the far end.

    A ring is its two legs side by side, then its longest spur.

    Raises
    ------
    Unknown : a size, a length or the insulation is not stated
    NotInTable : no such size
    """
    size = circuit.pe_mm2 if conductor == "PE" else circuit.size_mm2
    if size is None:
        return Pair(0j, 0j)
    material, insulation, ring = circuit.material, circuit.insulation, circuit.ring
    if ring is None:
        return core_impedance(material, insulation, size, circuit.length_m)
    first = core_impedance(material, insulation, size, ring.first_leg_m)
    second = core_impedance(material, insulation, size, ring.second_leg_m)
    spur = Pair(0j, 0j)
    if ring.spur_m is not None:
        spur_size = ring.spur_mm2 if ring.spur_mm2 is not None and conductor != "PE" else size
        spur = core_impedance(material, insulation, spur_size, ring.spur_m)
    return Pair(
        _side_by_side(first.hot, second.hot) + spur.hot,
        _side_by_side(first.cold, second.cold) + spur.cold,
    )


def _side_by_side(a: complex, b: complex) -> complex:
    return a * b / (a + b) if a + b else 0j


def circuit_length_m(circuit: Circuit) -> float:
    """Length of cable in a circuit [m]: the run, or both legs of a ring."""
    ring = circuit.ring
    if ring is None:
        return float(circuit.length_m)
    return float(ring.first_leg_m) + float(ring.second_leg_m)
