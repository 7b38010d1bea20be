"""Chapter: automatic disconnection in grid mode (IEC 60364-4-41, 411)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial

from islewright.findings import Status, Verdict, at_most
from islewright.job.device import Residual
from islewright.job.gap import Gap
from islewright.job.model import Circuit, Electrode
from islewright.network.race import guards_at
from islewright.network.sheet import RaceBar, RaceRow
from islewright.network.state import Mode
from islewright.network.way import Guard
from islewright.rules.clearing import ahead_of
from islewright.rules.demand import own_spread
from islewright.rules.loop import loop_by_hand
from islewright.rules.measured_loop import by_measured_loop, electrode_asked
from islewright.rules.mend import behind_an_rcd, quicker_breaker, without_voltage
from islewright.rules.opening import in_time, opening_current_a
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study
from islewright.rules.time_allowed import allowed_s
from islewright.rules.tt_overcurrent import by_overcurrent
from islewright.tables.device import rcd_ratings_a
from islewright.tables.rows import NotInTable

ADS = "IEC 60364-4-41:2005+A1:2017"
ADS_BS = "BS 7671:2018"
LOW_TT = "411.5.4 (from memory)"
#: share of a fault's current below which a device surely does not lie in its way
HALF = 0.5


@rule(
    "shock.grid-disconnection-tn",
    over="circuits",
    modes=[Mode.GRID],
    title="An earth fault must open the circuit's device in time",
    clauses=[
        f"{ADS}, 411.3.1.1, 411.3.2, 411.4.4, Table 41.1",
        f"{ADS_BS}, 411.3.1.1, 411.3.2, 411.4.4, Table 41.1",
    ],
)
def grid_disconnection_tn(study: Study, here: Here) -> Verdict | None:
    """Z_s ≤ c_min · U_0 / I_a

    The loop, hot, must let the fault draw I_a: the current at which the device opens within
    the time of Table 41.1. Where an RCD stands in the way, its I_a may do instead (411.4.5).
    """
    job = study.job
    if job.supply.system_earthing == "TT":
        return None
    if job.supply.system_earthing == "IT":
        return not_judged_it()
    circuit = job.circuits[here.name]
    if not earthed(circuit):
        return no_protective_conductor()
    odd = another_earth(study)
    if odd is not None:
        return odd
    study.clean(here)
    guards = guards_at(job, "circuit", here.name, Mode.GRID)[0]
    own = [g for g in guards if g.role == "RCD" or g.branch == f"device {here.name}"]
    allowed = allowed_s(study, here)
    return first_way(attempt(partial(_by_loop, study, here, guard, allowed)) for guard in own)


@rule(
    "shock.grid-disconnection-tt",
    over="circuits",
    modes=[Mode.GRID],
    title="An earth fault in TT must be cut off in time, by an RCD or over a loop that stays low",
    clauses=[
        f"{ADS}, 411.3.1.1, 411.5.3, {LOW_TT}, Table 41.1",
        f"{ADS_BS}, 411.3.1.1, 411.5.3, {LOW_TT}, Table 41.1",
    ],
)
def grid_disconnection_tt(study: Study, here: Here) -> Verdict | None:
    """R_A · I_Δn ≤ U_L, else Z_s ≤ c_min · U_0 / I_a where the electrode stays low for good

    R_A is the electrode with its conductor, without the pipes beside it: those may go. Where
    nobody measured it the loop Z_s stands in for it, if no pipes lie beside it. The
    RCD must also open in the time of Table 41.1 at the current that really flows. An
    overcurrent device may do it (411.5.4) where somebody answers for the electrode.
    """
    if study.job.supply.system_earthing != "TT":
        return None
    circuit = study.job.circuits[here.name]
    if not earthed(circuit):
        return no_protective_conductor()
    return another_earth(study) or _residual_ways(study, here, touch_limit_v(study, circuit))


@rule(
    "shock.grid-disconnection-cable",
    over="cables",
    modes=[Mode.GRID],
    title="An earth fault on a distribution cable must be cut off in time",
    clauses=[
        f"{ADS}, 411.3.2.3 (5 s in TN), 411.3.2.4 (1 s in TT), 411.4.4, 411.5.3, {LOW_TT}",
        f"{ADS_BS}, 411.3.2.3 (5 s in TN), 411.3.2.4 (1 s in TT), 411.4.4, 411.5.3, {LOW_TT}",
    ],
)
def grid_disconnection_cable(study: Study, here: Here) -> Verdict | None:
    """Z_s ≤ c_min · U_0 / I_a in TN; R_A · I_Δn ≤ U_L in TT, or as in TN with a sure electrode

    Any device in front of the cable may open; its own counts where it sits at the supply's end.
    Cables without a protective conductor are no matter of disconnection: tails and PEN ahead of
    the main earthing must be doubly insulated.
    """
    job = study.job
    if "PE" not in job.cables[here.name].cores:
        return None
    if job.supply.system_earthing == "IT":
        return not_judged_it()
    odd = another_earth(study)
    if odd is not None:
        return odd
    if job.supply.system_earthing == "TT":
        return _residual_ways(study, here, touch_limit_v(study, None))
    study.clean(here)
    guards = ahead_of(job, here, guards_at(job, "cable", here.name, Mode.GRID)[0])
    allowed = allowed_s(study, here)
    return first_way(attempt(partial(_by_loop, study, here, guard, allowed)) for guard in guards)


def earthed(circuit: Circuit) -> bool:
    """Whether a protective conductor runs to the circuit; cores left out are those it needs."""
    return circuit.earth_mm2 is not None and (
        circuit.gap("cores") is Gap.LEFT_OUT or "PE" in circuit.cores
    )


def another_earth(study: Study) -> Verdict | None:
    """Undecided where the house's means of earthing is not that of the system that is stated.

    A TN supply whose earth the house does not use is TT, and the other way round.
    """
    supply, earthing = study.job.supply, study.job.earthing
    own = earthing.in_grid_mode == "local electrode"
    if own == (supply.system_earthing == "TT"):
        return None
    return Verdict(
        status=Status.UNDECIDED,
        because=[
            f"the supply is stated as {supply.system_earthing}",
            f"and the house's earth in grid mode as: {earthing.in_grid_mode}",
        ],
        questions=(earthing.question("in_grid_mode"), supply.question("system_earthing")),
    )


def no_protective_conductor() -> Verdict:
    """A circuit without protective conductor is never cut off (411.3.1.1)."""
    return Verdict(
        status=Status.NOT_MET,
        because=["the circuit has no protective conductor"],
        means="A fault to a metal part stays on, and the part stays live.",
        remedies=[lambda: "Lay a cable with a protective conductor (411.3.1.1)."],
        confirmed="page",
    )


def not_judged_it() -> Verdict:
    """An IT supply needs 411.6 with insulation monitoring, which no rule here judges."""
    return Verdict(
        status=Status.UNDECIDED,
        because=["the supply is an IT system; 411.6 is not covered by this program"],
    )


def touch_limit_v(study: Study, circuit: Circuit | None) -> float:
    """U_L at a circuit or, without one, at a distribution cable [V]."""
    special = circuit is not None and circuit.special_location == "25 V applies"
    key = "disconnection.touch_voltage_special" if special else "disconnection.touch_voltage"
    return float(study.profile.number(key))


def _by_loop(study: Study, here: Here, guard: Guard, allowed: float) -> Verdict:
    """One device against the loop."""
    try:
        i_a = opening_current_a(guard, allowed)
    except NotInTable as slow:
        return Verdict(status=Status.NOT_MET, because=[str(slow)])
    parts, spread = loop_by_hand(study, here)
    u_0, c_min = (
        float(study.job.supply.nominal_voltage_v),
        float(study.profile.number("loop.c_min")),
    )
    z_s = sum(ohm for _, ohm in parts)
    row = study.story(here)
    if row.current_a < HALF * c_min * u_0 / (z_s + spread):
        return _open_loop(row)
    limit = c_min * u_0 / i_a
    by_loop = at_most(
        z_s,
        limit,
        "ohm",
        spread=spread,
        because=lambda: [
            "Z_s = " + " + ".join(f"{ohm:.3f} Ω" for _, ohm in parts) + f" = {z_s:.2f} Ω, hot",
            f"I_a = {i_a:g} A ({guard.name}, within {allowed:g} s)",
            f"c_min · U_0 / I_a = {c_min:g} · {u_0:g} V / {i_a:g} A = {limit:.2f} Ω",
        ],
        remedies=[
            partial(_larger_cores, study, here, parts, limit - spread),
            partial(_other_device, study, here, guard, c_min * u_0 / (z_s + spread), allowed),
            partial(_residual_remedy, study, here, c_min * u_0 / (z_s + spread), allowed),
        ],
        confirmed="page",
    )
    return every([by_loop, *_in_the_network(study, here, guard, row)])


def _open_loop(row: RaceRow) -> Verdict:
    """The sum takes the protective conductor as unbroken; the network knows that it is not."""
    return Verdict(
        status=Status.NOT_MET,
        because=[f"an earth fault lets no more than {row.current_a:.3g} A flow"],
        means="The protective conductor does not reach the main earthing terminal.",
        remedies=[
            lambda: (
                f"Follow the protective conductor from {row.place} to the main earthing "
                "terminal, and lay it where a cable has none."
            )
        ],
        confirmed="page",
    )


def _in_the_network(study: Study, here: Here, guard: Guard, row: RaceRow) -> Iterator[Verdict]:
    """What the sum of the loop cannot tell: an RCD that is blind, or finds too little voltage."""
    needs = guard.residual is not None and guard.residual.needs_voltage_v is not None
    guards = guards_at(study.job, here.kind, here.name, here.mode)[0]
    for other, bar in zip(guards, row.bars, strict=False):
        if other.branch == guard.branch and other.role == guard.role:
            opens = in_time(study, guard, bar, row)
            if needs or opens.status is Status.NOT_MET:
                yield opens.but(remedies=[lambda bar=bar: _heal(guard, bar, row)])


def _heal(guard: Guard, bar: RaceBar, row: RaceRow) -> str | None:
    """What to do where the network says that a device does not open; else the loop's remedies."""
    if guard.residual is None:
        return None
    if bar.current_a >= HALF * row.current_a:
        return without_voltage(guard.name)
    return f"Move the neutral home, or the bond: {guard.name} sees {bar.current_a:.2f} A of it."


