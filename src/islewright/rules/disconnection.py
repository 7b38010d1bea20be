"""Chapter: automatic disconnection, in grid and in island mode (IEC 60364-4-41, 411, 419)."""

from __future__ import annotations

import math

from islewright.findings import Question, Status, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.job.model import Circuit
from islewright.network.race import overcurrent_time_s, residual_time_s
from islewright.network.sheet import RaceBar, RaceRow
from islewright.network.state import Mode
from islewright.network.way import Guard, guards_of_circuit
from islewright.rules.demand import spread_of
from islewright.rules.registry import Here, first_way, rule
from islewright.rules.study import Study
from islewright.tables.device import (
    fuse_gg_opening_current_a,
    mcb_opening_current_a,
    rcd_opening_current_a,
    ratings_a,
)
from islewright.tables.rows import NotInTable

ADS = "IEC 60364-4-41:2005+A1:2017"


@rule(
    "shock.grid-disconnection-tn",
    over="circuits",
    modes=[Mode.GRID],
    title="An earth fault must open the circuit's device in time",
    clauses=[f"{ADS}, 411.3.2, 411.4.4, Table 41.1"],
)
def grid_disconnection_tn(study: Study, here: Here) -> Verdict | None:
    """Z_s ≤ c_min · U_0 / I_a

    The loop, hot, must let the fault draw I_a: the current at which the device opens within
    the time of Table 41.1. Where an RCD stands in the way, its I_a may do instead (411.4.5).
    """
    if not study.job.supply.system_earthing.startswith("TN"):
        return None
    study.clean(here)
    circuit = study.job.circuits[here.name]
    if circuit.earth_mm2 is None:
        return None
    allowed = _allowed(study, circuit, "TN")
    parts, spread = study.loop_by_hand(here.name, circuit)
    ways = [_loop_way(study, guard, parts, spread, allowed, circuit)
            for guard in guards_of_circuit(study.job, here.name, Mode.GRID)
            if guard.role == "RCD" or guard.branch == f"device {here.name}"]  # fmt: skip
    return first_way(ways)


def _allowed(study: Study, circuit: Circuit, system: str) -> float:
    sockets = circuit.use in ("sockets", "outdoor", "bathroom")
    return float(study.profile.disconnection_time_s(
        system, u0_v=float(study.job.supply.nominal_voltage_v), final=True, sockets=sockets,
        i_n_a=circuit.device.i_n_a))  # fmt: skip


def opening_current_a(guard: Guard, within_s: float) -> float:
    """I_a of a device: the least current at which it has surely opened in a time [A]."""
    if guard.residual is not None:
        kind = "S" if guard.residual.delay == "S" else "general"
        return float(rcd_opening_current_a(guard.residual.trips_at_a, kind, within_s))
    device = guard.device
    assert device is not None  # noqa: S101 - a guard has one of the two
    if device.curve == "gG":
        return float(fuse_gg_opening_current_a(device.i_n_a, within_s))
    return float(mcb_opening_current_a(device.curve, device.i_n_a, within_s))


def _loop_way(  # noqa: PLR0913
    study: Study, guard: Guard, parts: list[tuple[str, float]], spread: float, allowed: float,
    circuit: Circuit,
) -> Verdict:  # fmt: skip
    try:
        i_a = opening_current_a(guard, allowed)
    except Unknown as gap:
        return Verdict(status=Status.UNDECIDED, questions=gap.questions)
    except NotInTable as slow:
        return Verdict(status=Status.NOT_MET, because=[str(slow)])
    u_0, c_min = float(study.job.supply.nominal_voltage_v), float(study.profile.number("loop.c_min"))
    z_s = sum(ohm for _, ohm in parts)
    limit = c_min * u_0 / i_a
    return at_most(
        z_s,
        limit,
        "ohm",
        spread=spread,
        because=[
            "Z_s = " + " + ".join(f"{ohm:.2f} Ω" for _, ohm in parts) + f" = {z_s:.2f} Ω, hot",
            f"I_a = {i_a:g} A ({guard.name}, within {allowed:g} s)",
            f"c_min · U_0 / I_a = {c_min:g} · {u_0:g} V / {i_a:g} A = {limit:.2f} Ω",
        ],
        remedies=[lambda: _larger_pe(study, circuit, parts, limit),
                  lambda: _other_device(circuit, z_s, u_0 * c_min, allowed),
                  lambda: "An RCD in front of the circuit (411.4.5)."],
        confirmed="page",
    )  # fmt: skip


