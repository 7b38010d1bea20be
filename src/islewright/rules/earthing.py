"""Chapter: means of earthing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from islewright.findings import Status, Verdict, at_most
from islewright.job.model import Circuit
from islewright.network.alive import island_has_board
from islewright.network.race import guards_at, residual_time_s
from islewright.network.state import Mode
from islewright.network.way import Guard
from islewright.rules.clearing import ahead_of
from islewright.rules.demand import own_spread
from islewright.rules.disconnection import touch_limit_v
from islewright.rules.mend import behind_an_rcd
from islewright.rules.neutral_switching import continuous_admitted
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study
from islewright.rules.time_allowed import allowed_s
from islewright.tables.figure import Figure

#: methods of laying that lie in the ground
BURIED = ("D1", "D2")


@rule(
    "earthing.island-means",
    over="house",
    modes=[Mode.ISLAND],
    title="The island must have a means of earthing that does not rely on the network",
    clauses=[
        "IEC 60364-5-55:2011, 551.4.3.2.1 (from memory)",
        "BS 7671:2018, 551.4.3.2.1, 826.1.1.2.1",
    ],
)
def island_means(study: Study, _here: Here) -> Verdict:
    """Means of earthing in island mode = local electrode, or the PEN where the operator allows it

    The operator's earth may stay connected, but in an outage nobody answers for it. His word
    counts where his neutral stays joined and the rule set admits that; a TT or IT supply
    brings no earth.
    """
    earthing = study.job.earthing
    means = earthing.in_island_mode
    because = [f"island relies on: {means}"]
    if means == "local electrode":
        electrode = earthing.electrode
        if electrode is None:
            return Verdict(
                status=Status.NOT_MET,
                because=[*because, "there is no electrode"],
                remedies=[lambda: "Drive an earth electrode at the house."],
            )
        island_has_board(study.job)
        because.append(f"R_E = {electrode.resistance_ohm:g} Ω, measured: {electrode.measured_by}")
        return Verdict(
            status=Status.MET,
            because=because,
            confirmed="memory",
            means=""
            if study.profile.applies("island.electrode_max")
            else f"The profile {study.profile.name} states no limit for this electrode.",
        )
    return _on_the_operator(study, because)


def _on_the_operator(study: Study, because: list[str]) -> Verdict:
    """An island that relies on the operator's earth."""
    job = study.job
    why = _no_earth_of_the_operator(study)
    allowed = why or f"operator: {job.earthing.operator_allows_pen}"
    fits = allowed == "operator: allowed"
    if fits:
        island_has_board(job)
    return Verdict(
        status=Status.MET if fits else Status.NOT_MET,
        because=[*because, allowed],
        remedies=[
            lambda: (
                "Take the house's own electrode as the earth of the island."
                if job.earthing.electrode is not None
                else "Drive an earth electrode at the house."
            )
        ],
        confirmed="memory",
    )


def _no_earth_of_the_operator(study: Study) -> str:
    """Why no word of the operator makes his earth the island's; empty where it may."""
    system = study.job.supply.system_earthing
    if system in ("TT", "IT"):
        return f"a supply of system {system} brings no earth"
    if "N" in study.job.switch.switched_poles:
        return "the neutral is opened: the island must not rely on the network's earth"
    if not continuous_admitted(study):
        return f"{study.profile.name} lets no island rely on the network's earth"
    return ""


@rule(
    "earthing.electrode",
    over="house",
    modes=[Mode.GRID, Mode.ISLAND],
    title="The electrode must be low enough to stay steady through the seasons",
    clauses=["IEC 60364-5-54:2011, 542.2 (states no ohms)", "BS 7671:2018, Table 41.5, note 2"],
)
def electrode(study: Study, here: Here) -> Verdict | None:
    """R_A ≤ R_max of the profile

    In each mode that earths the house by its own electrode. A dry summer or frost doubles
    what was measured; above the figure nobody trusts it.
    """
    earthing = study.job.earthing
    relied = earthing.in_grid_mode if here.mode is Mode.GRID else earthing.in_island_mode
    limit_key = "island.electrode_max"
    if relied != "local electrode" or not study.profile.applies(limit_key):
        return None
    if earthing.electrode is None:
        return None  # `earthing.island-means` tells that it is not there
    r_a, limit = earthing.electrode.resistance_ohm, study.profile.number(limit_key)
    return at_most(
        float(r_a),
        float(limit),
        "ohm",
        spread=own_spread(study.profile, "electrode_reading", r_a),
        because=[f"R_A = {r_a:g} Ω, measured: {earthing.electrode.measured_by}"],
        remedies=[lambda: f"Bring the electrode down to {limit:g} Ω or less."],
        confirmed=limit.confirmed,
    )


@rule(
    "earthing.line-on-soil",
    over="circuits",
    modes=[Mode.ISLAND],
    title="A line of the island that may touch the soil must be cut off, or lift the earth little",
    clauses=[
        "IEC 60364-4-41:2005+A1:2017, 411.4.1 (from memory)",
        "BS 7671:2018, 411.4 (from memory)",
    ],
)
def line_on_soil(study: Study, here: Here) -> Verdict | None:
    """R_B / R_E ≤ 50 V / (U_0 − 50 V), else R_B · I_Δn ≤ 50 V of an RCD that opens in time

    In the island this electrode is R_B, and all that holds the earth when a line touches the
    soil. R_E is what a line on the soil has at least. Where that is too little an RCD must
    open at 50 V / R_B; one ahead of the bond sees nothing of it. Of circuits that lie in the
    ground or lead outdoors.
    """
    circuit = study.job.circuits[here.name]
    if not _may_touch_soil(circuit):
        return None
    earthing = study.job.earthing
    if earthing.in_island_mode != "local electrode" or earthing.electrode is None:
        return None
    r_b = earthing.electrode.resistance_ohm
    return first_way(_soil_ways(study, here, r_b))