def _larger_cores(
    study: Study, here: Here, parts: list[tuple[str, float]], limit: float
) -> str | None:
    """Least cross-section of all conductors with which this rule alone would be met."""
    from islewright.network.impedance import core_impedance
    from islewright.tables.conductor import sizes

    laying = (study.job.circuits if here.kind == "circuit" else study.job.cables)[here.name]
    if isinstance(laying, Circuit) and laying.ring is not None:
        return None
    before = sum(ohm for _, ohm in parts[:-1])
    for size in sizes(laying.material):
        if size > laying.size_mm2:
            core = core_impedance(laying.material, laying.insulation, size, laying.length_m).hot
            if before + 2 * abs(core) <= limit:
                z_s = before + 2 * abs(core)
                return f"Lay {size:g} mm² in all conductors: Z_s = {z_s:.2f} Ω."
    return None


def _other_device(
    study: Study, here: Here, guard: Guard, surely_a: float, allowed: float
) -> str | None:
    if here.kind != "circuit" or guard.device is None:
        return None  # what a cable's device must carry is not this rule's
    return quicker_breaker(study, here, guard.device, surely_a, allowed)


def _residual_remedy(study: Study, here: Here, surely_a: float, allowed: float) -> str:
    if here.kind == "circuit":
        return behind_an_rcd(study, here, surely_a, math.inf, allowed)
    return f"Fit an RCD where the cable {here.name} begins (411.4.5, 411.5.3)."


