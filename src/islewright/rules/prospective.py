"""Largest short-circuit currents, as a person can redo them; no rule stands here.

The origin's largest current, then the cables' cold cores in series; what the inverter and
a.c.-coupled PV add is added as it is, without their cables. Contacts and joints count as
nothing, so no current comes out too small.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from islewright.job.gap import Unknown
from islewright.job.loops import known_of
from islewright.job.model import Job
from islewright.job.once import once_a_job
from islewright.network.impedance import core_impedance
from islewright.network.state import Mode
from islewright.network.supply import SupplyImpedance, supply_impedance
from islewright.network.way import cables_to
from islewright.rules.inflow import sources_in_circuits
from islewright.rules.once import once_a_study

if TYPE_CHECKING:
    from islewright.rules.study import Study


class Prospective(NamedTuple):
    """The largest short-circuit current at a place [A], what it may be off, how it comes about."""

    amps: float
    spread: float
    told: tuple[str, ...]


@once_a_study
def largest_at(study: Study, place: str, lines: int) -> Prospective:
    """Largest current at a board or terminal, from every source that can feed it at once.

    I_k = c_max · U_0 / |Z| + I_inverter + I_PV; Z is that of one line where several lines
    can touch, else of line and neutral

    Parameters
    ----------
    lines : lines that reach there

    Raises
    ------
    Unknown : a cable on the way, a source's current or the origin's largest is not stated
    """
    job = study.job
    missing = study.net.parts.missing.get("supply", ())
    if missing:
        raise Unknown(*missing)
    known_of(job.supply, "largest_fault_current_a")  # a loop of today is no maximum
    u_0, c_max = float(job.supply.nominal_voltage_v), float(study.profile.number("loop.c_max"))
    several = lines > 1
    z, named = _origin_ohm(study, several=several), []
    for name, cable in cables_to(job, place, Mode.GRID) or ():
        core = core_impedance(cable.material, cable.insulation, cable.size_mm2, cable.length_m).cold
        z += core if several else 2 * core
        named.append(name)
    grid, (own, told) = c_max * u_0 / abs(z), source_fault_a(job)
    share = float(study.profile.number("spread.loop_reading")) / 100
    what = "one line" if several else "line and neutral"
    behind = f" with {', '.join(named)}, cold" if named else ""
    return Prospective(
        grid + own,
        share * grid,
        (
            f"|Z| = {abs(z):.4f} Ω ({what}: origin{behind})",
            f"c_max · U_0 / |Z| = {c_max:g} · {u_0:g} V / {abs(z):.4f} Ω = {grid:.0f} A",
            *told,
            f"I_k = {grid + own:.0f} A",
        ),
    )


@once_a_study
def _origin(study: Study) -> SupplyImpedance:
    return supply_impedance(study.job, study.profile, study.net.parts, worst=False)


def _origin_ohm(study: Study, *, several: bool) -> complex:
    """One line, or a line and its better way back, up to the origin [Ω]."""
    z = _origin(study)
    if several:
        return z.z_l
    back = [z.z_n, z.z_pe] if study.job.supply.system_earthing == "TN-S" else [z.z_n]
    return z.z_l + min(back, key=abs)


@once_a_job
def source_fault_a(job: Job) -> tuple[float, tuple[str, ...]]:
    """The most that the house's own sources give into a short circuit [A], and its parts.

    Raises
    ------
    Unknown : the maker of the inverter, or nobody of another source, states it

    Notes
    -----
    PV and sources in final circuits count with their rated current: their converters limit it.
    """
    sheet = job.inverter.fault_current
    own = max(float(sheet.between_lines_a), float(sheet.to_earth_a))
    told = [f"I_inverter = {own:g} A"]
    pv = job.pv
    if pv is not None and pv.coupling == "a.c.":
        amps = float(pv.power_w) / float(job.supply.nominal_voltage_v)
        told.append(f"I_PV = {pv.power_w:g} W / {job.supply.nominal_voltage_v:g} V = {amps:.1f} A")
        own += amps
    for name, amps in sources_in_circuits(job).items():
        told.append(f"I of the source in {name} = {amps:g} A")
        own += amps
    return own, tuple(told)


@once_a_study
def least_grid_a(study: Study) -> dict[tuple[str, str], float]:
    """Least current between two live conductors at each end in grid mode, hot [A].

    What flows to earth is a matter of disconnection and of the protective conductor.
    """
    faults = study.grid_faults.faults
    amps = faults.amps.tolist()
    return {
        (place, end): min(amps[first + earthed : first + len(kinds)])
        for place, end, first, kinds, earthed in faults.ports.plan.stretches
        if len(kinds) > earthed
    }
