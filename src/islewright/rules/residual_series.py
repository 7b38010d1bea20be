"""Chapter: residual current devices in series, what leaks through them, and their times."""

from __future__ import annotations

from functools import partial

from islewright.findings import Question, Status, Verdict, at_least, at_most
from islewright.job.device import Residual
from islewright.job.gap import Unknown
from islewright.network.race import guards_at, residual_time_s, seen_a
from islewright.network.state import Mode
from islewright.network.watched import Watcher, on_dc_way, watchers
from islewright.rules.demand import spread_of
from islewright.rules.disconnection import earthed
from islewright.rules.registry import Here, attempt, every, rule
from islewright.rules.residual import asks_additional
from islewright.rules.study import Study
from islewright.tables.device import rcd_time_s


@rule(
    "residual.leakage",
    over="RCDs",
    modes=[Mode.GRID, Mode.ISLAND],
    title="What leaks for good behind an RCD must stay well below its rating",
    clauses=[
        "IEC 60364-5-53:2019, 531.3.2 (from memory)",
        "BS 7671:2018, 531.3.2 (from memory)",
    ],
)
def leakage(study: Study, here: Here) -> Verdict:
    """Σ I_leak ≤ 0.3 · I_Δn

    All loads behind it at once, whether they run or not: filters leak as long as they are
    plugged in. Cables are left out. The inverter's own leakage counts where it comes back
    through the device.
    """
    watcher = watchers(study.job, here.mode)[here.name]
    watcher.guard.must_be_known()
    rcd = watcher.guard.residual
    assert rcd is not None  # noqa: S101 - a guard of this role that asks nothing has it
    share = float(study.profile.number("rcd.standing_share"))
    i_dn = float(rcd.trips_at_a)
    parts, asks = _leaks(study, watcher, here.mode)
    total, limit = sum(amps for _, amps in parts), share * i_dn
    if asks and total <= limit:
        raise Unknown(*asks)
    told = " + ".join(f"{amps * 1000:g}" for _, amps in parts) or "0"
    return at_most(
        total,
        limit,
        "A",
        spread=spread_of(study.profile, "leakage", total),
        because=[
            f"Σ I_leak = {told} = {total * 1000:.3g} mA",
            f"{share:g} · I_Δn = {share:g} · {i_dn * 1000:g} mA = {limit * 1000:g} mA",
        ],
        means="It may trip without any fault." if total > limit else "",
        remedies=[partial(_part_leaks, parts, limit)],
        confirmed="memory",
    )


def _leaks(
    study: Study, watcher: Watcher, mode: Mode
) -> tuple[list[tuple[str, float]], list[Question]]:
    """What each circuit behind an RCD leaks [A], and what is not stated of it."""
    parts: list[tuple[str, float]] = []
    asks: list[Question] = []
    for name in watcher.circuits:
        circuit = study.job.circuits[name]
        if circuit.gap("loads") is not None:
            asks.append(circuit.question("loads"))
            continue
        loads = circuit.loads.values()
        asks += [load.question("leakage_a") for load in loads if load.gap("leakage_a")]
        amps = sum(load.figure("leakage_a") or 0.0 for load in loads)
        if amps > 0:
            parts.append((name, amps))
    try:
        if on_dc_way(study.job, watcher.guard, mode):
            parts.append(("the inverter", float(study.job.inverter.pe_current_a)))
    except Unknown as gap:
        asks += gap.questions
    return parts, asks


def _part_leaks(parts: list[tuple[str, float]], limit: float) -> str | None:
    """Which circuits to take off until the rest fits."""
    rest = sum(amps for _, amps in parts)
    moved = []
    for name, amps in sorted(parts, key=lambda part: -part[1]):
        if rest <= limit:
            break
        moved.append(name)
        rest -= amps
    return f"Put {' and '.join(moved)} behind another RCD: {rest * 1000:.3g} mA are left."


@rule(
    "residual.selectivity",
    over="RCDs",
    modes=[Mode.GRID, Mode.ISLAND],
    title="Of two RCDs in series the one nearer to the fault must open alone",
    clauses=[
        "IEC 60364-5-53, 535.3",
        "BS 7671:2018, 536.4.1.4 (from memory)",
    ],
)
def selectivity(study: Study, here: Here) -> Verdict | None:
    """I_Δn upstream / I_Δn downstream ≥ 3, and the upstream one delayed (S)

    Judged at the device nearer to the source. Where a fault behind both is solved, the times
    of both at the current that really flows are told.
    """
    job = study.job
    all_rcds = watchers(job, here.mode)
    watcher = all_rcds[here.name]
    behind = [other for other in all_rcds.values() if here.name in other.before]
    if not behind:
        return None
    return every([attempt(partial(_pair, study, here, watcher, other)) for other in behind])


def _pair(study: Study, here: Here, upstream: Watcher, downstream: Watcher) -> Verdict:
    """One pair: ratio of ratings, and delay."""
    upstream.guard.must_be_known()
    downstream.guard.must_be_known()
    up, down = upstream.guard.residual, downstream.guard.residual
    assert up is not None  # noqa: S101 - it asks nothing
    assert down is not None  # noqa: S101 - it asks nothing
    least = float(study.profile.number("rcd.selectivity_ratio"))
    ratio = float(up.trips_at_a) / float(down.trips_at_a)
    pair = f"{upstream.place}: {_told(up)}; {downstream.place}: {_told(down)}"
    ratings = at_least(
        ratio,
        least,
        "-",
        spread=0.0,  # ratings on two plates
        because=[pair, f"ratio = {ratio:g}", *_times(study, here, upstream, downstream)],
        remedies=[
            lambda: (
                f"Fit an RCD of {least * down.trips_at_a * 1000:g} mA or more, delayed (S), "
                f"in place of {upstream.place}."
            )
        ],
        means="Both may open, and more goes dark than need be." if ratio < least else "",
        confirmed="page",
    )
    delayed = up.delay == "S" and down.delay != "S"
    delay = Verdict(
        status=Status.MET if delayed else Status.NOT_MET,
        because=[pair],
        means="" if delayed else "Both may open, and more goes dark than need be.",
        remedies=[lambda: f"Fit a delayed RCD (S) in place of {upstream.place}."],
        confirmed="page",
    )
    return every([ratings, delay])


