"""Chapter: what the inverter can carry and start, and what it must not feed."""

from __future__ import annotations

import math

from islewright.findings import Question, Status, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.job.model import Circuit, Job
from islewright.network.alive import fed_lines, island_has_board, lies_dead, live_lines
from islewright.network.state import ISLAND, ISLAND_STREET, Mode
from islewright.network.way import circuits_of, is_backed_up
from islewright.rules.demand import lines_fed, loads_va, spread_of
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

PRACTICE = "common practice, no source"
#: when circuits are shed whose load the inverter never sees, and those that go on overload too
BEFORE = ("before the island forms",)
AT_ALL = (*BEFORE, "on overload")


@once_a_study
def island_demand_va(
    study: Study, gone: tuple[str, ...] = BEFORE
) -> tuple[dict[str, float], list[str]]:
    """Demand of the backed-up boards on each line [VA], and how it comes about.

    Sum of the stated loads times the demand factor of their board; sockets count with the
    loads that are stated for them, and what lies on a line that the island leaves dead not.
    What is declared to be shed before the island forms does not count either.

    Parameters
    ----------
    gone : when the circuits are shed that do not count; `AT_ALL` for those on overload, too

    Raises
    ------
    Unknown : a load or a demand factor is not stated, with all questions at once; or no cable
        joins the inverter to a board
    """
    job = study.job
    island_has_board(job)
    total = dict.fromkeys(job.phases, 0.0)
    questions: list[Question] = []
    told = []
    for name, board in job.boards.items():
        if not is_backed_up(job, name):
            continue
        factor = float(board.demand_factor)
        sum_va = 0.0
        for circuit in circuits_of(job, name).values():
            if lies_dead(job, circuit):
                continue
            if circuit.shed is not None and circuit.shed.when in gone:
                told.append(_shed_told(job, circuit))
                continue
            try:
                va = loads_va(circuit)
            except Unknown as gap:
                questions += gap.questions
                continue
            count = len(job.lines_of(circuit))
            for line in lines_fed(job, circuit, Mode.ISLAND):
                sum_va += va / count
                total[line] += factor * va / count
        told.append(f"{name}: {factor:g} · {sum_va:.0f} VA = {factor * sum_va:.0f} VA")
    if questions:
        raise Unknown(*questions)
    return total, told


@once_a_study
def island_line_va(study: Study, gone: tuple[str, ...] = BEFORE) -> dict[str, float]:
    """Demand on each line as current times U_0 [VA]; between two of three lines it is more.

    A load S between two lines draws S / (√3 · U_0) from each, not S / (2 · U_0).

    Raises
    ------
    Unknown : as `island_demand_va`
    """
    job, found = study.job, dict(island_demand_va(study, gone)[0])
    if job.supply.form != "three phases":
        return found
    for circuit in job.circuits.values():
        cores = circuit.cores if circuit.gap("cores") is None else ()
        if len(job.lines_of(circuit)) != 2 or "N" in cores:
            continue
        if not is_backed_up(job, circuit.board) or len(lines_fed(job, circuit, Mode.ISLAND)) < 2:
            continue
        if circuit.shed is None or circuit.shed.when not in gone:
            factor = float(job.boards[circuit.board].demand_factor)
            for line in job.lines_of(circuit):
                found[line] += factor * loads_va(circuit) * (1 / math.sqrt(3) - 1 / 2)
    return found


def _shed_told(job: Job, circuit: Circuit) -> str:
    name = next(name for name, each in job.circuits.items() if each is circuit)
    assert circuit.shed is not None  # noqa: S101 - asked before
    return f"{name}: shed {circuit.shed.when}, by {circuit.shed.by}"