def _larger_pe(
    study: Study, circuit: Circuit, parts: list[tuple[str, float]], limit: float
) -> str | None:
    """Least cross-section of all conductors with which this rule alone would be met."""
    from islewright.tables.conductor import resistance_ohm_per_km, sizes

    if circuit.ring is not None:
        return None
    before = sum(ohm for _, ohm in parts[:-1])
    for size in sizes(circuit.material):
        if size > circuit.size_mm2:
            hot = 70 if circuit.insulation == "PVC" else 90
            own = 2 * resistance_ohm_per_km(circuit.material, size, theta_c=hot) * circuit.length_m / 1000
            if before + own <= limit:
                return f"{size:g} mm² in all conductors: Z_s = {before + own:.2f} Ω."
    _ = study
    return None


def _other_device(circuit: Circuit, z_s: float, volts: float, allowed: float) -> str | None:
    for curve in ("C", "B"):
        for rating in sorted((r for r in ratings_a("breaker") if r <= circuit.device.i_n_a), reverse=True):
            i_a = float(mcb_opening_current_a(curve, rating, allowed))
            if volts / i_a >= z_s and (curve, rating) != (circuit.device.curve, circuit.device.i_n_a):
                return f"{curve}{rating:g}: limit {volts / i_a:.2f} Ω."
    return None


@rule(
    "shock.grid-disconnection-tt",
    over="circuits",
    modes=[Mode.GRID],
    title="In a TT house an RCD must cut off an earth fault before the parts stand above 50 V",
    clauses=[f"{ADS}, 411.5.3, Table 41.1"],
)
def grid_disconnection_tt(study: Study, here: Here) -> Verdict | None:
    """R_A · I_Δn ≤ U_L

    R_A is the electrode with its conductor, without the pipes beside it: those may go. The
    RCD must also open in the time of Table 41.1 at the current that really flows.
    """
    if study.job.supply.system_earthing != "TT":
        return None
    study.clean(here)
    job = study.job
    circuit = job.circuits[here.name]
    electrode = job.earthing.electrode
    guards = [g for g in guards_of_circuit(job, here.name, Mode.GRID) if g.residual is not None]
    if not guards or electrode is None:
        lacks = "no RCD stands in the way" if electrode is not None else "there is no electrode"
        return Verdict(status=Status.NOT_MET, because=[lacks],
                       remedies=[lambda: "An RCD in front of the circuit."])  # fmt: skip
    r_a = electrode.resistance_ohm
    spread = r_a.spread or spread_of(study.profile, "electrode_reading", r_a)
    u_l = _touch_limit(study, circuit)
    row = study.story(here)
    ways = []
    for guard in guards:
        bar = next(b for b in row.bars if b.name == guard.name)
        in_time = bar.latest_s <= row.allowed_s
        if not in_time:
            ways.append(_too_slow(bar, row))
            continue
        assert guard.residual is not None  # noqa: S101 - filtered above
        i_dn = float(guard.residual.trips_at_a)
        ways.append(at_most(
            float(r_a) * i_dn, u_l, "V", spread=float(spread) * i_dn,
            because=[f"R_A = {r_a:g} Ω", f"I_Δn = {i_dn * 1000:g} mA ({guard.name})",
                     f"R_A · I_Δn = {float(r_a) * i_dn:.1f} V",
                     f"opens within {bar.latest_s:g} s at {bar.current_a:.1f} A; allowed {row.allowed_s:g} s"],
            confirmed="two pages",
        ))  # fmt: skip
    return first_way(ways)


