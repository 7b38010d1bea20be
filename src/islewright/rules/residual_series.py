"""Chapter: what leaks through residual current devices, and two of them in series."""

from __future__ import annotations

import math
from functools import partial

from islewright.findings import Question, Status, Verdict, at_least, at_most
from islewright.job.device import Residual
from islewright.job.gap import Unknown
from islewright.job.model import Circuit, Job
from islewright.network.race import residual_time_s
from islewright.network.state import Mode
from islewright.network.watched import Watcher, on_dc_way, pv_way, watchers
from islewright.rules.demand import spread_of
from islewright.rules.registry import Here, attempt, every, rule, undecided
from islewright.rules.study import Study


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
    plugged in. Cables are left out. What an inverter leaks, or one of the PV's own, counts
    where it comes back through the device.
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
    told = " + ".join(f"{amps * 1000:g}" for _, amps in parts)
    told = f"{told} = " if len(parts) > 1 else ""
    return at_most(
        total,
        limit,
        "A",
        spread=spread_of(study.profile, "leakage", total),
        because=lambda: [
            f"Σ I_leak = {told}{total * 1000:.3g} mA",
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
    for name in watcher.maybe:
        circuit = study.job.circuits[name]
        if circuit.gap("loads") is not None or _may_leak(circuit):
            asks.append(circuit.question("behind"))
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
    try:
        if watcher.guard.branch in pv_way(study.job, mode) and study.job.pv is not None:
            parts.append(("the inverter of the PV", float(study.job.pv.pe_current_a)))
    except Unknown as gap:
        asks += gap.questions
    return parts, asks


def _may_leak(circuit: Circuit) -> bool:
    """Whether some load of a circuit leaks, or may."""
    return any(load.gap("leakage_a") or load.leakage_a for load in circuit.loads.values())


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
    pairs = [attempt(partial(_pair, study, here, watcher, other)) for other in behind]
    asks = [job.circuits[name].question("behind") for name in watcher.maybe
            if _may_have_its_own(job, name)]  # fmt: skip
    if asks:
        pairs.append(undecided(Unknown(*asks)))
    return every(pairs) if pairs else None


def _may_have_its_own(job: Job, name: str) -> bool:
    """Whether a circuit has an RCD of its own, or may have."""
    circuit = job.circuits[name]
    if circuit.gap("device") is not None or circuit.device.gap("residual") is not None:
        return True
    return circuit.device.residual is not None


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
        because=lambda: [pair, f"ratio = {ratio:.3g}", *_times(study, here, upstream, downstream)],
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
            fault = study.followed(there).ways[0]
            amps = [fault.seen_a(w.guard) for w in (downstream, upstream)]
            _, latest = residual_time_s(_of(downstream), amps[0])
            earliest, _ = residual_time_s(_of(upstream), amps[1])
        except Unknown:
            continue
        quick = f"within {latest:g} s" if math.isfinite(latest) else "may never open"
        slow = f"after {earliest:g} s at the earliest" if math.isfinite(earliest) else "never opens"
        return [
            f"earth fault at {name}: {downstream.place} at {amps[0]:.3g} A: {quick}",
            f"{upstream.place} at {amps[1]:.3g} A: {slow}",
        ]
    return []


def _of(watcher: Watcher) -> Residual:
    assert watcher.guard.residual is not None  # noqa: S101 - asked before
    return watcher.guard.residual
