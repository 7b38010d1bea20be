"""Chapter: protection against overload (IEC 60364-4-43, 433; capacities by 5-52)."""

from __future__ import annotations

import math

from islewright.findings import Question, Status, Verdict, at_most
from islewright.job.device import Device
from islewright.job.gap import Gap, Unknown
from islewright.job.model import Cable, Circuit, Job, Laying
from islewright.network.state import Mode
from islewright.rules.demand import (
    SOCKETS,
    boards_behind,
    design_current_a,
    line_demand_a,
    protecting_device,
    spread_of,
)
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study
from islewright.tables.cable import ambient_factor, ampacity_a, grouping_factor, soil_factor
from islewright.tables.conductor import sizes
from islewright.tables.device import fuse_conventional_a, mcb_conventional_a, ratings_a
from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable

CAPACITY = "IEC 60364-5-52:2009, 523, Tables B.52.2 to B.52.19"


def capacity(
    laying: Laying, loaded: int, *, size_mm2: float | None = None
) -> tuple[Figure, list[str]]:
    """Current-carrying capacity I_z as laid [A], and its arithmetic.

    I_z = I_z0 · k_ambient · k_group · k_soil

    Parameters
    ----------
    laying : cable or circuit
    loaded : loaded conductors, 2 or 3
    size_mm2 : another cross-section than its own [mm²]

    Returns
    -------
    I_z, whose spread is what a spread of the ambient temperature takes off it, and the lines

    Raises
    ------
    Unknown : a fact of the laying is not stated, or the tables do not reach it
    """
    method, insulation = laying.method, laying.insulation
    buried = method in ("D1", "D2")
    size = float(laying.size_mm2) if size_mm2 is None else size_mm2
    ambient = laying.ambient_c
    try:
        base = ampacity_a(method, insulation, laying.material, loaded, size)
        factors = [("k_ambient", ambient_factor(insulation, float(ambient), buried=buried))]
        warmest = ambient_factor(insulation, ambient + (ambient.spread or 0.0), buried=buried)
        count = int(laying.grouped_with)
        if count > 1:
            factors.append(("k_group", _group(method, count)))
        if buried:
            factors.append(("k_soil", soil_factor(method, float(laying.soil_k_m_per_w))))
    except NotInTable as gap:
        asked = Question(field=laying.path, ask=str(gap), how="change what is stated")
        raise Unknown(asked) from None
    i_z = float(base) * math.prod(float(k) for _, k in factors)
    told = " · ".join([f"{base:g} A", *(f"{k:.2f}" for _, k in factors)])
    names = " · ".join(["I_z0", *(name for name, _ in factors)])
    weakest = _weakest(base.confirmed, *(k.confirmed for _, k in factors))
    line = f"I_z = {names} = {told} = {i_z:.1f} A (method {method}, {loaded} loaded)"
    off = i_z * (1 - float(warmest) / float(factors[0][1]))
    return Figure(i_z, source=CAPACITY, confirmed=weakest, spread=off), [line]


def _group(method: str, count: int) -> Figure:
    if method == "D1":
        return grouping_factor("ducts, multi-core", count, spacing="touching")
    if method == "D2":
        return grouping_factor("in ground", count, spacing="touching")
    return grouping_factor("bunched", count)


def _weakest(*confirmed: str) -> str:
    for word in ("memory", "page", "two pages"):
        if word in confirmed:
            return word
    return "memory"


def loaded_conductors(job: Job, lines: tuple[str, ...], cores: tuple[str, ...]) -> int:
    """Loaded conductors, 2 or 3; two lines of three leave their sum in the neutral."""
    if len(lines) == 2 and "N" in cores and job.supply.form == "three phases":
        return 3
    return 3 if len(lines) > 2 else 2


def _loaded_in(job: Job, circuit: Circuit) -> int:
    lines = job.lines_of(circuit)
    return loaded_conductors(
        job, lines, (*lines, "N") if circuit.gap("cores") is Gap.LEFT_OUT else circuit.cores
    )


