"""The public supply with a piece of its street, and the inverter."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

from islewright.job.gap import Unknown
from islewright.network.alive import fed_lines
from islewright.network.build.boards import bond
from islewright.network.build.joined import joined_lines
from islewright.network.parts import EARTH, Branch, Feed
from islewright.network.places import INVERTER
from islewright.network.supply import SupplyImpedance, not_told, supply_impedance

if TYPE_CHECKING:
    from islewright.network.build.house import House

ANGLE_DEG = {"L1": 0.0, "L2": -120.0, "L3": 120.0}


def public_supply(house: House) -> None:
    """Transformer, a piece of the street, the service up to the origin."""
    parts, profile = house.parts, house.profile
    worst, best = _impedances(house)
    near = float(profile.number("network.street_share"))
    rest = 1 - near
    star = parts.node("transformer", "N")
    for line in house.job.phases:
        street = parts.node("street", line)
        service = parts.node("service", line)
        z = worst.z_l * near, best.z_l * near
        parts.branches.append(
            Branch("public supply", line, "grid", star, street, *z, emf(house, line))
        )
        parts.core(f"service {line}", street, service, worst.z_l * rest, best.z_l * rest)
        origin = parts.node("supply", line)
        parts.contact("main fuse", line, service, origin, house.contact_ohm)
    back = [("N", worst.z_n, best.z_n)]
    if house.job.supply.system_earthing == "TN-S":
        back.append(("PE", worst.z_pe, best.z_pe))
    for conductor, hot, cold in back:
        street = parts.node("street", conductor)
        origin = parts.node("supply", conductor)
        parts.core(f"street {conductor}", star, street, hot * near, cold * near)
        if conductor == "N" and _watched(house):
            service = parts.node("service", conductor)
            parts.contact("main fuse", conductor, service, origin, house.contact_ohm)
            origin = service
        parts.core(f"service {conductor}", street, origin, hot * rest, cold * rest)
    _earths_and_loads(house, star, worst.r_b, best.r_b)


def _watched(house: House) -> bool:
    """Whether the main device surely has a residual part, through which the neutral runs too."""
    supply = house.job.supply
    return supply.gap("main_fuse") is None and supply.main_fuse.has("residual")


def _impedances(house: House) -> tuple[SupplyImpedance, SupplyImpedance]:
    """Worst and best; a stand-in where a loop is missing, which stains every grid state.

    So does a loop that only the reading or only the operator states: the other may be worse.
    """
    asked = not_told(house.job)
    if asked:
        house.lacks("supply", *asked)
    try:
        return (
            supply_impedance(house.job, house.profile, house.parts, worst=True),
            supply_impedance(house.job, house.profile, house.parts, worst=False),
        )
    except Unknown as gap:
        house.lacks("supply", *gap.questions)
        loop = complex(house.profile.number("network.stand_in_loop"))
        stand_in = SupplyImpedance(loop, loop, loop, loop.real)
        return stand_in, stand_in


def _earths_and_loads(house: House, star: int, worst_r_b: float, best_r_b: float) -> None:
    parts, supply = house.parts, house.job.supply
    if supply.system_earthing != "IT":
        parts.core("transformer electrode", star, EARTH, worst_r_b, best_r_b)
    if supply.system_earthing == "TN-C-S":
        ohm = supply.street.figure("pen_electrodes_ohm") if supply.has("street") else None
        if ohm is None:
            ohm = float(house.profile.number("network.pen_electrodes"))
            parts.assume("electrodes of the PEN along the street", f"{ohm:g} Ω", "not stated")
        parts.core("PEN electrodes", parts.node("street", "N"), EARTH, ohm, ohm)
    load = float(house.profile.number("network.street_load"))
    for line in house.job.phases:
        ends = parts.node("street", line), parts.node("street", "N")
        parts.contact("street load", line, *ends, load, kind="street load")


def emf(house: House, line: str) -> complex:
    """Nominal EMF of a line of the public supply [V]."""
    u0 = house.parts.u0_v
    if house.job.supply.form == "split phase":
        return complex(u0 if line == "L1" else -u0)
    return cmath.rect(u0, math.radians(ANGLE_DEG[line]))


def inverter(house: House) -> None:
    """EMFs behind the inverter's impedance, its filter capacitances, its own bond."""
    parts, sheet = house.parts, house.job.inverter
    lines = inverter_lines(house)
    z = complex(_impedance_ohm(house, len(lines)))
    neutral, pe = parts.node(INVERTER, "N"), parts.node(INVERTER, "PE")
    bridged = sheet.output == "single-phase on bridged lines"
    first = parts.node(INVERTER, lines[0])
    for line in lines:
        terminal = parts.node(INVERTER, line)
        if bridged and line != lines[0]:
            parts.contact("bridge", line, first, terminal, house.contact_ohm)
            continue
        own = complex(parts.u0_v) if bridged or len(lines) == 1 else emf(house, line)
        parts.branches.append(Branch(INVERTER, line, "inverter", neutral, terminal, z, z, own))
        _feed(house, line, terminal, neutral, bridged=bridged)
    if sheet.gap("filter_f") is not None:
        house.lacks("filter", sheet.question("filter_f"))
    for conductor in (*lines, "N"):
        parts.capacity(
            f"filter {conductor}",
            parts.node(INVERTER, conductor),
            pe,
            sheet.figure("filter_f") or 0.0,
        )
    if sheet.gap("bond") is not None:
        house.lacks("bond", sheet.question("bond"))
    elif sheet.bond is not None:
        try:
            bond(house, "inverter bond", sheet.bond, INVERTER, INVERTER)
        except Unknown as gap:
            house.lacks("bond", *gap.questions)


def _feed(house: House, line: str, terminal: int, neutral: int, *, bridged: bool) -> None:
    """Rated current of a line, in phase with the public supply, for states in which it feeds."""
    rated = house.job.inverter.figure("rated_va")
    if rated is None or bridged or line not in joined_lines(house.job, INVERTER, island=False):
        return
    phases = len(inverter_lines(house))
    u_line = emf(house, line)
    amps = rated / phases / abs(u_line) * (u_line / abs(u_line))
    house.parts.feeds.append(Feed("inverter", neutral, terminal, amps))


def inverter_lines(house: House) -> tuple[str, ...]:
    """Lines that the inverter feeds; a stand-in where its line is missing, which is noted."""
    _ = house.job.inverter.output  # without it no state can be solved
    try:
        return fed_lines(house.job)
    except Unknown as gap:
        house.lacks("inverter", *gap.questions)
        return ("L1",)


def _impedance_ohm(house: House, phases: int) -> float:
    """Impedance of one phase below its limit [Ω]."""
    sheet, parts = house.job.inverter, house.parts
    stated = sheet.figure("impedance_ohm")
    if stated is not None:
        return stated
    share = float(house.profile.number("network.inverter_impedance_share"))
    rated = sheet.figure("rated_va")
    if rated is None:
        house.lacks("inverter", sheet.question("rated_va"))
        rated = parts.u0_v * phases
    parts.assume(
        "inverter's impedance below its limit",
        f"{share:g} of U_0² / S",
        "the maker's sheet does not state it",
    )
    return share * parts.u0_v**2 / (rated / phases)
