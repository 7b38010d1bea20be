"""Chapter: what the inverter can carry and start, and what it must not feed."""

from __future__ import annotations

from islewright.findings import Verdict, at_most
from islewright.job.gap import Unknown
from islewright.network.solve import Solved
from islewright.network.state import ISLAND, ISLAND_STREET, Mode
from islewright.network.way import is_backed_up
from islewright.rules.demand import loads_va, spread_of, starting
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
    questions = []
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
    return at_most(
        total,
        rated,
        "VA",
        spread=spread_of(study.profile, "load_power", total),
        because=[*told, f"S = {total:.0f} VA", f"S_rated = {rated:.0f} VA"],
        remedies=[lambda: f"Take {total - rated:.0f} VA off the backed-up boards."],
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
    return at_most(
        demand[line],
        limit,
        "VA",
        spread=spread_of(study.profile, "load_power", demand[line]),
        because=[*(f"S_{name} = {va:.0f} VA" for name, va in demand.items()),
                 f"S_phase = {limit:.0f} VA"],
        remedies=[lambda: f"Move circuits from {line} to {min(demand, key=demand.__getitem__)}."],
        confirmed="memory",
    )  # fmt: skip


@rule(
    "source.motor-start",
    over="house",
    modes=[Mode.ISLAND],
    title="The inverter must start the largest motor on top of the rest",
    clauses=[PRACTICE],
)
def motor_start(study: Study, _here: Here) -> Verdict | None:
    """S_rest + k_start · S_motor ≤ S_surge

    The motor that adds most at its start, with every other load at its demand.
    """
    job = study.job
    worst: tuple[float, str, float, float] | None = None
    for name, circuit in job.circuits.items():
        if not is_backed_up(job, circuit.board) or not circuit.has("loads"):
            continue
        for load in circuit.loads.values():
            if starting(load):
                va = float(load.power_w) / float(load.power_factor)
                factor = float(job.boards[circuit.board].demand_factor)
                added = va * (float(load.starts_at_x) - factor)
                if worst is None or added > worst[0]:
                    worst = (added, name, va, float(load.starts_at_x))
    if worst is None:
        return None
    added, name, va, times = worst
    demand, told = island_demand_va(study)
    rest = sum(demand.values()) + added - va * times
    total = rest + va * times
    surge = job.inverter.surge
    _ = surge.for_s
    limit = float(surge.power_va)
    return at_most(
        total,
        limit,
        "VA",
        spread=spread_of(study.profile, "load_power", total),
        because=[*told,
                 f"S_start of {name} = {times:g} · {va:.0f} VA = {times * va:.0f} VA",
                 f"S_rest = {rest:.0f} VA",
                 f"S_rest + S_start = {total:.0f} VA",
                 f"S_surge = {limit:.0f} VA for {surge.for_s:g} s"],
        remedies=[lambda: _soft_start(va, rest, limit),
                  lambda: f"{name} on a board that is not backed up."],
        means=f"{name} would stall, or the inverter would stop and the house with it."
        if total > limit else "",
        confirmed="memory",
    )  # fmt: skip


def _soft_start(va: float, rest: float, limit: float) -> str | None:
    times = (limit - rest) / va
    return f"A starter that holds the start to {times:.1f} times." if times >= 1 else None


@rule(
    "source.phase-start",
    over="house",
    modes=[Mode.ISLAND],
    title="Each phase of the inverter must carry the largest start on its line",
    clauses=[PRACTICE],
)
def phase_start(study: Study, _here: Here) -> Verdict | None:
    """S_rest + k_start · S_motor ≤ S_surge / 3, on the line where it adds most"""
    job = study.job
    if len(job.phases) == 1 or job.inverter.output.startswith("single-phase"):
        return None
    demand, _ = island_demand_va(study)
    worst: tuple[float, str, str] | None = None
    for name, circuit in job.circuits.items():
        if not is_backed_up(job, circuit.board) or not circuit.has("loads"):
            continue
        lines = job.lines_of(circuit)
        factor = float(job.boards[circuit.board].demand_factor)
        for load in circuit.loads.values():
            if starting(load):
                va = float(load.power_w) / float(load.power_factor) / len(lines)
                for line in lines:
                    total = demand[line] + va * (float(load.starts_at_x) - factor)
                    if worst is None or total > worst[0]:
                        worst = (total, name, line)
    if worst is None:
        return None
    total, name, line = worst
    limit = float(job.inverter.surge.power_va) / len(job.phases)
    return at_most(
        total, limit, "VA", spread=spread_of(study.profile, "load_power", total),
        because=[f"S_rest on {line} = {demand[line]:.0f} VA", f"with the start of {name}: {total:.0f} VA",
                 f"S_surge / {len(job.phases)} = {limit:.0f} VA"],
        confirmed="memory",
    )  # fmt: skip


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
    study.clean(Here("board", _first_backed_up(study), here.mode))
    worst = 0.0
    where = ""
    for state in (ISLAND, ISLAND_STREET):
        solved: Solved = study.net.solved(state)
        for conductor in (*study.job.phases, "N"):
            volts = abs(solved.voltage("islanding switch/grid", conductor))
            if volts >= worst:
                worst, where = volts, f"{conductor}, {state.name}"
    limit = float(study.profile.number("disconnection.touch_voltage"))
    return at_most(
        worst, limit, "V", spread=worst * 0.01,
        because=[f"largest: {worst:.2f} V ({where})", f"U_L = {limit:g} V"],
        means="The inverter feeds the street." if worst > limit else "",
        confirmed="memory",
    )  # fmt: skip


def _first_backed_up(study: Study) -> str:
    return next(name for name in study.job.boards if is_backed_up(study.job, name))


