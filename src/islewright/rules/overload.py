"""Chapter: protection against overload (IEC 60364-4-43, 433; capacities by 5-52)."""

from __future__ import annotations

import math

from islewright.findings import Verdict, at_most
from islewright.job.device import Device
from islewright.job.laying import Laying
from islewright.job.model import Cable, Job
from islewright.network.state import Mode
from islewright.rules.capacity import (
    CAPACITY,
    CAPACITY_BS,
    capacity,
    larger_cable,
    loaded_conductors,
    loaded_in,
    weakest,
)
from islewright.rules.demand import (
    SOCKETS,
    boards_behind,
    design_current_a,
    line_demand_a,
    lines_share,
    protecting_device,
    spread_of,
)
from islewright.rules.forms import form_of
from islewright.rules.harmonics import (
    Harmonic,
    cable_harmonic,
    circuit_harmonic,
    with_harmonic,
)
from islewright.rules.mend import next_device, smaller_device
from islewright.rules.registry import Here, rule
from islewright.rules.ring import leg_carries_all, ring_rated
from islewright.rules.study import Study
from islewright.tables.device import fuse_conventional_a, mcb_conventional_a
from islewright.tables.figure import Figure

OVERLOAD_BS = "BS 7671:2018, 433.1.1"
HARMONIC = "IEC 60364-5-52:2009, 523.6.3, Annex E; IEC 60364-4-43:2008, 431.2.3 (from memory)"
HARMONIC_GB = "BS 7671:2018, 431.2.3, 523.6.3, Appendix 4, 5.5 (from memory)"
#: what a source gives for less than this does not warm a cable through [s]
MINUTE_S = 60.0
#: loaded conductors of a cable, and the third harmonic in it
Laid = tuple[int, Harmonic]


@rule(
    "overload.design-current",
    over="circuits",
    modes=[Mode.GRID],
    title="The device must carry the design current",
    clauses=["IEC 60364-4-43:2008, 433.1 (1) (from memory)", f"{OVERLOAD_BS} (i) (from memory)"],
)
def design_current(study: Study, here: Here) -> Verdict:
    """I_b ≤ I_n

    A device that carries less than the load draws trips in ordinary use, sooner or later.
    """
    job = study.job
    circuit = job.circuits[here.name]
    i_b, told = design_current_a(job, circuit)
    i_n = float(circuit.device.i_n_a)
    # of sockets I_b is I_n itself
    spread = 0.0 if circuit.use in SOCKETS else spread_of(study.profile, "load_power", i_b)
    volts = float(job.supply.nominal_voltage_v) * lines_share(job, circuit)
    return at_most(
        i_b,
        i_n,
        "A",
        spread=spread,
        because=lambda: [told, f"I_n = {i_n:g} A"],
        remedies=[
            lambda: next_device(circuit.device, i_b + spread),
            lambda: f"Take {(i_b + spread - i_n) * volts:.0f} VA off this circuit.",
        ],
        confirmed="memory",
    )


@rule(
    "overload.circuit-cable",
    over="circuits",
    modes=[Mode.GRID],
    title="The cable must carry the rated current of its device",
    clauses=[
        "IEC 60364-4-43:2008, 433.1 (2) (from memory)",
        CAPACITY,
        f"{OVERLOAD_BS} (ii); for rings 433.1.204 (from memory)",
        CAPACITY_BS,
    ],
)
def circuit_cable(study: Study, here: Here) -> Verdict:
    """I_n ≤ I_z

    The device is what keeps the cable from carrying more than it may for long. Of a ring
    final circuit its own terms are judged, where the rule set has any.
    """
    circuit = study.job.circuits[here.name]
    job = study.job
    if circuit.ring is not None and not leg_carries_all(job, circuit):
        return ring_rated(study, circuit)
    laid = loaded_in(job, circuit), circuit_harmonic(job, circuit)
    return _rated(study, here, circuit, circuit.device, laid)


def _rated(study: Study, here: Here, laying: Laying, device: Device, laid: Laid) -> Verdict:
    loaded, harmonic = laid
    i_z, told = with_harmonic(capacity(laying, loaded), harmonic)
    i_n = float(device.i_n_a)
    return at_most(
        i_n,
        float(i_z),
        "A",
        spread=i_z.spread or 0.0,
        because=lambda: [f"I_n = {i_n:g} A", *told],
        remedies=[
            lambda: larger_cable(laying, loaded, i_n / harmonic.factor),
            lambda: smaller_device(study, here, device, _least_a(i_z), lambda rated: rated),
        ],
        confirmed=i_z.confirmed,
        means="The device does not protect this cable against overload." if i_n > i_z else "",
    )


def _least_a(i_z: Figure) -> float:
    """I_z at the warmest that is stated [A]."""
    return i_z - (i_z.spread or 0.0)