@rule(
    "overload.design-current",
    over="circuits",
    modes=[Mode.GRID],
    title="The device must carry the design current",
    clauses=["IEC 60364-4-43:2008, 433.1 (1) (from memory)"],
)
def design_current(study: Study, here: Here) -> Verdict:
    """I_b ≤ I_n"""
    circuit = study.job.circuits[here.name]
    i_b, told = design_current_a(study.job, circuit)
    i_n = float(circuit.device.i_n_a)
    spread = 0.0 if circuit.use in SOCKETS else spread_of(study.profile, "load_power", i_b)
    return at_most(
        i_b,
        i_n,
        "A",
        spread=spread,  # of sockets I_b is I_n itself
        because=[told, f"I_n = {i_n:g} A"],
        remedies=[lambda: _next_device(i_b + spread)],
        confirmed="memory",
    )


def _next_device(i_b: float) -> str | None:
    fits = [a for a in ratings_a("breaker") if a >= i_b]
    return f"A device of {fits[0]:g} A, if the cable carries it, or less load." if fits else None


@rule(
    "overload.circuit-cable",
    over="circuits",
    modes=[Mode.GRID],
    title="The cable must carry the rated current of its device",
    clauses=["IEC 60364-4-43:2008, 433.1 (2) (from memory)", CAPACITY],
)
def circuit_cable(study: Study, here: Here) -> Verdict:
    """I_n ≤ I_z"""
    circuit = study.job.circuits[here.name]
    if circuit.ring is not None:
        return _ring(circuit)
    loaded = _loaded_in(study.job, circuit)
    return _rated(circuit, circuit.device, loaded, study)


def _ring(circuit: Circuit) -> Verdict:
    return Verdict(
        status=Status.UNDECIDED,
        because=["two legs share the current; the IEC base states no figure for rings"],
        questions=[
            Question(
                field=f"{circuit.path}.ring",
                ask="Which national rule accepts this ring, and on which terms?",
                how="the IEC base knows no ring final circuits",
                whom="the local rules",
            )
        ],
    )


def _rated(laying: Laying, device: Device, loaded: int, study: Study) -> Verdict:
    i_z, told = capacity(laying, loaded)
    i_n = float(device.i_n_a)
    return at_most(
        i_n,
        float(i_z),
        "A",
        spread=i_z.spread or 0.0,
        because=[f"I_n = {i_n:g} A", *told],
        remedies=[lambda: _larger_cable(laying, loaded, i_n), lambda: _smaller_device(float(i_z))],
        confirmed=i_z.confirmed,
        means="The device does not protect this cable against overload." if i_n > i_z else "",
    )


def _larger_cable(laying: Laying, loaded: int, i_n: float) -> str | None:
    for size in sizes(laying.material):
        if size > laying.size_mm2:
            try:
                i_z = capacity(laying, loaded, size_mm2=size)[0]
            except Unknown:
                continue
            if i_z >= i_n:
                return f"{size:g} mm² laid the same way carries {float(i_z):.1f} A."
    return None


def _smaller_device(i_z: float) -> str | None:
    fits = [a for a in ratings_a("breaker") if a <= i_z]
    return f"A device of {fits[-1]:g} A, if the load allows it." if fits else None


@rule(
    "overload.circuit-conventional",
    over="circuits",
    modes=[Mode.GRID],
    title="The device must trip before the cable is harmed by a small overload",
    clauses=["IEC 60364-4-43:2008, 433.1 (3) (from memory)", CAPACITY],
)
def circuit_conventional(study: Study, here: Here) -> Verdict | None:
    """I_2 ≤ 1.45 · I_z"""
    circuit = study.job.circuits[here.name]
    if circuit.ring is not None:
        return None
    loaded = _loaded_in(study.job, circuit)
    return _conventional(circuit, circuit.device, loaded, study)