def _residual_ways(study: Study, here: Here, u_l: float) -> Verdict:
    """Devices in front of a place of a TT house; one that cuts off in time is enough."""
    allowed = allowed_s(study, here)  # raises its question where the use is not known
    guards = guards_at(study.job, here.kind, here.name, Mode.GRID)[0]
    if electrode_asked(study):
        ahead = ahead_of(study.job, here, guards)
        return by_measured_loop(study, here, ahead, u_l, allowed)
    study.clean(here)
    if study.job.earthing.electrode is None:
        return Verdict(
            status=Status.NOT_MET,
            because=["there is no electrode"],
            remedies=[lambda: "Drive an earth electrode at the house."],
            confirmed="two pages",
        )
    return first_way(_tt_ways(study, here, guards, u_l, allowed))


def _tt_ways(
    study: Study, here: Here, guards: Sequence[Guard], u_l: float, allowed: float
) -> Iterator[Verdict]:
    """RCDs first, then the overcurrent devices that the fault is behind."""
    row = study.story(here)
    if not any(guard.role == "RCD" for guard in guards):
        yield Verdict(
            status=Status.NOT_MET,
            because=["no RCD stands in the way"],
            remedies=[lambda: _residual_remedy(study, here, row.current_a, allowed)],
            confirmed="two pages",
        )
    for guard, bar in zip(guards, row.bars, strict=False):
        if guard.role == "RCD":
            yield attempt(partial(_by_residual, study, guard, bar, row, u_l))
    electrode = study.job.earthing.electrode
    for guard, bar in zip(guards, row.bars, strict=False):
        own = here.kind == "cable" or guard.branch == f"device {here.name}"
        if electrode is not None and guard.role == "device" and own:
            yield attempt(partial(by_overcurrent, study, here, electrode, guard, bar, row))