@rule(
    "overload.circuit-conventional",
    over="circuits",
    modes=[Mode.GRID],
    title="The device must trip before the cable is harmed by a small overload",
    clauses=[
        "IEC 60364-4-43:2008, 433.1 (3) (from memory)",
        CAPACITY,
        f"{OVERLOAD_BS} (iii), 433.1.201 (from memory)",
        CAPACITY_BS,
    ],
)
def circuit_conventional(study: Study, here: Here) -> Verdict | None:
    """I_2 ≤ 1.45 · I_z

    Below I_2 the device may stay closed for an hour or more; so long the cable must stand it.
    Where the rule set takes I_n ≤ I_z to be enough for a fuse, of fuses nothing is said.
    """
    circuit = study.job.circuits[here.name]
    job = study.job
    if circuit.device.curve == "gG" and not _fuses_need_more(study):
        return None
    if circuit.ring is not None and not leg_carries_all(job, circuit):
        return None
    laid = loaded_in(job, circuit), circuit_harmonic(job, circuit)
    return _conventional(study, here, circuit, circuit.device, laid)


def _fuses_need_more(study: Study) -> bool:
    """Whether the rule set holds the conventional current of a gG fuse against the cable."""
    forms = {"by conventional current": True, "by rated current": False}
    return form_of(study.profile, "overload.fuse", forms)


def _conventional_a(curve: str, i_n_a: float) -> Figure:
    return fuse_conventional_a(i_n_a) if curve == "gG" else mcb_conventional_a(i_n_a)


def _conventional(study: Study, here: Here, laying: Laying, device: Device, laid: Laid) -> Verdict:
    loaded, harmonic = laid
    i_z, told = with_harmonic(capacity(laying, loaded), harmonic)
    i_2 = _conventional_a(device.curve, device.i_n_a)
    share = float(study.profile.number("overload.i2_share"))
    limit = share * float(i_z)
    return at_most(
        float(i_2),
        limit,
        "A",
        spread=share * (i_z.spread or 0.0),
        because=lambda: [
            f"I_2 = {float(i_2):.1f} A",
            *told,
            f"{share:g} · I_z = {share:g} · {float(i_z):.1f} A = {limit:.1f} A",
        ],
        remedies=[
            lambda: larger_cable(laying, loaded, float(i_2) / share / harmonic.factor),
            lambda: smaller_device(
                study,
                here,
                device,
                share * _least_a(i_z),
                lambda rated: float(_conventional_a(device.curve, rated)),
            ),
        ],
        confirmed=weakest(i_z.confirmed, i_2.confirmed),
    )


@rule(
    "overload.cable",
    over="cables",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A distribution cable must carry the rated current of the device that protects it",
    clauses=[
        "IEC 60364-4-43:2008, 433.1 (2), 436 (from memory)",
        CAPACITY,
        f"{OVERLOAD_BS} (ii), 436.1 (from memory)",
        CAPACITY_BS,
    ],
)
def cable_rated(study: Study, here: Here) -> Verdict:
    """I_n ≤ I_z, or I_source ≤ I_z where the source itself cannot give more

    In island mode the cable is fed from its other end: the device that protects it may be
    another one, or the inverter's own rating. For a fuse I_2 ≤ 1.45 · I_z asks for more, where
    the rule set holds that against it.
    """
    job = study.job
    cable = job.cables[here.name]
    laid = _laid_cable(job, here.name, cable, here.mode)
    name, device = protecting_device(job, here.name, cable, here.mode)
    if not isinstance(device, Device):
        return _limited_source(study, cable, laid)
    if device.curve == "gG" and _fuses_need_more(study):
        verdict = _conventional(study, here, cable, device, laid)
        head = f"protected by {device.name} ({name})"
        return verdict.but(because=lambda: [head, *verdict.because])
    return _rated(study, here, cable, device, laid)


def _laid_cable(job: Job, name: str, cable: Cable, mode: Mode) -> Laid:
    lines = tuple(core for core in cable.cores if core.startswith("L"))
    loaded = loaded_conductors(job, lines, cable.cores)
    return loaded, cable_harmonic(job, name, cable, mode)


def _limited_source(study: Study, cable: Cable, laid: Laid) -> Verdict:
    loaded, harmonic = laid
    amps, source = source_limit_a(study)
    i_z, told = with_harmonic(capacity(cable, loaded), harmonic)
    spread = spread_of(study.profile, "maker", amps)
    return at_most(
        amps,
        float(i_z),
        "A",
        spread=spread + (i_z.spread or 0.0),
        because=lambda: [source, *told],
        remedies=[lambda: larger_cable(cable, loaded, (amps + spread) / harmonic.factor)],
        confirmed=i_z.confirmed,
    )


