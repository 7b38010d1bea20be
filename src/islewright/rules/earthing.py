"""Chapter: means of earthing."""

from __future__ import annotations

from islewright.findings import Status, Verdict
from islewright.network.alive import island_has_board
from islewright.network.state import Mode
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study


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

    The operator's earth may stay connected, but in an outage nobody answers for it.
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
            means="The IEC base states no limit for this electrode.",
        )
    allowed = earthing.operator_allows_pen
    if allowed == "allowed":
        island_has_board(study.job)
    return Verdict(
        status=Status.MET if allowed == "allowed" else Status.NOT_MET,
        because=[*because, f"operator: {allowed}"],
        remedies=[lambda: "Drive an earth electrode at the house."],
        confirmed="memory",
    )
