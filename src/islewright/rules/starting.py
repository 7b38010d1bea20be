"""Chapter: what the inverter must give while a motor starts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

from islewright.findings import WEIGHT, Question, Status, Verdict, at_most
from islewright.job.equipment import Overload
from islewright.job.gap import Unknown
from islewright.job.model import Load
from islewright.network.alive import island_has_board, lies_dead
from islewright.network.state import Mode
from islewright.network.way import is_backed_up
from islewright.rules.demand import (
    lines_fed,
    lines_share,
    load_va,
    spread_of,
    start_times,
)
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.source import PRACTICE, island_demand_va, island_line_va
from islewright.rules.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """A load that draws more at its start: k_start times its power, on its circuit's fed lines."""

    circuit: str
    load: Load
    lines: tuple[str, ...]
    va: float
    times: float
    factor: float

    @property
    def added_va(self) -> float:
        """What the start adds to a demand that already holds the running load [VA]."""
        return self.va * (self.times - self.factor)


@once_a_study
def island_starts(study: Study) -> list[Start]:
    """Every load of the backed-up boards that has a start.

    Raises
    ------
    Unknown : of some load it is not known, with all questions at once; or no cable joins the
        inverter to a board
    """
    job = study.job
    island_has_board(job)
    found, questions = [], list[Question]()
    for name, circuit in job.circuits.items():
        if not is_backed_up(job, circuit.board) or lies_dead(job, circuit):
            continue
        factor = float(job.boards[circuit.board].demand_factor)
        try:
            fed = lines_fed(job, circuit, Mode.ISLAND)
            for load in circuit.loads.values():
                times = start_times(circuit, load)
                if times > 1:
                    found.append(
                        Start(
                            circuit=name,
                            load=load,
                            lines=fed,
                            va=load_va(circuit, load) * len(fed) / len(job.lines_of(circuit)),
                            times=times,
                            factor=factor,
                        )
                    )
        except Unknown as gap:
            questions += gap.questions
    if questions:
        raise Unknown(*questions)
    return found


@rule(
    "source.motor-start",
    over="house",
    modes=[Mode.ISLAND],
    title="The inverter must start the largest motor on top of the rest, and hold until it runs",
    clauses=[PRACTICE],
)
def motor_start(study: Study, _here: Here) -> Verdict | None:
    """S_rest + k_start · S_motor ≤ S_surge, for as long as the start lasts

    One motor at a time, with every other load at its demand; apparent powers are added as
    figures, which is never too little. What the inverter gives for a longer time, or for
    good, may do instead.
    """
    starts = island_starts(study)
    if not starts:
        return None
    demand, told = island_demand_va(study)
    rest = sum(demand.values())
    verdicts = [_one_start(study, start, rest, told) for start in starts]
    return min(verdicts, key=lambda v: (WEIGHT[v.status], v.limit - v.value))


def _one_start(study: Study, start: Start, demand_va: float, told: list[str]) -> Verdict:
    total = demand_va + start.added_va
    running, gives = start.times * start.va, study.job.inverter
    head = [
        *told,
        f"S_start of {start.circuit} = {start.times:g} · {start.va:.0f} VA = {running:.0f} VA",
        f"S_rest = {total - running:.0f} VA",
        f"S_rest + S_start = {total:.0f} VA",
    ]
    carries = partial(_carries, study, start, total)
    ways = [attempt(lambda: carries(gives.surge, "S_surge"))]
    ways += [
        attempt(partial(carries, timed, f"S for {name}")) for name, timed in gives.timed.items()
    ]
    ways.append(attempt(partial(_for_good, study, total)))
    best = first_way(ways)
    return best.but(
        because=[*head, *best.because],
        remedies=[
            partial(_soft_start, study, start, total),
            lambda: f"Move the {start.circuit} to a board that is not backed up.",
        ],
        means=""
        if best.status in (Status.MET, Status.NEAR, Status.UNDECIDED)
        else f"{start.circuit} would stall, or the inverter would stop and the house with it.",
    )


def _carries(study: Study, start: Start, total: float, given: Overload, symbol: str) -> Verdict:
    """A power for a time carries a start when both are enough."""
    limit, for_s = float(given.power_va), float(given.for_s)
    power = at_most(
        total,
        limit,
        "VA",
        spread=spread_of(study.profile, "load_power", total),
        because=lambda: [f"{symbol} = {limit:.0f} VA for {for_s:g} s"],
        confirmed="memory",
    )
    if power.status is Status.NOT_MET:
        return power
    lasts = float(start.load.start_lasts_s)
    long = at_most(
        lasts,
        for_s,
        "s",
        spread=spread_of(study.profile, "load_power", lasts),
        because=lambda: [f"the start lasts {lasts:g} s"],
        confirmed="memory",
    )
    return every([power, long])


def _for_good(study: Study, total: float) -> Verdict:
    rated = float(study.job.inverter.rated_va)
    return at_most(
        total,
        rated,
        "VA",
        spread=spread_of(study.profile, "load_power", total),
        because=lambda: [f"S_rated = {rated:.0f} VA"],
        confirmed="memory",
    )


def _soft_start(study: Study, start: Start, total: float) -> str | None:
    rest = total - start.times * start.va
    surely = float(study.job.inverter.surge.power_va) / (1 + _load_share(study))
    return _starter(start, (surely - rest) / start.va)


def _load_share(study: Study) -> float:
    """What stated powers may be off, as a share."""
    return spread_of(study.profile, "load_power", 1.0)


def _starter(start: Start, times: float) -> str | None:
    """Order for a starter that draws no more than some times the running current."""
    told = math.floor(times * 10) / 10
    if told < 1:
        return None
    return f"Fit a starter that holds the {start.circuit} to {told:.1f} times its current."


def _lines_share(study: Study, start: Start) -> float:
    """Over how many lines a start spreads: √3 between two of three."""
    job = study.job
    circuit = job.circuits[start.circuit]
    between = circuit.gap("cores") is not None or "N" not in circuit.cores
    if len(start.lines) == 2 and between:
        return lines_share(job, circuit)
    return float(len(start.lines))


@rule(
    "source.phase-start",
    over="house",
    modes=[Mode.ISLAND],
    title="Each phase of the inverter must carry the largest start on its line",
    clauses=[PRACTICE],
)
def phase_start(study: Study, _here: Here) -> Verdict | None:
    """S_rest + k_start · S_motor ≤ S_surge / phases, on the line where it adds most

    The surge is stated in total; a phase gives its share of it.
    """
    job = study.job
    if len(job.phases) == 1 or job.inverter.output.startswith("single-phase"):
        return None
    starts = island_starts(study)
    if not starts:
        return None
    demand = island_line_va(study)
    worst = [
        (demand[line] + start.added_va / _lines_share(study, start), start, line)
        for start in starts
        for line in start.lines
    ]
    total, start, line = max(worst, key=lambda found: found[0])
    limit = float(job.inverter.surge.power_va) / len(job.phases)
    surely, share = limit / (1 + _load_share(study)), _lines_share(study, start)
    return at_most(
        total,
        limit,
        "VA",
        spread=spread_of(study.profile, "load_power", total),
        because=[
            f"demand on {line} = {demand[line]:.0f} VA",
            f"with the start of {start.circuit}: {total:.0f} VA",
            f"S_surge / {len(job.phases)} = {limit:.0f} VA",
        ],
        remedies=[
            lambda: _starter(start, start.factor + (surely - demand[line]) * share / start.va),
            lambda: f"Take {total - surely:.0f} VA off {line}.",
        ],
        confirmed="memory",
    )
