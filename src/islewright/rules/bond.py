"""Chapter: what the bond of neutral and earth stands."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from islewright.findings import Verdict, at_least, at_most
from islewright.job.equipment import Bond
from islewright.network.places import HOUSE_SIDE
from islewright.network.state import Mode
from islewright.network.way import Guard, guards_upstream
from islewright.rules.demand import spread_of
from islewright.rules.energy import largest_fault_current_a, let_through_a2s, told_a2s
from islewright.rules.neutral_switching import bonds_of
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study
from islewright.tables.conductor import k_factor, sizes


@rule(
    "neutral.bond-withstand",
    over="house",
    modes=[Mode.ISLAND],
    title="Contact and conductor of the bond must stand every fault current that may flow in them",
    clauses=["IEC 60364-5-54:2011, 543.1.2", "BS 7671:2018, 543.1.3"],
)
def bond_withstand(study: Study, _here: Here) -> Verdict | None:
    """S ≥ √(I²t) / k; I²t ≤ I_contact² · t_contact

    In the island the inverter's fault current for as long as it gives it. A contact that has
    welded or overlaps with the poles lets the public supply drive through it what a device
    ahead lets through: the conductor must stand that always, the contact where it overlaps.
    """
    found = [v for where, _, bond in bonds_of(study.job) for v in _stands(study, where, bond)]
    return every(sorted(found, key=_used, reverse=True)) if found else None


def _used(verdict: Verdict) -> float:
    """Share of what is allowed that is used, so that of equal demands the tightest is told."""
    parts = verdict.limit, verdict.value
    share = parts[0] / parts[1] if verdict.at_least else parts[1] / parts[0]
    return 0.0 if math.isnan(share) else share


def _stands(study: Study, where: str, bond: Bond) -> Iterator[Verdict]:
    given = study.job.inverter.fault_current
    amps, for_s = float(given.to_earth_a), float(given.for_s)
    island = amps * amps * for_s
    told = f"island: ({amps:g} A)² · {for_s:g} s = {told_a2s(island)}"
    yield _conductor(study, where, bond, island, told)
    yield _contact(study, where, bond, island, told)
    joined = bond.closed == "always" or float(bond.sequence.overlap_s) > 0
    devices = [g for g in guards_upstream(study.job, HOUSE_SIDE, Mode.GRID) if g.role == "device"]
    yield first_way(attempt(partial(_from_grid, study, where, bond, g, joined)) for g in devices)


def _from_grid(study: Study, where: str, bond: Bond, guard: Guard, joined: bool) -> Verdict:  # noqa: FBT001 - partial
    """What the public supply drives through a bond that is closed beside its own joint."""
    guard.must_be_known()
    assert guard.device is not None  # noqa: S101 - the caller takes devices alone
    energy, through = let_through_a2s(guard.device, largest_fault_current_a(study.job))
    told = f"closed beside the public supply: {through} = {told_a2s(energy)}"
    demands = [_conductor(study, where, bond, energy, told)]
    if joined:
        demands.append(_contact(study, where, bond, energy, told))
    return every(demands)


def _conductor(study: Study, where: str, bond: Bond, energy: float, told: str) -> Verdict:
    k = k_factor("Cu", "PVC", use="separate")
    least = math.sqrt(energy) / k
    return at_least(
        float(bond.size_mm2),
        least,
        "mm2",
        spread=spread_of(study.profile, "maker", least),
        because=[told, f"bond in the {where}: S = √({told_a2s(energy)}) / {k:g} = {least:.2f} mm²"],
        remedies=[lambda: _thicker(where, least)],
        confirmed=k.confirmed,
    )


def _thicker(where: str, least: float) -> str | None:
    fits = [size for size in sizes("Cu") if size >= least]
    return f"Get the bond in the {where} with a conductor of {fits[0]:g} mm²." if fits else None


def _contact(study: Study, where: str, bond: Bond, energy: float, told: str) -> Verdict:
    stands = bond.contact_stands
    most = float(stands.current_a) ** 2 * float(stands.for_s)
    return at_most(
        energy,
        most,
        "A2s",
        spread=spread_of(study.profile, "maker", energy),
        because=[
            told,
            f"its contact: ({stands.current_a:g} A)² · {stands.for_s:g} s = {told_a2s(most)}",
        ],
        remedies=[
            lambda: f"Get the bond in the {where} with a contact that stands {told_a2s(energy)}."
        ],
        means="A contact that welds stays closed beside the public supply.",
        confirmed="memory",
    )
