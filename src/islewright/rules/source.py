"""Chapter: what the inverter can carry and start, and what it must not feed."""

from __future__ import annotations

from islewright.findings import Question, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.network.state import ISLAND, ISLAND_STREET, Mode
from islewright.network.way import is_backed_up
from islewright.rules.demand import loads_va, spread_of
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

PRACTICE = "common practice, no source"


def island_demand_va(study: Study) -> tuple[dict[str, float], list[str]]:
    """Demand of the backed-up boards on each line [VA], and how it comes about.

    Sum of the stated loads times the demand factor of their board; sockets count with the
    loads that are stated for them.

    Raises
    ------
    Unknown : a load or a demand factor is not stated, with all questions at once
    """
    job = study.job
    total = dict.fromkeys(job.phases, 0.0)
    questions: list[Question] = []
    told = []
    for name, board in job.boards.items():
        if not is_backed_up(job, name):
            continue
        factor = float(board.demand_factor)
        sum_va = 0.0
        for circuit in job.circuits.values():
            if circuit.board != name:
                continue
            try:
                va = loads_va(circuit)
            except Unknown as gap:
                questions += gap.questions
                continue
            sum_va += va
            lines = job.lines_of(circuit)
            for line in lines:
                total[line] += factor * va / len(lines)
        told.append(f"{name}: {factor:g} · {sum_va:.0f} VA = {factor * sum_va:.0f} VA")
    if questions:
        raise Unknown(*questions)
    return total, told


@rule(
    "source.continuous",
    over="house",
    modes=[Mode.ISLAND],
    title="The inverter must carry the demand of the backed-up boards",
    clauses=["IEC 60364-5-55, 551.2 (from memory)", PRACTICE],
)
def continuous(study: Study, _here: Here) -> Verdict:
    """Σ (demand factor · Σ S) ≤ S_rated"""
    demand, told = island_demand_va(study)
    total = sum(demand.values())
    rated = float(study.job.inverter.rated_va)
    spread = spread_of(study.profile, "load_power", total)
    return at_most(
        total,
        rated,
        "VA",
        spread=spread,
        because=[*told, f"S = {total:.0f} VA", f"S_rated = {rated:.0f} VA"],
        remedies=[
            lambda: f"Take {max(total - rated, 0) + spread:.0f} VA off the backed-up boards."
        ],
        confirmed="memory",
    )


@rule(
    "source.per-phase",
    over="house",
    modes=[Mode.ISLAND],
    title="Each phase of the inverter must carry the demand of its line",
    clauses=["IEC 60364-5-55, 551.2 (from memory)", PRACTICE],
)
def per_phase(study: Study, _here: Here) -> Verdict | None:
    """S_line ≤ S_phase, on the busiest line"""
    if len(study.job.phases) == 1 or study.job.inverter.output.startswith("single-phase"):
        return None
    demand, _ = island_demand_va(study)
    line = max(demand, key=demand.__getitem__)
    limit = float(study.job.inverter.phase_va)
    spread = spread_of(study.profile, "load_power", demand[line])
    return at_most(
        demand[line],
        limit,
        "VA",
        spread=spread,
        because=[
            *(f"S_{name} = {va:.0f} VA" for name, va in demand.items()),
            f"S_phase = {limit:.0f} VA",
        ],
        remedies=[lambda: _ease(demand, line, limit, spread)],
        confirmed="memory",
    )


def _ease(demand: dict[str, float], line: str, limit: float, spread: float) -> str:
    """Move what is too much to the line with most room, where it has that room."""
    excess = demand[line] + spread - limit
    other = min(demand, key=demand.__getitem__)
    if demand[other] + spread + excess <= limit:
        return f"Move circuits of {excess:.0f} VA demand from {line} to {other}."
    return f"Take {excess:.0f} VA of demand off {line}."


@rule(
    "source.grid-terminals-dead",
    over="house",
    modes=[Mode.ISLAND],
    title="In island mode the grid terminals of the islanding switch must be dead",
    clauses=["IEC 60364-5-55, 551.6, 551.7.4 (from memory)"],
)
def grid_terminals_dead(study: Study, here: Here) -> Verdict:
    """max |U_grid terminal| to true earth ≤ U_L

    Both with the street open and with a loaded street; people work on that line.
    """
    study.clean(Here("board", study.first_backed_up, here.mode, study.first_backed_up))
    found = [
        (abs(study.net.solved(state).voltage("islanding switch/grid", conductor)), conductor, state)
        for state in (ISLAND, ISLAND_STREET)
        for conductor in (*study.job.phases, "N")
    ]
    worst, conductor, state = max(found, key=lambda at: at[0])
    limit = float(study.profile.number("disconnection.touch_voltage"))
    return at_most(
        worst,
        limit,
        "V",
        spread=spread_of(study.profile, "maker", worst),
        because=[f"largest: {worst:.2f} V ({conductor}, {state.name})", f"U_L = {limit:g} V"],
        remedies=[lambda: "Fit an islanding switch that opens every line and the neutral."],
        means="The inverter feeds the street." if worst > limit else "",
        confirmed="memory",
        state=state.name,
    )