def source_limit_a(study: Study) -> tuple[float, str]:
    """The most that the inverter gives on one line for a minute or more [A], and how it comes.

    Its continuous rating, or a power that it gives for a time; a surge of seconds heats
    nothing.
    """
    sheet, u_0 = study.job.inverter, float(study.job.supply.nominal_voltage_v)
    over = max((t.power_va / sheet.rated_va for t in sheet.timed.values() if t.for_s >= MINUTE_S),
               default=1.0)  # fmt: skip
    va = study.phase_va * max(float(over), 1.0)
    return va / u_0, f"I_source = {va:.0f} VA / {u_0:g} V = {va / u_0:.1f} A on one line"


def _neutral_carries(
    study: Study, laying: Laying, loaded: int, harmonic: Harmonic
) -> Verdict | None:
    """3 · h_3 · I_b against I_z, where the third harmonic is large enough to govern."""
    if harmonic.governs != "neutral":
        return None
    i_z, told = with_harmonic(capacity(laying, loaded), harmonic)
    amps = harmonic.neutral_a
    spread = spread_of(study.profile, "load_power", amps)
    return at_most(
        amps,
        float(i_z),
        "A",
        spread=spread + (i_z.spread or 0.0),
        because=lambda: [
            f"h_3 = {harmonic.share:.0f} %, I_b = {harmonic.line_a:.1f} A",
            f"I_N = 3 · h_3 · I_b = 3 · {harmonic.third_a:.1f} A = {amps:.1f} A",
            *told,
        ],
        remedies=[lambda: larger_cable(laying, loaded, (amps + spread) / harmonic.factor)],
        means="No device protects this neutral against overload." if amps > i_z else "",
        confirmed=weakest(i_z.confirmed, "memory"),
    )


@rule(
    "overload.circuit-neutral",
    over="circuits",
    modes=[Mode.GRID],
    title="The neutral of a three-phase circuit must carry the third harmonics of its loads",
    clauses=[HARMONIC, HARMONIC_GB],
)
def circuit_neutral(study: Study, here: Here) -> Verdict | None:
    """3 · h_3 · I_b ≤ k_h3 · I_z, from h_3 = 33 % on

    The third harmonics of the three lines are in phase and add up in the neutral. Below 33 %
    the lines govern, with I_z less by k_h3.
    """
    circuit = study.job.circuits[here.name]
    harmonic = circuit_harmonic(study.job, circuit)
    return _neutral_carries(study, circuit, loaded_in(study.job, circuit), harmonic)


@rule(
    "overload.cable-neutral",
    over="cables",
    modes=[Mode.GRID, Mode.ISLAND],
    title="The neutral of a distribution cable must carry the third harmonics behind it",
    clauses=[HARMONIC, HARMONIC_GB],
)
def cable_neutral(study: Study, here: Here) -> Verdict | None:
    """3 · h_3 · I_b ≤ k_h3 · I_z, from h_3 = 33 % on

    I_b is the demand on the busiest line behind the cable, h_3 the mean third harmonic of the
    three lines over it.
    """
    cable = study.job.cables[here.name]
    return _neutral_carries(study, cable, *_laid_cable(study.job, here.name, cable, here.mode))


@rule(
    "overload.cable-demand",
    over="cables",
    modes=[Mode.GRID],
    title="The device of a distribution cable must carry the demand behind it",
    clauses=[
        "IEC 60364-4-43:2008, 433.1 (1); IEC 60364-1, 311 (from memory)",
        f"{OVERLOAD_BS} (i), 311.1 (from memory)",
    ],
)
def cable_demand(study: Study, here: Here) -> Verdict | None:
    """Σ (demand factor · Σ I_b) ≤ I_n, on the busiest line

    What all circuits behind a cable draw together, by the demand factor of their board: a
    device below it opens on a cold evening and takes the whole board with it.
    """
    job = study.job
    boards = boards_behind(job, here.name, Mode.GRID)
    if not boards:
        return None
    name, device = protecting_device(job, here.name, job.cables[here.name], Mode.GRID)
    if not isinstance(device, Device):
        return None
    demand = line_demand_a(job, boards)
    line = max(demand, key=demand.__getitem__)
    i_n, spread = float(device.i_n_a), spread_of(study.profile, "load_power", demand[line])
    excess = demand[line] + spread - i_n
    return at_most(
        demand[line],
        i_n,
        "A",
        spread=spread,
        because=lambda: [
            *(f"demand factor of {b} = {job.boards[b].demand_factor:g}" for b in boards),
            *(
                f"load of {name} not known: taken at its device's rated current"
                for name in study.unknown_loads
                if job.circuits[name].board in boards
            ),
            f"I_b on {line} = {demand[line]:.1f} A",
            f"I_n = {device.i_n_a:g} A ({device.name}, {name})",
        ],
        remedies=[
            lambda: f"Take {math.ceil(excess * 10) / 10:.1f} A of demand off {line}.",
            lambda: next_device(device, i_n + excess, name),
        ],
        confirmed="memory",
    )
