"""Chapter: automatic disconnection in grid mode (IEC 60364-4-41, 411)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial

from islewright.findings import Status, Verdict, at_most
from islewright.job.device import Residual
from islewright.job.gap import Gap
from islewright.job.model import Circuit, Electrode
from islewright.network.follow import OneFault
from islewright.network.race import guards_at
from islewright.network.sheet import RaceBar
from islewright.network.state import Mode
from islewright.network.way import Guard
from islewright.rules.clearing import ahead_of
from islewright.rules.demand import own_spread
from islewright.rules.measured_loop import by_measured_loop, electrode_asked
from islewright.rules.opening import in_time
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study
from islewright.rules.time_allowed import allowed_s
from islewright.rules.tn_loop import by_loop, residual_remedy
from islewright.rules.tt_overcurrent import by_overcurrent
from islewright.tables.device import rcd_ratings_a

ADS = "IEC 60364-4-41:2005+A1:2017"
ADS_BS = "BS 7671:2018"
LOW_TT = "411.5.4 (from memory)"


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
    return first_way(attempt(partial(by_loop, study, here, guard, allowed)) for guard in own)


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
    return first_way(attempt(partial(by_loop, study, here, guard, allowed)) for guard in guards)


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
    row = study.followed(here)
    if not any(guard.role == "RCD" for guard in guards):
        yield Verdict(
            status=Status.NOT_MET,
            because=["no RCD stands in the way"],
            remedies=[lambda: residual_remedy(study, here, row.current_a, allowed)],
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


def _by_residual(study: Study, guard: Guard, bar: RaceBar, row: OneFault, u_l: float) -> Verdict:
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