def _conventional(laying: Laying, device: Device, loaded: int, study: Study) -> Verdict:
    i_z, told = capacity(laying, loaded)
    i_2 = (
        fuse_conventional_a(device.i_n_a)
        if device.curve == "gG"
        else mcb_conventional_a(device.i_n_a)
    )
    share = float(study.profile.number("overload.i2_share"))
    limit = share * float(i_z)
    return at_most(
        float(i_2),
        limit,
        "A",
        spread=share * (i_z.spread or 0.0),
        because=[
            f"I_2 = {float(i_2):.1f} A",
            *told,
            f"{share:g} · I_z = {share:g} · {float(i_z):.1f} A = {limit:.1f} A",
        ],
        confirmed=_weakest(i_z.confirmed, i_2.confirmed),
    )


@rule(
    "overload.cable",
    over="cables",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A distribution cable must carry the rated current of the device that protects it",
    clauses=["IEC 60364-4-43:2008, 433.1 (2), 436 (from memory)", CAPACITY],
)
def cable_rated(study: Study, here: Here) -> Verdict:
    """I_n ≤ I_z, or I_source ≤ I_z where the source itself cannot give more

    In island mode the cable is fed from its other end: the device that protects it may be
    another one, or the inverter's own rating.
    """
    job = study.job
    cable = job.cables[here.name]
    loaded = loaded_conductors(job, tuple(c for c in cable.cores if c.startswith("L")), cable.cores)
    name, device = protecting_device(job, here.name, cable, here.mode)
    if not isinstance(device, Device):
        return _limited_source(study, cable, loaded)
    if device.curve == "gG":
        return _conventional_and_rated(cable, device, loaded, study, name)
    return _rated(cable, device, loaded, study)


def _conventional_and_rated(
    cable: Cable, device: Device, loaded: int, study: Study, name: str
) -> Verdict:
    """For a fuse I_2 ≤ 1.45 I_z asks for more than I_n ≤ I_z."""
    import dataclasses

    verdict = _conventional(cable, device, loaded, study)
    head = f"protected by {device.name} ({name})"
    return dataclasses.replace(verdict, because=[head, *verdict.because])


def _limited_source(study: Study, cable: Cable, loaded: int) -> Verdict:
    u_0 = float(study.job.supply.nominal_voltage_v)
    amps = study.phase_va / u_0
    i_z, told = capacity(cable, loaded)
    return at_most(
        amps,
        float(i_z),
        "A",
        spread=spread_of(study.profile, "maker", amps) + (i_z.spread or 0.0),
        because=[
            f"I_source = {study.phase_va:.0f} VA / {u_0:g} V = {amps:.1f} A on one line",
            *told,
        ],
        confirmed=i_z.confirmed,
    )


@rule(
    "overload.cable-demand",
    over="cables",
    modes=[Mode.GRID],
    title="The device of a distribution cable must carry the demand behind it",
    clauses=["IEC 60364-4-43:2008, 433.1 (1); IEC 60364-1, 311 (from memory)"],
)
def cable_demand(study: Study, here: Here) -> Verdict | None:
    """Σ (demand factor · Σ I_b) ≤ I_n, on the busiest line"""
    job = study.job
    cable = job.cables[here.name]
    boards = boards_behind(job, here.name, Mode.GRID)
    if not boards:
        return None
    name, device = protecting_device(job, here.name, cable, Mode.GRID)
    if not isinstance(device, Device):
        return None
    demand = line_demand_a(job, boards)
    line = max(demand, key=demand.__getitem__)
    return at_most(
        demand[line],
        float(device.i_n_a),
        "A",
        spread=spread_of(study.profile, "load_power", demand[line]),
        because=[
            *(f"demand factor of {b} = {job.boards[b].demand_factor:g}" for b in boards),
            *(
                f"load of {name} not known: taken at its device's rated current"
                for name in study.unknown_loads
                if job.circuits[name].board in boards
            ),
            f"I_b on {line} = {demand[line]:.1f} A",
            f"I_n = {device.i_n_a:g} A ({device.name}, {name})",
        ],
        confirmed="memory",
    )
