"""Chapter: sources on the a.c. side: what the island can hold back, what one line may take."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_most
from islewright.job.model import Job
from islewright.network.state import Mode
from islewright.network.way import is_backed_up
from islewright.rules.demand import spread_of
from islewright.rules.inflow import fed_by_pv, pv_lines, sources_in_circuits
from islewright.rules.permitted import permitted
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

PRACTICE = "common practice, no source"


def island_sources_w(study: Study) -> tuple[float, list[str]]:
    """Power of sources on the a.c. side that the island feeds too [W], and whose it is.

    Raises
    ------
    Unknown : a fact of one of them is not stated
    """
    job, found = study.job, list[tuple[str, float]]()
    pv = fed_by_pv(job)
    if pv is not None and is_backed_up(job, pv[0]):
        found.append(("PV array", pv[1]))
    found += [
        (f"source in {name}", _source_w(job, name, amps))
        for name, amps in sources_in_circuits(job).items()
        if is_backed_up(job, job.circuits[name].board)
    ]
    return sum(watts for _, watts in found), [f"{name}: {watts:.0f} W" for name, watts in found]


def _source_w(job: Job, circuit: str, amps: float) -> float:
    u_0 = float(job.supply.nominal_voltage_v)
    return amps * u_0 * len(job.lines_of(job.circuits[circuit]))


@rule(
    "sources.ac-pv",
    over="house",
    modes=[Mode.ISLAND],
    title="The inverter must be able to hold back the PV that feeds in on its a.c. side",
    clauses=["IEC 60364-5-55:2011, 551.7.1 (from memory)", "BS 7671:2018, 551.7.1 (from memory)",
             PRACTICE],
)  # fmt: skip
def ac_pv(study: Study, _here: Here) -> Verdict | None:
    """Σ P on the a.c. side of the island ≤ what the maker lets the inverter hold back

    In an island nobody else takes what PV gives: it must be held back, or the voltage rises.
    """
    watts, told = island_sources_w(study)
    if not told:
        return None
    limit = float(study.job.inverter.ac_coupled_w or 0)
    spread = spread_of(study.profile, "maker", watts)
    return at_most(
        watts,
        limit,
        "W",
        spread=spread,
        because=lambda: [*told, f"a.c.-coupled PV at most: {limit:.0f} W"],
        remedies=[
            lambda: f"Fit an inverter that holds back {watts + spread:.0f} W on its a.c. side.",
            lambda: "Move the PV to a board that is dead in an outage.",
        ],
        means="The island's voltage or frequency would run away, or the inverter stop."
        if watts > limit
        else "",
        confirmed="memory",
    )


@rule(
    "sources.battery-full",
    over="house",
    modes=[Mode.ISLAND],
    title="With a full battery and nothing switched on, the PV of an island must give less",
    clauses=["IEC 60364-5-55:2011, 551.7.1 (from memory)", "BS 7671:2018, 551.7.1 (from memory)",
             PRACTICE],
)  # fmt: skip
def battery_full(study: Study, _here: Here) -> Verdict | None:
    """PV on the a.c. side → it gives less as the island's frequency rises

    What the battery takes while it is not full is told beside; full, it takes nothing.
    """
    job = study.job
    watts, told = island_sources_w(study)
    if not told:
        return None
    battery = job.battery
    takes = float(battery.largest_current_a) * float(battery.nominal_v) if battery else 0.0
    array = None if "PV array" not in told[0] else job.pv
    follows = array is not None and array.when_too_much == "gives less" and len(told) == 1
    return Verdict(
        status=Status.MET if follows else Status.NOT_MET,
        because=lambda: [
            *told,
            f"a battery that is not full takes {takes:.0f} W, a full one nothing",
            "as the frequency rises the PV gives less"
            if follows
            else f"nothing holds back {watts:.0f} W",
        ],
        remedies=[
            lambda: "Fit a PV inverter that gives less as the frequency rises, and set it to.",
            lambda: "Move the PV to a board that is dead in an outage.",
        ],
        confirmed="memory",
    )


@rule(
    "sources.unbalance",
    over="house",
    modes=[Mode.GRID],
    title="Single-phase sources must not feed more into one line than the network admits",
    clauses=["IEC 60364-5-55:2011, 551.7.1 (from memory)", "BS 7671:2018, 551.7.1 (from memory)",
             "the network operator's conditions"],
)  # fmt: skip
def unbalance(study: Study, _here: Here) -> Verdict | None:
    """Σ S of single-phase sources on one line ≤ limit of the operator or the rule set

    What feeds one line alone shifts the voltages of the whole street.
    """
    lines, told = _single_phase_va(study)
    if not told:
        return None
    allowed = permitted(study, "sources.unbalance", "unbalance_va")
    if allowed is None:
        return None
    line = max(lines, key=lines.__getitem__)
    spread = spread_of(study.profile, "maker", lines[line])
    return at_most(
        lines[line],
        allowed.limit,
        "VA",
        spread=spread,
        because=[*told, f"on {line}: {lines[line]:.0f} VA",
                 f"{allowed.by} {allowed.limit:.0f} VA"],
        remedies=[
            lambda: f"Ask the operator to admit {lines[line] + spread:.0f} VA on one line.",
            lambda: "Fit a source that feeds all lines alike." if len(lines) > 1 else None,
        ],
        confirmed=allowed.confirmed,
    )  # fmt: skip


def _single_phase_va(study: Study) -> tuple[dict[str, float], list[str]]:
    """Power of single-phase sources on each line [VA], and its terms.

    An inverter on bridged lines counts on the line that others feed most: it may feed any.
    """
    job, told = study.job, list[str]()
    lines = dict.fromkeys(job.phases, 0.0)

    def add(line: str, va: float, name: str) -> None:
        lines[line] += va
        told.append(f"{name} on {line}: {va:.0f} VA")

    pv = fed_by_pv(job)
    if pv is not None and len(pv_lines(job)) == 1:
        add(pv_lines(job)[0], pv[1], "PV array")
    for name, amps in sources_in_circuits(job).items():
        lines_of = job.lines_of(job.circuits[name])
        if len(lines_of) == 1:
            add(lines_of[0], _source_w(job, name, amps), f"source in {name}")
    for line, va in _inverter_va(study, lines):
        add(line, va, "inverter")
    return lines, told


def _inverter_va(study: Study, others: dict[str, float]) -> list[tuple[str, float]]:
    """What the inverter feeds into single lines [VA], beside what others feed there."""
    job, output = study.job, study.job.inverter.output
    if output == "single units per phase":
        return [(line, study.phase_va) for line in others]
    if len(others) > 1 and not output.startswith("single-phase"):
        return []
    line = max(others, key=others.__getitem__)
    if len(others) > 1 and output == "single-phase":
        line = job.placement.inverter.line[0]
    return [(line, float(job.inverter.rated_va))]