@rule(
    "source.continuous",
    over="house",
    modes=[Mode.ISLAND],
    title="The inverter must carry the demand of the backed-up boards",
    clauses=[
        "IEC 60364-5-55, 551.2 (from memory)",
        "BS 7671:2018, 551.2 (from memory)",
        PRACTICE,
    ],
)
def continuous(study: Study, _here: Here) -> Verdict:
    """Σ (demand factor · Σ S) ≤ S_rated

    Demand that lasts heats the inverter; beyond its rating it shuts the island down.
    """
    demand, told = island_demand_va(study, AT_ALL)
    total = sum(demand.values())
    rated = float(study.job.inverter.rated_va)
    spread = spread_of(study.profile, "load_power", total)
    return at_most(
        total,
        rated,
        "VA",
        spread=spread,
        because=lambda: [*told, f"S = {total:.0f} VA", f"S_rated = {rated:.0f} VA"],
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
    clauses=[
        "IEC 60364-5-55, 551.2 (from memory)",
        "BS 7671:2018, 551.2 (from memory)",
        PRACTICE,
    ],
)
def per_phase(study: Study, _here: Here) -> Verdict | None:
    """S_line ≤ S_phase, on the busiest line

    One line may be overloaded though the inverter as a whole is not.
    """
    if len(study.job.phases) == 1 or study.job.inverter.output.startswith("single-phase"):
        return None
    demand = island_line_va(study, AT_ALL)
    line = max(demand, key=demand.__getitem__)
    limit = float(study.job.inverter.phase_va)
    spread = spread_of(study.profile, "load_power", demand[line])
    return at_most(
        demand[line],
        limit,
        "VA",
        spread=spread,
        because=lambda: [
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
    clauses=[
        "IEC 60364-5-55, 551.6, 551.7.4 (from memory)",
        "BS 7671:2018, 551.6, 551.7.4 (from memory)",
    ],
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
        because=lambda: [
            f"largest: {worst:.2f} V ({conductor}, {state.name})",
            f"U_L = {limit:g} V",
        ],
        remedies=[lambda: "Fit an islanding switch that opens every line and the neutral."],
        means="The inverter feeds the street." if worst > limit else "",
        confirmed="memory",
        state=state.name,
    )


@rule(
    "source.line-alive",
    over="circuits, fed or not",
    modes=[Mode.ISLAND],
    title="A circuit that is wanted in an outage must lie on lines that the island feeds",
    clauses=[PRACTICE],
)
def line_alive(study: Study, here: Here) -> Verdict | None:
    """Wanted in an outage → every line of the circuit is alive in island mode

    Which board the wiring keeps fed, which lines the inverter drives, and which of them the
    cables bring there. All other rules of the island look at lines that are fed.
    """
    job = study.job
    circuit = job.circuits[here.name]
    if not is_backed_up(job, circuit.board) and circuit.wish != "wanted":
        return None
    island_has_board(job)
    lines, live = tuple(job.lines_of(circuit)), live_lines(job, circuit.board)
    dead = [line for line in lines if line not in live]
    missing = bool(dead) and circuit.wish == "wanted"
    return Verdict(
        status=Status.NOT_MET if missing else Status.MET,
        because=lambda: [
            f"lines of {here.name}: {' '.join(lines)}",
            f"alive in island mode at {circuit.board}: {' '.join(live) or 'none'}",
            *([f"in an outage: {circuit.wish}"] if dead else []),
        ],
        means=f"{here.name} is without voltage in an outage." if missing else "",
        remedies=[lambda: _bring_to_life(study, circuit, dead, live)],
        confirmed="memory",
    )


def _bring_to_life(study: Study, circuit: Circuit, dead: list[str], live: tuple[str, ...]) -> str:
    """To a fed line, the one with most room; to a fed board; or the lines to where it is."""
    job = study.job
    brought = {board: live_lines(job, board) for board in job.boards}
    count = len(job.lines_of(circuit))
    if count == 1 and live:
        return f"Move it to {_emptiest(study, live)}."
    for board, lines in brought.items():
        if not live and set(job.lines_of(circuit)) <= set(lines):
            return f"Move it to the {board}."
    told = " and ".join(dead)
    if set(dead) <= set(fed_lines(job)):
        return f"Bring {told} from the inverter to the {circuit.board}."
    return f"Fit an inverter that feeds {told} too, or do without it in an outage."


def _emptiest(study: Study, lines: tuple[str, ...]) -> str:
    """The line with the least demand; the first where a load is not known."""
    try:
        demand, _ = island_demand_va(study)
    except Unknown:
        return lines[0]
    return min(lines, key=demand.__getitem__)