def _too_slow(bar: RaceBar, row: RaceRow) -> Verdict:
    if bar.questions:
        return Verdict(status=Status.UNDECIDED, questions=bar.questions)
    latest = bar.latest_s if math.isfinite(bar.latest_s) else 1e9
    return at_most(latest, row.allowed_s, "s", spread=0.0,
                   because=[f"{bar.name} sees {bar.current_a:.3g} A: opens within {told_s(bar.latest_s)}",
                            f"allowed: {row.allowed_s:g} s"])  # fmt: skip


def told_s(seconds: float) -> str:
    """A time as a person says it; never is never."""
    if not math.isfinite(seconds):
        return "no certain time"
    return f"{seconds:g} s"


def _touch_limit(study: Study, circuit: Circuit | None) -> float:
    special = circuit is not None and circuit.special_location == "25 V applies"
    key = "disconnection.touch_voltage_special" if special else "disconnection.touch_voltage"
    return float(study.profile.number(key))


@rule(
    "shock.island-disconnection",
    over="circuits",
    modes=[Mode.ISLAND],
    title="An earth fault in the island must be cut off in time, or leave no dangerous voltage",
    clauses=[f"{ADS}, 411.3.2, 419.2, 419.3, 415.2 (419 from memory)",
             "IEC 60364-5-55, 551.4.3.3 (from memory)"],  # fmt: skip
)
def island_disconnection(study: Study, here: Here) -> Verdict:
    """t_device(I_limited) ≤ t_allowed, else t(U ≤ 50 V) ≤ t_allowed, else I_max · R_PE ≤ U_L

    In this order: (a) a device opens in time at the current that flows; (b) the maker
    declares that the voltage falls to 50 V in that time; (c) the limited current leaves no
    more than U_L between parts that can be touched at once, with supplementary bonding.
    """
    circuit = study.job.circuits[here.name]
    return _island_ways(study, here, circuit)


@rule(
    "shock.island-disconnection-cable",
    over="cables",
    modes=[Mode.ISLAND],
    title="An earth fault on a distribution cable of the island must end in time, or do no harm",
    clauses=[f"{ADS}, 411.3.2.3, 419.2, 419.3, 415.2 (419 from memory)"],
)
def island_disconnection_cable(study: Study, here: Here) -> Verdict:
    """t_device(I_limited) ≤ t_allowed, else t(U ≤ 50 V) ≤ t_allowed, else I_max · R_PE ≤ U_L

    Between the inverter and the bond no RCD sees an earth fault: it returns through N.
    """
    return _island_ways(study, here, None)


def _island_ways(study: Study, here: Here, circuit: Circuit | None) -> Verdict:
    row = study.story(here)
    if math.isnan(row.allowed_s):
        assert circuit is not None  # noqa: S101 - only a circuit's use can leave it open
        _ = circuit.use
    return first_way([
        _by_device(study, here, row),
        _by_collapse(study, row),
        _by_touch_voltage(study, row, circuit),
    ])  # fmt: skip


def _by_device(study: Study, here: Here, row: RaceRow) -> Verdict:
    """(a) a device opens in time, at the current that really flows, before the source stops."""
    bars = [bar for bar in row.bars if bar.role != "inverter"]
    if not bars:
        return Verdict(status=Status.NOT_MET, because=["no device stands in the way"])
    sure = [bar for bar in bars if bar.known]
    best = min(sure, key=lambda bar: bar.latest_s, default=None)
    questions: tuple[Question, ...] = tuple(q for bar in bars for q in bar.questions)
    if best is None or (best.latest_s > row.allowed_s and questions):
        return Verdict(status=Status.UNDECIDED, questions=questions)
    held = _held_s(study, row)
    because = [
        f"I = {row.current_a:.1f} A{', the most the inverter gives' if row.limited else ''}",
        f"{best.name} sees {best.current_a:.3g} A: opens within {told_s(best.latest_s)}",
        f"t_allowed = {row.allowed_s:g} s",
    ]
    if best.latest_s > held:
        return Verdict(status=Status.NOT_MET, unit="s", because=[
            *because, f"the inverter gives this current for {held:g} s only"])  # fmt: skip
    value = best.latest_s if math.isfinite(best.latest_s) else 1e9
    verdict = at_most(value, row.allowed_s, "s", spread=_time_spread(study, here, best, row),
                      because=because, remedies=[lambda: "An RCD on the load side of the bond."],
                      confirmed="page")  # fmt: skip
    return verdict


