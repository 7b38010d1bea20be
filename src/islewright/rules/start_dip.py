"""Chapter: how far the voltage falls while a motor starts."""

from __future__ import annotations

from itertools import combinations
from math import sqrt

from islewright.findings import Question, Verdict, at_least, at_most
from islewright.job.gap import Unknown
from islewright.job.model import Circuit, Job, Load
from islewright.job.once import once_a_part
from islewright.network.loads import LoadFlow
from islewright.network.state import GRID, ISLAND, Mode
from islewright.rules.demand import lines_fed, load_current_a, load_va, start_times
from islewright.rules.drop import drop_spread_share, must_have_way_back
from islewright.rules.permitted import permitted
from islewright.rules.registry import Here, rule
from islewright.rules.runner import places_over
from islewright.rules.source import PRACTICE, island_line_va
from islewright.rules.study import Study

LARGER = "IEC 60364-5-52:2009, Annex G, notes (more is admitted while a motor starts; no figure)"
LARGER_BS = "BS 7671:2018, 525 and Appendix 4 (more is admitted while a motor starts; no figure)"


#: no drop leaves so little [%]: the source itself gives no voltage between these lines
SWINGING = 10.0
#: volts that one ampere more of each circuit adds at a bar, by conductor
Added = dict[str, list[complex]]


@once_a_part
def largest_start(job: Job, circuit: Circuit) -> tuple[Load, float, str] | None:
    """Load of a circuit whose start adds most, its line current at the start [A], and the sum.

    Raises
    ------
    Unknown : a motor of the circuit does not state its start
    """
    found = []
    for load in circuit.loads.values():
        times = start_times(circuit, load)
        if times > 1:
            running = load_current_a(job, circuit, load_va(circuit, load))
            told = f"I_start = {times:g} · {running:.1f} A = {times * running:.1f} A"
            found.append(((times - 1) * running, load, times * running, told))
    if not found:
        return None
    _, load, amps, told = max(found, key=lambda one: one[0])
    return load, amps, told


@rule(
    "voltage.start-dip",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A motor must get the voltage that it needs to start",
    clauses=[LARGER, LARGER_BS, PRACTICE],
)
def start_dip(study: Study, here: Here) -> Verdict | None:
    """U_start / U_0 ≥ least share with which the motor starts

    Everything else draws its demand. An inverter that is asked for more than its surge current
    holds that current: its voltage sinks by I_surge / I_asked.
    """
    circuit = study.job.circuits[here.name]
    start = largest_start(study.job, circuit)
    if start is None:
        return None
    study.clean(here)
    load, amps, told = start
    least, by, sure = _least_share(study, load)
    factor = float(study.job.boards[circuit.board].demand_factor)
    running = load_current_a(study.job, circuit, load_va(circuit, load))
    share = 100 * _at_motor(study, here, amps - factor * running)
    held, why = _folded(study, here, circuit, amps - factor * running)
    lost = 100 - share * held
    spread = abs(lost) * drop_spread_share(study)
    return at_least(
        share * held,
        least,
        "%",
        spread=spread,
        because=lambda: [told, f"without the inverter's limit U_start / U_0 = {share:.1f} %" if why
                 else f"U_start / U_0 = {share:.1f} %", *why, by],
        remedies=[
            lambda: f"Fit a starter or a converter that lowers the start of {here.name}."
            if share > SWINGING else "Move it to lines between which this source gives a voltage.",
            lambda: f"Lay a larger cable to {here.name}." if held == 1 and share > SWINGING
            else None,
        ],
        means=_meaning(share, held, least),
        confirmed=sure,
    )  # fmt: skip


def _meaning(share: float, held: float, least: float) -> str:
    if share <= SWINGING:
        return "It does not turn, and burns: the lines of this source swing alike."
    return "It may stall, and the lamps go dark meanwhile." if share * held < least else ""


def _least_share(study: Study, load: Load) -> tuple[float, str, str]:
    """Share of the voltage that a start needs [%]: by its maker, else by the rule set."""
    if load.starts_down_to is not None:
        least = float(load.starts_down_to)
        return least, f"it starts down to {least:g} %", "as stated"
    dip = study.profile.row("volt.start_dip")
    if not dip.value:
        raise Unknown(load.question("starts_down_to"))
    most = study.profile.number("volt.start_dip")
    return 100 - most, f"{study.profile.name} allows a dip of {most:g} %", most.confirmed


def _at_motor(study: Study, here: Here, more_amps: float) -> float:
    """Voltage at the motor over its nominal one, on the worst pair of conductors [V/V].

    A load elsewhere that is not known counts with its device's rated current, or with nothing
    where that leaves less.
    """
    state = GRID if here.mode is Mode.GRID else ISLAND
    found = _share(study, here, study.loaded(state), more_amps)
    less = [
        found - _share(study, here, study.loaded(state, without=name), more_amps)
        for name in study.unknown_loads
        if name != here.name
    ]
    return found - sum(max(0.0, one) for one in less)


