"""Chapter: what the survey says of the public supply must hold together."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.network.places import MET
from islewright.network.state import Mode
from islewright.rules.disconnection import earthed
from islewright.rules.loop import loop_by_hand, origin_loop
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study


@rule(
    "supply.system-confirmed",
    over="house",
    modes=[Mode.GRID],
    title="The operator must have confirmed the system earthing",
    clauses=["IEC 60364-1, 312.2 (from memory)", "BS 7671:2018, 312.2, 313.1 (from memory)"],
)
def system_confirmed(study: Study, _here: Here) -> Verdict:
    """Stated system earthing = system earthing that the operator confirms

    A separate earth conductor alone does not prove TN-S: somewhere in the street it may be
    a PEN.
    """
    supply = study.job.supply
    because = [f"stated: {supply.system_earthing}"]
    if supply.confirmed_by_operator == "confirmed":
        return Verdict(status=Status.MET, because=lambda: [*because, "confirmed by the operator"])
    return Verdict(
        status=Status.UNDECIDED,
        because=lambda: [*because, "not confirmed"],
        questions=[supply.question("confirmed_by_operator")],
        means="Every finding in grid mode stands on this system earthing.",
    )


@rule(
    "supply.loops-agree",
    over="house",
    modes=[Mode.GRID],
    title="With a PEN, the line-neutral and the line-earth loop at the origin must agree",
    clauses=["common practice, no source: both loops run through the same PEN"],
)
def loops_agree(study: Study, _here: Here) -> Verdict | None:
    """|Z_LN − Z_LPE| ≤ what the tester may be off

    Both readings go through the same PEN. A difference means another system, or a bad joint.
    """
    if study.job.supply.system_earthing != "TN-C-S":
        return None
    z_ln, spread_ln = origin_loop(study, "line_neutral_ohm")
    z_lpe, spread_lpe = origin_loop(study, "line_earth_ohm")
    difference, limit = abs(z_ln - z_lpe), spread_ln + spread_lpe
    return at_most(
        difference,
        limit,
        "ohm",
        spread=limit / 10,
        because=lambda: [
            f"Z_LN = {z_ln:.3f} Ω",
            f"Z_LPE = {z_lpe:.3f} Ω",
            f"|Z_LN − Z_LPE| = {difference:.3f} Ω",
            f"limit = {spread_ln:.4f} Ω + {spread_lpe:.4f} Ω = {limit:.4f} Ω",
        ],
        means="The supply is not what it seems." if difference > limit else "",
        remedies=[
            lambda: "Ask the operator which system the street has and how its PEN is joined."
        ],
        confirmed="memory",
    )


@rule(
    "supply.hand-and-network",
    over="circuits",
    modes=[Mode.GRID],
    title="The loop by hand and the network must give the same fault current",
    clauses=["check of this program on itself, limit its own"],
)
def hand_and_network(study: Study, here: Here) -> Verdict | None:
    """|I_network − U_0 / Z_s| / (U_0 / Z_s) ≤ 5 %

    A person can redo Z_s; the network also knows parallel earths and reactance. More apart
    than this, one of the two has the house wrong.
    """
    circuit = study.job.circuits[here.name]
    if study.job.supply.system_earthing not in ("TN-C-S", "TN-S") or not earthed(circuit):
        return None
    missing = study.net.parts.missing
    beside = (*missing.get("electrode", ()), *missing.get(MET, ()))
    if beside:
        raise Unknown(*beside)
    _ = study.job.earthing.parallel_earths  # what nobody looked for is not in the network
    by_network = study.followed(here).ways[0].current_a
    z_s = loop_by_hand(study, here)[2]
    u_0, c_min = (
        float(study.job.supply.nominal_voltage_v),
        float(study.profile.number("loop.c_min")),
    )
    by_hand = c_min * u_0 / z_s
    apart = abs(by_network - by_hand) / by_hand * 100
    limit = float(study.profile.number("loop.disagreement"))
    return at_most(
        apart,
        limit,
        "%",
        spread=0.01,
        because=lambda: [
            f"Z_s = {z_s:.3f} Ω, U_0 / Z_s = {by_hand:.1f} A",
            f"network: {by_network:.1f} A",
            f"apart: {apart:.1f} %",
        ],
        remedies=[lambda: f"Measure the loop at the far end: {z_s:.2f} Ω by hand, hot."],
        confirmed="memory",
    )