def _may_touch_soil(circuit: Circuit) -> bool:
    """Whether a line of the circuit can reach the soil: buried, or for use outdoors."""
    return circuit.method in BURIED or circuit.use in ("outdoor", "charger")


@rule(
    "earthing.line-on-soil-cable",
    over="cables",
    modes=[Mode.ISLAND],
    title="A buried cable of the island must be cut off on a fault to the soil, or lift it little",
    clauses=[
        "IEC 60364-4-41:2005+A1:2017, 411.4.1 (from memory)",
        "BS 7671:2018, 411.4 (from memory)",
    ],
)
def cable_on_soil(study: Study, here: Here) -> Verdict | None:
    """R_B / R_E ≤ 50 V / (U_0 − 50 V), else R_B · I_Δn ≤ 50 V of an RCD that opens in time

    As for a circuit: a spade that finds a buried line joins it to the soil. Of distribution
    cables that lie in the ground; an RCD counts where it stands ahead of the cable.
    """
    if study.job.cables[here.name].method not in BURIED:
        return None
    earthing = study.job.earthing
    if earthing.in_island_mode != "local electrode" or earthing.electrode is None:
        return None
    return first_way(_soil_ways(study, here, earthing.electrode.resistance_ohm))


def _soil_ways(study: Study, here: Here, r_b: Figure) -> Iterator[Verdict]:
    u_0 = float(study.job.supply.nominal_voltage_v)
    u_l = touch_limit_v(
        study, study.job.circuits.get(here.name) if here.kind == "circuit" else None
    )
    spread = own_spread(study.profile, "electrode_reading", r_b)
    guards = ahead_of(study.job, here, guards_at(study.job, here.kind, here.name, Mode.ISLAND)[0])
    rcds = [guard for guard in guards if guard.role == "RCD"]
    allowed = allowed_s(study, here)
    for guard in rcds:
        yield attempt(partial(_cut_off, study, here, guard, (float(r_b), spread), u_l, allowed))
    r_e = float(study.profile.number("network.line_on_soil"))
    limit = u_l / (u_0 - u_l)
    yield at_most(
        float(r_b) / r_e,
        limit,
        "-",
        spread=spread / r_e,
        because=lambda: [
            f"R_B / R_E = {r_b:g} Ω / {r_e:g} Ω (assumed) = {r_b / r_e:.2f}",
            f"{u_l:g} V / ({u_0:g} V − {u_l:g} V) = {limit:.3f}",
            *([] if rcds else ["no RCD stands in the way"]),
        ],
        means="A line on the soil would lift every frame of the house, and no device would open.",
        remedies=[partial(_residual_order, study, here, u_l / (float(r_b) + spread))],
        confirmed="memory",
    )


def _blind(study: Study, here: Here, guard: Guard) -> Verdict | None:
    """Whether an RCD misses what comes back by the electrode and the bond; None where it sees it.

    An earth fault of the circuit comes back the same way, so its share is that of the soil.
    """
    least = float(study.profile.number("rcd.sees_share"))
    for way in study.followed(here).ways:
        flows, seen = way.current_a, way.seen_a(guard)
        if seen < least * flows:
            told = f"{guard.name} sees {seen:.2f} A of an earth fault of {flows:.2f} A"
            return Verdict(status=Status.NOT_MET, because=[told], confirmed="memory")
    return None


def _cut_off(
    study: Study, here: Here, guard: Guard, earth: tuple[float, float], u_l: float, allowed: float
) -> Verdict:
    """One RCD: it sees the current, opens where that lifts the earth to U_L, and in time."""
    guard.must_be_known()
    assert guard.residual is not None  # noqa: S101 - the caller takes RCDs alone
    blind = _blind(study, here, guard)
    if blind is not None:
        return blind
    i_dn, (r_b, spread) = float(guard.residual.trips_at_a), earth
    latest = residual_time_s(guard.residual, u_l / r_b)[1]
    told = f"R_B · I_Δn = {r_b:g} Ω · {i_dn * 1000:g} mA = {r_b * i_dn:.2f} V ({guard.name})"
    lifted = at_most(
        r_b * i_dn, u_l, "V", spread=spread * i_dn, because=[told], confirmed="memory",
        remedies=[partial(_lower, u_l / i_dn / (1 + spread / r_b))],
    )  # fmt: skip
    if not math.isfinite(latest):
        return lifted
    in_time = at_most(
        latest, allowed, "s", spread=0.0, confirmed="page",
        because=[f"{guard.name} at {u_l / r_b:.3g} A: within {latest:g} s; allowed {allowed:g} s"],
        remedies=[partial(_lower, u_l / (5 * i_dn) / (1 + spread / r_b))],
    )  # fmt: skip
    return every([lifted, in_time])


def _lower(ohm: float) -> str:
    return f"Bring the electrode down to {math.floor(ohm)} Ω or less."


def _residual_order(study: Study, here: Here, amps: float) -> str:
    if here.kind == "cable":
        return f"Fit an RCD where the cable {here.name} begins, on the load side of the bond."
    return behind_an_rcd(study, here, amps, math.inf, allowed_s(study, here))
