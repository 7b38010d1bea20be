"""What a conductor stands, and what a device lets through; no rule stands here."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

from islewright.job.device import Device
from islewright.job.laying import Laying
from islewright.job.model import Circuit
from islewright.tables.conductor import k_factor
from islewright.tables.device import (
    breaking_capacities_a,
    fuse_gg_let_through_a2s,
    fuse_gg_time_s,
    mcb_band_a,
    mcb_let_through_a2s,
    mcb_time_s,
)
from islewright.tables.rows import NotInTable

#: the formula of 434.5.2 holds up to here [s]
LONGEST_S = 5.0


class Stands(NamedTuple):
    """k²S² of the weakest line conductor [A²s], and its arithmetic."""

    a2s: float
    told: str
    confirmed: str


class Energy(NamedTuple):
    """The most that a device lets through [A²s], what it may be off, how it comes about."""

    a2s: float
    spread: float
    told: str


def stands(laying: Laying) -> Stands:
    """k²S² of a circuit or cable; of a ring with its spur the smaller conductor."""
    size = float(laying.size_mm2)
    if isinstance(laying, Circuit) and laying.ring is not None and laying.ring.spur_mm2:
        size = min(size, float(laying.ring.spur_mm2))
    return stands_of(laying.material, laying.insulation, size)


@lru_cache(maxsize=256)
def stands_of(material: str, insulation: str, size: float) -> Stands:
    """k²S² of a core [A²s]."""
    k = k_factor(material, insulation, size_mm2=size)
    a2s = (float(k) * size) ** 2
    return Stands(a2s, f"k² · S² = {k:g}² · {size:g}² = {a2s:.0f} A²s", k.confirmed)


def let_through(device: Device, amps: float, share: float) -> tuple[Energy, ...]:
    """What bounds the energy at a current, the least first; none where nothing is known.

    Parameters
    ----------
    share : what the current may be off, over it [-]
    """
    stated = device.let_through_a2s
    kind = int(device.energy_class) if device.has("energy_class") else 0
    by_maker = None if stated is None else (float(stated), stated.spread or 0.0)
    return _energies((device.curve, float(device.i_n_a), kind), amps, share, by_maker)


@lru_cache(maxsize=512)
def _energies(
    made: tuple[str, float, int], amps: float, share: float, by_maker: tuple[float, float] | None
) -> tuple[Energy, ...]:
    """The same for a kind of device; many of a board are alike."""
    curve, i_n, kind = made
    name = f"gG {i_n:g} A" if curve == "gG" else f"{curve}{i_n:g}"
    found = list(_bounds(curve, i_n, kind, amps, share))
    latest = _latest_s(curve, i_n, amps * (1 - share))
    if math.isfinite(latest):
        a2s = amps * amps * latest
        told = f"I² · t = ({amps:.0f} A)² · {latest:g} s = {a2s:.0f} A²s ({name})"
        found.append(Energy(a2s, 2 * share * a2s, told))
    if by_maker is not None:
        found.append(Energy(*by_maker, f"I²t = {by_maker[0]:.0f} A²s ({name}, its maker)"))
    return tuple(sorted(found, key=lambda each: each.a2s + each.spread))


def _latest_s(curve: str, i_n: float, amps: float) -> float:
    return (fuse_gg_time_s(i_n, amps) if curve == "gG" else mcb_time_s(curve, i_n, amps))[1]


def _bounds(curve: str, i_n: float, kind: int, amps: float, share: float) -> tuple[Energy, ...]:
    """What the standards promise of a device that opens at once at this current.

    Of a breaker the row of the least breaking capacity that reaches the current, as handbooks
    read the table; of a fuse its largest operating value.
    """
    if curve == "gG":
        try:
            a2s = float(fuse_gg_let_through_a2s(i_n, amps * (1 - share)))
        except NotInTable:
            return ()
        return (Energy(a2s, 0.0, f"I²t ≤ {a2s:.0f} A²s (gG {i_n:g} A)"),)
    if mcb_band_a(curve, i_n)[1] > amps * (1 - share):
        return ()  # it may trip by heat, which takes longer and lets through more
    for reach in breaking_capacities_a():
        try:
            a2s = float(mcb_let_through_a2s(curve, i_n, reach, energy_class=kind))
        except NotInTable:
            continue
        if reach >= amps * (1 + share):
            told = f"I²t ≤ {a2s:.0f} A²s (class {kind}, {curve}{i_n:g}, up to {reach:g} A)"
            return (Energy(a2s, 0.0, told),)
    return ()