def _by_residual(study: Study, guard: Guard, bar: RaceBar, row: RaceRow, u_l: float) -> Verdict:
    """One RCD: the voltage that it leaves on for good, and its time."""
    guard.must_be_known()
    electrode = study.job.earthing.electrode
    assert electrode is not None and guard.residual is not None  # noqa: S101, PT018 - asked before
    touch = left_by_residual(study, electrode, guard.name, guard.residual, u_l)
    return every([touch, in_time(study, guard, bar, row)])


def left_by_residual(
    study: Study, electrode: Electrode, name: str, residual: Residual, u_l: float
) -> Verdict:
    """The voltage that an RCD leaves on for good over the electrode (411.5.3)."""
    r_a, i_dn = electrode.resistance_ohm, float(residual.trips_at_a)
    spread = own_spread(study.profile, "electrode_reading", r_a)
    return at_most(
        float(r_a) * i_dn,
        u_l,
        "V",
        spread=float(spread) * i_dn,
        because=lambda: [
            f"R_A = {r_a:g} Ω",
            f"I_Δn = {i_dn * 1000:g} mA ({name})",
            f"R_A · I_Δn = {float(r_a) * i_dn:.2f} V, U_L = {u_l:g} V",
        ],
        remedies=[
            lambda: (
                "Bring the electrode down to "
                f"{math.floor(u_l / i_dn * r_a / (r_a + spread))} Ω or less."
            ),
            lambda: _smaller_residual(r_a + spread, u_l),
        ],
        confirmed="two pages",
    )


def _smaller_residual(r_a: float, u_l: float) -> str | None:
    fits = [i_dn for i_dn in rcd_ratings_a() if r_a * i_dn <= u_l]
    return f"Fit an RCD of {fits[-1] * 1000:g} mA in its place." if fits else None