def _share(study: Study, here: Here, flow: LoadFlow, more_amps: float) -> float:
    far = flow.far(here.name, more_amps=more_amps)
    lines = lines_fed(study.job, study.job.circuits[here.name], here.mode)
    u_0 = float(study.job.supply.nominal_voltage_v)
    if "N" in far:
        return min(abs(far[line] - far["N"]) for line in lines) / u_0
    must_have_way_back(study.job.circuits[here.name], lines)
    across = 2.0 if study.job.supply.form == "split phase" else sqrt(3)
    return min(abs(far[a] - far[b]) for a, b in combinations(lines, 2)) / (across * u_0)


def _folded(
    study: Study, here: Here, circuit: Circuit, more_amps: float
) -> tuple[float, list[str]]:
    """What is left of an inverter's voltage at its limit of current, as a share, and why."""
    if here.mode is Mode.GRID:
        return 1.0, []
    job = study.job
    u_0, gives = float(job.supply.nominal_voltage_v), job.inverter
    one = len(job.phases) == 1 or gives.output.startswith("single-phase")
    most = float(gives.surge.power_va) / (1 if one else len(job.phases)) / u_0
    demand = island_line_va(study)
    lines = lines_fed(job, circuit, here.mode)
    asked = max(demand[line] for line in lines) / u_0 + more_amps
    held = held_share(asked, most)
    if held == 1:
        return 1.0, []
    return held, [
        f"the inverter is asked for {asked:.1f} A and gives {most:.1f} A",
        f"{most:.1f} A / {asked:.1f} A = {held:.3f} of its voltage is left",
    ]


def held_share(asked_a: float, most_a: float) -> float:
    """Share of its voltage that a source at its limit of current holds on constant impedances."""
    return min(1.0, most_a / asked_a) if asked_a > 0 else 1.0


@rule(
    "voltage.start-change",
    over="house",
    modes=[Mode.GRID],
    title="A start must not pull the voltage at the origin down further than the operator allows",
    clauses=["IEC 61000-3-11 (from memory; no figure of the wiring rules)",
             "EREC P.28 (from memory; no figure carried here)",
             "the network operator's conditions"],
)  # fmt: skip
def start_change(study: Study, _here: Here) -> Verdict | None:
    """(U_before − U_start) / U_0 at the origin ≤ limit of the operator or the rule set

    The largest start of the house, from a standstill, everything else at its demand.
    """
    starts = _grid_starts(study)
    if not starts:
        return None
    allowed = permitted(study, "volt.start_change", "start_change")
    if allowed is None:
        return None
    change, name, told = max(starts)
    spread = sum(change * float(study.profile.number(f"spread.{k}")) / 100
                 for k in ("loop_reading", "load_power"))  # fmt: skip
    return at_most(
        change,
        allowed.limit,
        "%",
        spread=spread,
        because=lambda: [f"{name}: {told}", f"at the origin the voltage changes by {change:.2f} %",
                 f"{allowed.by} {allowed.limit:g} %"],
        remedies=[
            lambda: f"Fit a starter or a converter that lowers the start of {name}.",
            lambda: f"Ask the operator to admit a change of {change + spread:.1f} %.",
        ],
        confirmed=allowed.confirmed,
    )  # fmt: skip


def _grid_starts(study: Study) -> list[tuple[float, str, str]]:
    """Change at the origin [%] by the start of each circuit that has one, with all gaps at once."""
    job, found, questions = study.job, list[tuple[float, str, str]](), list[Question]()
    u_0, flow = float(job.supply.nominal_voltage_v), study.loaded(GRID)
    for here in places_over(job, "circuits", Mode.GRID):
        name, circuit = here.name, job.circuits[here.name]
        try:
            start = largest_start(study.job, circuit)
            if start is None:
                continue
            study.clean(here)
            added = flow.reach.bar_per_amp("supply")
            k = flow.reach.row[name]
            factor = float(job.boards[circuit.board].demand_factor)
            running = load_current_a(job, circuit, load_va(circuit, start[0]))
            moved = -factor * running, start[1]  # it stood still before
            changes = [_fall(flow, added, line, k, moved) for line in job.lines_of(circuit)]
            found.append((100 * max(changes) / u_0, name, start[2]))
        except Unknown as gap:
            questions += gap.questions
    if questions:
        raise Unknown(*dict.fromkeys(questions))
    return found


def _fall(flow: LoadFlow, added: Added, line: str, k: int, moved: tuple[float, float]) -> float:
    """How far one line's voltage falls as a load of circuit `k` starts [V].

    Parameters
    ----------
    moved : what it draws less while it stands still than in the flow, below 0, and its start [A]
    """
    at, back = flow.solved.at("supply", line), flow.solved.at("supply", "N")
    per_amp = added[line][k] - added["N"][k]
    stands = complex(flow.x[at]) - complex(flow.x[back]) + moved[0] * per_amp
    return abs(stands) - abs(stands + moved[1] * per_amp)
