"""Chapter: loads that are declared to be shed in an outage."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_most
from islewright.job.model import Job
from islewright.network.alive import lies_dead
from islewright.network.state import Mode
from islewright.network.way import is_backed_up
from islewright.rules.demand import spread_of
from islewright.rules.registry import Here, rule
from islewright.rules.source import PRACTICE, island_demand_va, island_line_va
from islewright.rules.study import Study


@rule(
    "shedding.in-time",
    over="house",
    modes=[Mode.ISLAND],
    title="What is shed on overload must be off before the inverter gives up",
    clauses=[
        "IEC 60364-5-55, 551.2 (from memory)",
        "BS 7671:2018, 551.2 (from memory)",
        PRACTICE,
    ],
)
def in_time(study: Study, _here: Here) -> Verdict | None:
    """t_shed ≤ t_inverter at the demand with all that is shed; S ≤ S_surge

    Until they are off the inverter carries them too. What it gives for a time is its own
    figure: continuously, for a timed power, or its surge. Each is stated in total and a phase
    gives its share, so that the busiest line counts as often as there are lines.
    """
    job = study.job
    shed = {
        name: circuit.shed
        for name, circuit in job.circuits.items()
        if circuit.shed is not None and is_backed_up(job, circuit.board)
        if circuit.shed.when == "on overload" and not lies_dead(job, circuit)
    }
    if not shed:
        return None
    demand, told = island_demand_va(study)
    lines, sheet = island_line_va(study), job.inverter
    total, told_total = _weight_va(job, sum(demand.values()), lines)
    spread = spread_of(study.profile, "load_power", total)
    needed = max(float(each.within_s) for each in shed.values())
    because = [*told, f"{told_total} with {', '.join(shed)}"]
    if total + spread <= sheet.rated_va:
        return at_most(total, float(sheet.rated_va), "VA", spread=spread, confirmed="memory",
                       because=[*because, f"S_rated = {sheet.rated_va:.0f} VA"])  # fmt: skip
    if sum(demand.values()) + spread <= sheet.rated_va:
        by_phase = _by_phase(study, lines)  # a phase may give more than its share
        if by_phase.status is Status.MET:
            return by_phase.but(because=lambda: [*because, *by_phase.because])
    gives = [(float(t.power_va), float(t.for_s)) for t in (*sheet.timed.values(), sheet.surge)]
    lasts = [for_s for va, for_s in gives if va >= total + spread]
    remedies = [
        lambda: f"Set what sheds them to {max(lasts):g} s or less." if lasts else None,
        lambda: f"Take {', '.join(shed)} off before the island forms.",
    ]
    if not lasts:
        most = max(va for va, _ in gives)
        return at_most(total, most, "VA", spread=spread, confirmed="memory", remedies=remedies,
                       because=lambda: [*because, f"S_surge = {most:.0f} VA"])  # fmt: skip
    return at_most(
        needed, max(lasts), "s", spread=0.0, remedies=remedies, confirmed="memory",
        because=lambda: [
            *because, f"t_shed = {needed:g} s", f"the inverter gives it for {max(lasts):g} s"
        ],
    )  # fmt: skip


def _by_phase(study: Study, lines: dict[str, float]) -> Verdict:
    """Whether one phase of the inverter carries the busiest line for good."""
    line = max(lines, key=lines.__getitem__)
    most = float(study.job.inverter.phase_va)
    return at_most(
        lines[line], most, "VA", spread=spread_of(study.profile, "load_power", lines[line]),
        because=[f"S on {line} = {lines[line]:.0f} VA, S_phase = {most:.0f} VA"],
        confirmed="memory",
    )  # fmt: skip


def _weight_va(job: Job, total: float, lines: dict[str, float]) -> tuple[float, str]:
    """What a total must carry [VA], and how it comes about."""
    line = max(lines, key=lines.__getitem__)
    count = 1 if job.inverter.output.startswith("single-phase") else len(lines)
    if count * lines[line] <= total:
        return total, f"S = {total:.0f} VA"
    weight = count * lines[line]
    return weight, f"S = {count} · {lines[line]:.0f} VA on {line} = {weight:.0f} VA"
