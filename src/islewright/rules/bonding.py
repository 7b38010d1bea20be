"""Chapter: earthing conductor and main bonding (IEC 60364-5-54, 542.3 and 544)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from islewright.findings import Status, Verdict, at_least
from islewright.job.model import Cable, Job, Run
from islewright.network.state import Mode
from islewright.network.supply import house_earth_ohm
from islewright.rules.energy import largest_fault_current_a, let_through_a2s, told_a2s
from islewright.rules.once import once_a_study
from islewright.rules.protective import (
    ENERGY,
    TABLE,
    at_least_mm2,
    minimum,
    size_by_table,
    ways_by_profile,
)
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study
from islewright.tables.bonding import bonding_pme_mm2
from islewright.tables.conductor import k_factor, material_key, resistance_ohm_per_km
from islewright.tables.figure import Figure
from islewright.tables.profile import NotStated

CONDUCTOR = ("IEC 60364-5-54:2011, 542.3, Table 54.1", "BS 7671:2018, 542.3.1, 544.1.1, Table 54.1")
BONDING = ("IEC 60364-5-54:2011, 544.1", "BS 7671:2018, 544.1.1, Table 54.8")
LINK = ("IEC 60364-5-54:2011, 543.1, Table 54.2", "BS 7671:2018, 543.1, Table 54.7")


@rule(
    "earthing.conductor",
    over="house",
    modes=[Mode.GRID],
    title="The conductor to the electrode must stand soil, fault and what the street sends",
    clauses=CONDUCTOR,
)
def conductor(study: Study, _here: Here) -> Verdict | None:
    """S ≥ 6 mm² copper, 16 mm² with lightning protection; buried: S by the table; on a PEN: S_bond

    On a PEN the profile may ask for the size of main bonding: when the PEN of the street
    opens, the street's load flows through this conductor.
    """
    earthing = study.job.earthing
    electrode = earthing.electrode
    if electrode is None:
        return None
    run = electrode.conductor
    size, metal = float(run.size_mm2), run.material
    with_rods = earthing.lightning_protection == "present"
    condition = "with a lightning protection system" if with_rods else "any"
    demands = [_least(size, f"{condition}", minimum("earthing conductor", condition))]
    if material_key(metal) != "Cu":
        demands = [_not_of_copper()]
    if electrode.laid != "not buried":
        demands.append(_least(size, electrode.laid, minimum("earthing conductor", electrode.laid)))
    if study.job.supply.system_earthing == "TN-C-S" and _pme(study, "earthing.conductor_pme"):
        demands.append(_least(size, "on a PEN, as main bonding", _bond_size(study)[0]))
    return every(demands)


def _least(size: float, why: str, least: Figure) -> Verdict:
    told = "" if why == "any" else f"{why}: "
    order = f"Lay the earthing conductor in {least:g} mm² of copper."
    return at_least_mm2(size, least, [f"{told}S ≥ {least:g} mm²"], lambda: order)


def _not_of_copper() -> Verdict:
    return Verdict(
        status=Status.NOT_MET,
        because=["the earthing conductor is of aluminium, which corrodes at the electrode"],
        remedies=[lambda: "Lay the earthing conductor in copper."],
        confirmed="memory",
    )


@rule(
    "earthing.bonding",
    over="house",
    modes=[Mode.GRID],
    title="Each main bonding conductor must have its least cross-section",
    clauses=BONDING,
)
def bonding(study: Study, _here: Here) -> Verdict | None:
    """S_bond ≥ S / 2, at least 6 mm², 25 mm² are enough; on a PEN by the table where there is one

    S is the largest protective conductor of the house or its earthing conductor, as the
    profile says; the table goes by the operator's neutral.
    """
    bonds = study.job.earthing.main_bonding
    if not bonds:
        return None
    least, because = _bond_size(study)
    return every([_one_bond(name, run, least, because) for name, run in bonds.items()])


def _one_bond(name: str, run: Run, least: Figure, because: list[str]) -> Verdict:
    worth = float(run.size_mm2)
    told = f"{name}: {worth:g} mm² {run.material}"
    if material_key(run.material) == "Al":
        least = _at_least(least * _copper_to_aluminium(), minimum("main bonding", "at least",
                          material="Al"))  # fmt: skip
    order = f"Lay the bonding conductor of {name} in {least:g} mm²."
    return at_least_mm2(worth, least, [*because, told], lambda: order)


def _copper_to_aluminium() -> float:
    """Cross-section of aluminium that conducts as one of copper does."""
    of = 16  # any size of the table that both metals have
    aluminium, copper = (resistance_ohm_per_km(m, of, theta_c=20) for m in ("aluminium", "copper"))
    return float(aluminium / copper)


def _at_least(value: float, least: Figure) -> Figure:
    return Figure(max(value, float(least)), source=least.source, confirmed=least.confirmed)


def _pme(study: Study, key: str) -> bool:
    """Whether the rule set has something of its own for a supply with a PEN."""
    return study.profile.applies(key) and bool(study.profile.text(key))


@once_a_study
def _bond_size(study: Study) -> tuple[Figure, list[str]]:
    """Least main bonding conductor of copper, and how it comes about [mm²]."""
    job = study.job
    if job.supply.system_earthing == "TN-C-S" and _pme(study, "bonding.pme"):
        neutral = float(job.supply.neutral_mm2)
        least = bonding_pme_mm2(neutral)
        return least, [f"operator's neutral {neutral:g} mm²: S ≥ {least:g} mm² by the table"]
    what, of = _half_of(study)
    low, high = minimum("main bonding", "at least"), minimum("main bonding", "need not exceed")
    wanted = min(max(of / 2, float(low)), float(high))
    told = f"{what} {of:g} mm²: S ≥ {of:g} mm² / 2, {low:g} to {high:g} mm²: {wanted:g} mm²"
    return Figure(wanted, source=low.source, confirmed=low.confirmed), [told]


def _half_of(study: Study) -> tuple[str, float]:
    form = study.profile.text("bonding.sizing")
    if form == "largest_pe":
        return max(_protective_sizes(study.job), key=lambda found: found[1])
    if form == "earthing_conductor":
        return _main_earth(study.job)
    raise NotStated(f"bonding.sizing by {form}", study.profile.name)


def _protective_sizes(job: Job) -> Iterator[tuple[str, float]]:
    """Every protective conductor of the house, by name [mm²]."""
    yield "link of the earthing terminal", float(job.earthing.link.size_mm2)
    for kind, parts in (("circuit", job.circuits), ("cable", job.cables)):
        for name, laying in parts.items():
            if not isinstance(laying, Cable) or "PE" in laying.cores:
                yield f"PE of {kind} {name}", float(laying.pe_mm2 or 0.0)


def _main_earth(job: Job) -> tuple[str, float]:
    """The earthing conductor: to the electrode in a TT house, else to the operator's earth."""
    earthing = job.earthing
    if earthing.in_grid_mode == "local electrode" and earthing.electrode is not None:
        return "earthing conductor", float(earthing.electrode.conductor.size_mm2)
    return "earthing conductor", float(earthing.link.size_mm2)