def _told(rcd: Residual) -> str:
    return f"{rcd.trips_at_a * 1000:g} mA{' S' if rcd.delay == 'S' else ''}"


def _times(study: Study, here: Here, upstream: Watcher, downstream: Watcher) -> list[str]:
    """Both times at the earth fault of the first circuit behind both; nothing where unsolved."""
    for name in downstream.circuits:
        there = Here("circuit", name, here.mode, study.job.circuits[name].board)
        try:
            faults, at = study.worst_faults(there)[0]
            amps = [seen_a(w.guard, faults, at) for w in (downstream, upstream)]
            _, latest = residual_time_s(_of(downstream), amps[0])
            earliest, _ = residual_time_s(_of(upstream), amps[1])
        except Unknown:
            continue
        return [
            f"earth fault at {name}: {downstream.place} at {amps[0]:.3g} A within {latest:g} s",
            f"{upstream.place} at {amps[1]:.3g} A after {earliest:g} s at the earliest",
        ]
    return []


def _of(watcher: Watcher) -> Residual:
    assert watcher.guard.residual is not None  # noqa: S101 - asked before
    return watcher.guard.residual


@rule(
    "residual.time",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="An RCD for additional protection must open within 40 ms at five times its rating",
    clauses=["IEC 60364-4-41:2005+A1:2017, 415.1.1", "BS 7671:2018, 415.1.1"],
)
def additional_time(study: Study, here: Here) -> Verdict | None:
    """t(5 · I_Δn) ≤ 40 ms

    Of all RCDs in the way that are sensitive enough the quickest counts. Times at the current
    of a real fault are the matter of automatic disconnection.
    """
    circuit = study.job.circuits[here.name]
    if not asks_additional(study, circuit):
        return None
    limit = float(study.profile.number("rcd.additional_rating"))
    times, allowed = (
        float(study.profile.number(key)) for key in ("rcd.additional_times", "rcd.additional_time")
    )
    found: list[tuple[float, float, str]] = []
    asks: list[Question] = []
    for guard in guards_at(study.job, "circuit", here.name, here.mode)[0]:
        if guard.role != "RCD":
            continue
        try:
            guard.must_be_known()
            rcd = guard.residual
            if rcd is not None and rcd.trips_at_a <= limit:
                kind = "S" if rcd.delay == "S" else "general"
                i_dn = float(rcd.trips_at_a)
                found.append((rcd_time_s(i_dn, kind, times * i_dn)[1], i_dn, guard.name))
        except Unknown as gap:
            asks += gap.questions
    if asks and not (found and min(found)[0] <= allowed):
        raise Unknown(*asks)
    if not found:
        return None  # residual.additional-protection tells that there is none
    latest, i_dn, name = min(found)
    return at_most(
        latest,
        allowed,
        "s",
        spread=0.0,  # a time that the device's standard promises
        because=[f"{name}, I_Δn = {i_dn * 1000:g} mA", f"t({times:g} · I_Δn) ≤ {latest:g} s"],
        remedies=[lambda: f"Fit an RCD of {limit * 1000:g} mA without delay in place of {name}."],
        confirmed="page",
    )


@rule(
    "residual.voltage",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="An RCD that needs voltage must find enough of it while an earth fault lasts",
    clauses=[
        "IEC 60364-5-53:2019, 531.3.4 (from memory)",
        "BS 7671:2018, 531.3.4.2 (from memory)",
    ],
)
def needs_voltage(study: Study, here: Here) -> Verdict | None:
    """U_left ≥ U_needed, at every RCD in the way that depends on voltage

    The source gives no more than its limit, and that current through the loop is all the
    voltage that is left at the board. One that finds too little never opens.
    """
    if not earthed(study.job.circuits[here.name]):
        return None
    rcds = [g for g in guards_at(study.job, "circuit", here.name, here.mode)[0] if g.role == "RCD"]
    asks = [q for g in rcds for q in g.asks]
    needing = []
    for guard in rcds:
        if guard.residual is None:
            continue
        if guard.residual.gap("needs_voltage_v") is not None:
            asks.append(guard.residual.question("needs_voltage_v"))
        elif guard.residual.needs_voltage_v is not None:
            needing.append((guard, float(guard.residual.needs_voltage_v)))
    if asks:
        raise Unknown(*asks)
    if not needing:
        return None
    verdicts = []
    for faults, at in study.worst_faults(here):
        line = faults.ports.names[at.row].kind.partition("-")[0]
        for guard, needed in needing:
            left = faults.volts(at, guard.bar, line)
            verdicts.append(_left(study, here, guard.name, left, needed))
    return every(verdicts)


def _left(study: Study, here: Here, name: str, left: float, needed: float) -> Verdict:
    """One device against the voltage at its bar."""
    return at_least(
        left,
        needed,
        "V",
        spread=spread_of(study.profile, "loop_reading", left),
        because=[f"U_left = {left:.1f} V at {name}", f"U_needed = {needed:g} V"],
        means="It stays closed as long as the fault lasts." if left < needed else "",
        remedies=[lambda: f"Fit an RCD that needs no voltage in place of {name}."],
        confirmed="memory",
    )
