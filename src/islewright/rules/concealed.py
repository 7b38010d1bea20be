"""Chapter: cables that lie in walls without anybody seeing them (522.6)."""

from __future__ import annotations

from functools import partial

from islewright.findings import Status, Verdict, at_least, at_most
from islewright.network.race import guards_at
from islewright.network.state import Mode
from islewright.network.way import Guard
from islewright.rules.demand import own_spread
from islewright.rules.registry import Here, attempt, first_way, rule
from islewright.rules.residual import additional_remedy, asks_additional
from islewright.rules.study import Study
from islewright.tables.figure import Figure


@rule(
    "residual.concealed",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A cable that lies shallow in a wall must have a 30 mA RCD, where the rule set asks it",
    clauses=["IEC 60364-5-52:2009, 522.6 (asks no RCD; from memory)",
             "BS 7671:2018, 522.6.202, 522.6.203 (from memory)"],
)  # fmt: skip
def concealed(study: Study, here: Here) -> Verdict | None:
    """I_Δn ≤ 30 mA, else depth in the wall ≥ 50 mm, or no wall

    Whoever drives a nail meets it. Earthed metal round the cable does as well. Circuits that
    must have such an RCD for their use are judged by that.
    """
    least = study.profile.number("concealed.depth")
    if asks_additional(study, study.job.circuits[here.name]):
        return None
    return first_way(
        attempt(way) for way in (partial(_by_rcd, study, here), partial(_deep, study, here, least))
    )


def _by_rcd(study: Study, here: Here) -> Verdict:
    """The most sensitive RCD in the way; one that nobody knows is asked for where none does."""
    limit = study.profile.number("rcd.additional_rating")
    rcds = [g for g in guards_at(study.job, "circuit", here.name, here.mode)[0] if g.role == "RCD"]
    ways = [attempt(partial(_sensitive, guard, limit)) for guard in rcds]
    none = Verdict(status=Status.NOT_MET, because=["no RCD stands in the way in this mode"],
                   confirmed=limit.confirmed)  # fmt: skip
    found = first_way(ways) if ways else none
    return found.but(remedies=[lambda: additional_remedy(study, here, float(limit))])


def _sensitive(guard: Guard, limit: Figure) -> Verdict:
    guard.must_be_known()
    assert guard.residual is not None  # noqa: S101 - a guard of this role that asks nothing has it
    i_dn = float(guard.residual.trips_at_a)
    return at_most(
        i_dn,
        float(limit),
        "A",
        spread=0.0,  # a rating on the plate, against a rating
        because=lambda: [f"I_Δn = {i_dn * 1000:g} mA ({guard.name})"],
        confirmed=limit.confirmed,
    )


def _deep(study: Study, here: Here, least: Figure) -> Verdict:
    depth = study.job.circuits[here.name].wall_depth_m
    if depth is None:
        told = "it lies in no wall, or earthed metal lies round it"
        return Verdict(status=Status.MET, because=[told], confirmed=least.confirmed)
    return at_least(
        float(depth),
        float(least),
        "m",
        spread=own_spread(study.profile, "length", depth),
        because=lambda: [f"depth in the wall: {depth * 1000:g} mm"],
        remedies=[lambda: "Lay it outside the wall, or with earthed metal round it."],
        confirmed=least.confirmed,
    )