def _held_s(study: Study, row: RaceRow) -> float:
    """How long the limited current flows [s]; a device must be sure to open within it."""
    fault = study.job.inverter.fault_current
    if not row.limited:
        return math.inf
    return float(fault.for_s) if fault.has("for_s") else 0.0


def _time_spread(study: Study, here: Here, bar: RaceBar, row: RaceRow) -> float:
    """How much later the device would open at the current less its uncertainty [s]."""
    guards = guards_of_circuit(study.job, here.name, Mode.ISLAND) if here.kind == "circuit" else []
    guard = next((g for g in guards if g.name == bar.name), None)
    if guard is None or not math.isfinite(bar.latest_s):
        return 0.0
    amps = bar.current_a - spread_of(study.profile, "maker" if row.limited else "loop_reading", bar.current_a)
    if guard.residual is not None:
        later = residual_time_s(guard.residual, amps)[1]
    else:
        assert guard.device is not None  # noqa: S101 - a guard has one of the two
        later = overcurrent_time_s(guard.device, amps)[1]
    return max(0.0, min(later, 1e9) - bar.latest_s)


def _by_collapse(study: Study, row: RaceRow) -> Verdict:
    """(b) the maker declares that the voltage has fallen to 50 V in time."""
    if not row.limited:
        return Verdict(status=Status.NOT_MET, because=["the inverter is not at its limit"])
    try:
        falls = study.job.inverter.falls_to_50v_s
    except Unknown as gap:
        question = Question(
            field=gap.questions[0].field,
            ask=f"Within which time has the voltage fallen to 50 V on an earth fault? "
            f"{row.allowed_s:g} s would do for {row.place}.",
            how=gap.questions[0].how,
            whom="the maker",
        )
        return Verdict(status=Status.UNDECIDED, questions=[question],
                       because=["t(U ≤ 50 V) is not stated by the maker"])  # fmt: skip
    return at_most(
        float(falls), row.allowed_s, "s", spread=0.0,
        because=[f"I = {row.current_a:.1f} A, the most the inverter gives",
                 f"t(U ≤ 50 V) = {falls:g} s, the maker's word", f"t_allowed = {row.allowed_s:g} s"],
        means="The whole island goes dark on such a fault.",
        confirmed="memory",
    )  # fmt: skip


def _by_touch_voltage(study: Study, row: RaceRow, circuit: Circuit | None) -> Verdict:
    """(c) the limited current leaves no dangerous voltage, and the parts are bonded."""
    u_l = _touch_limit(study, circuit)
    bonded = study.job.earthing
    try:
        present = bonded.supplementary_bonding == "present"
    except Unknown as gap:
        if row.touch_v > u_l:
            return Verdict(status=Status.NOT_MET, because=[f"U_touch = {row.touch_v:.1f} V > {u_l:g} V"])
        return Verdict(status=Status.UNDECIDED, questions=gap.questions)
    told = f"U_touch = {row.touch_v:.1f} V to the earthing terminal at {row.current_a:.1f} A"
    if not present:
        return Verdict(status=Status.NOT_MET, because=[
            told, "no supplementary bonding, so 419.3 cannot be used"])  # fmt: skip
    return at_most(
        row.touch_v, u_l, "V", spread=spread_of(study.profile, "length", row.touch_v),
        because=[told, f"U_L = {u_l:g} V"],
        means="The fault stays on until the inverter stops or someone opens the circuit.",
        confirmed="memory",
    )  # fmt: skip