@rule(
    "earthing.link",
    over="house",
    modes=[Mode.GRID],
    title="The link of the earthing terminal must stand every earth fault of the house",
    clauses=LINK,
)
def link(study: Study, _here: Here) -> Verdict | None:
    """S ≥ S by the table for the incoming line, else S ≥ √(I²t) / k

    What the main fuse lets through counts; in a TT house the electrode holds the current down.
    """
    admitted = ways_by_profile(study)
    job = study.job
    incoming = [cable for cable in job.cables.values() if "supply" in (cable.from_, cable.to)]
    if not incoming:
        return None
    run = job.earthing.link
    line = max(float(cable.size_mm2) for cable in incoming)
    return first_way(_link_ways(study, run, line, admitted))


def _link_ways(study: Study, run: Run, line: float, admitted: tuple[str, ...]) -> Iterator[Verdict]:
    least = size_by_table(line, material=run.material)
    size = float(run.size_mm2)
    told = f"S_line = {line:g} mm²: S ≥ {least:g} mm² by the table"
    order = f"Lay the link of the earthing terminal in {least:g} mm²."
    if TABLE in admitted:
        yield at_least_mm2(size, least, [told], lambda: order)
    if ENERGY in admitted:
        by_energy = attempt(partial(_link_by_energy, study, run, size))
        yield by_energy if TABLE in admitted else by_energy.but(remedies=[lambda: order])


def _link_by_energy(study: Study, run: Run, size: float) -> Verdict:
    energy, told = _link_a2s(study)
    k = k_factor(run.material, "PVC", use="separate")
    least = math.sqrt(energy) / k
    return at_least(
        size,
        least,
        "mm2",
        spread=0.0,
        because=[told, f"S = √({told_a2s(energy)}) / {k:g} = {least:.2f} mm²"],
        confirmed=k.confirmed,
    )


def _link_a2s(study: Study) -> tuple[float, str]:
    """I²t through the link until the fault is off [A²s], and how it comes about."""
    job = study.job
    _ = job.earthing.parallel_earths  # where nobody knows of any, the current is not known
    if job.supply.system_earthing != "TT" or not math.isfinite(house_earth_ohm(job)):
        return let_through_a2s(job.supply.main_fuse, largest_fault_current_a(job))
    u_0 = float(job.supply.nominal_voltage_v)
    amps = float(study.profile.number("loop.c_max")) * u_0 / house_earth_ohm(job)
    time_s = float(
        study.profile.disconnection_time_s(
            "TT", u0_v=u_0, final=False, sockets=False, i_n_a=math.inf
        )
    )
    return amps * amps * time_s, f"({amps:.4g} A)² · {time_s:g} s through the electrode"
