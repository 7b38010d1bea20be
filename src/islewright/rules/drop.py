"""Voltages and neutral currents of a state with its loads on, as the rules ask for them."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

from islewright.findings import Question
from islewright.job.gap import Unknown
from islewright.job.model import Circuit, Job
from islewright.job.once import once_a_job
from islewright.network.places import INVERTER, canonical
from islewright.network.state import GRID, ISLAND, Mode
from islewright.network.way import cables_to, source_end
from islewright.rules.demand import bounded_current_a, lines_fed
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here

if TYPE_CHECKING:
    from islewright.network.loads import LoadFlow
    from islewright.rules.study import Study


@once_a_study
def drop_limit_percent(study: Study, use: str) -> float:
    """Largest voltage drop for what a circuit is used for [%]."""
    return float(study.profile.number(f"volt.drop_{'lighting' if use == 'lights' else 'other'}"))


@once_a_study
def drop_spread_share(study: Study) -> float:
    """What lengths and loads may be off together, as a share."""
    return sum(float(study.profile.number(f"spread.{k}")) for k in ("length", "load_power")) / 100


@once_a_job
def sharing(job: Job) -> dict[str, list[str]]:
    """Circuits whose neutral is the core of another one, by the name of that one."""
    found: dict[str, list[str]] = {}
    for name, circuit in job.circuits.items():
        if circuit.has("neutral_with"):
            found.setdefault(str(circuit.neutral_with), []).append(name)
    return found


@once_a_study
def drop_v(study: Study, here: Here, i_b: float) -> tuple[float, float]:
    """Voltage drop from the mode's source to the far end of a circuit at I_b [V].

    Others draw their demand. One whose load is not known counts with its device's rated
    current, or with nothing where that leaves more drop (another line may relieve this one).

    Returns
    -------
    drop, and the nominal voltage that it is a share of [V]

    Raises
    ------
    Unknown : it is on one line and has no neutral, so that nothing can flow; or a circuit that
        returns through its neutral is not fully known
    """
    for other in sharing(study.job).get(here.name, ()):
        if missing := study.net.parts.missing.get(f"circuit {other}"):
            raise Unknown(*missing)
    source = "supply" if here.mode is Mode.GRID else INVERTER
    lines = lines_fed(study.job, study.job.circuits[here.name], here.mode)
    must_have_way_back(study.job.circuits[here.name], lines)
    more = i_b - _demand_a(study, here)
    flow = study.load_flow(here.mode)
    volts, nominal = flow.drop_v(here.name, source, lines=lines, more_amps=more)
    worse = 0.0
    for name, without in _flows_without(study, here.mode):
        if name != here.name:
            there = without.drop_v(here.name, source, lines=lines, more_amps=more)[0]
            worse += max(0.0, there - volts)
    return volts + worse, nominal


def must_have_way_back(circuit: Circuit, lines: tuple[str, ...]) -> None:
    """Stop where a circuit has one line and neither neutral nor another line.

    Raises
    ------
    Unknown : with the question for its lines
    """
    if len(lines) < 2 and circuit.gap("cores") is None and "N" not in circuit.cores:
        ask = "One line and no neutral feed nothing: on which lines is the circuit?"
        raise Unknown(Question(field=circuit.question("lines").field, ask=ask, how="look"))


@once_a_study
def _flows_without(study: Study, mode: Mode) -> list[tuple[str, LoadFlow]]:
    """The mode's flow without each fed circuit whose load is not known, by its name."""
    state = GRID if mode is Mode.GRID else ISLAND
    return [
        (name, study.loaded(state, without=name))
        for name in study.unknown_loads
        if cables_to(study.job, study.job.circuits[name].board, mode)
    ]


def _demand_a(study: Study, here: Here) -> float:
    """What the circuit draws already among the others [A]."""
    circuit = study.job.circuits[here.name]
    factor = float(study.job.boards[circuit.board].demand_factor)
    return factor * bounded_current_a(study.job, circuit)


def own_drop_v(study: Study, here: Here, i_b: float) -> float:
    """The part of the drop that lies in the circuit's own cable [V]."""
    circuit = study.job.circuits[here.name]
    bar = f"{circuit.board}/{circuit.behind}" if circuit.behind else circuit.board
    flow = study.load_flow(here.mode)
    lines = lines_fed(study.job, circuit, here.mode)
    return flow.drop_v(here.name, bar, lines=lines, more_amps=i_b - _demand_a(study, here))[0]


def neutral_current_a(study: Study, name: str) -> tuple[float, list[tuple[str, float, float]]]:
    """Neutral current of a cable in island mode [A], and the line currents.

    Returns
    -------
    |I_N|, and (line, A, degrees) of each line; angles are those of the state

    Raises
    ------
    Unknown : the cable has neither a neutral nor a PEN
    """
    solved = study.net.solved(ISLAND)
    x = study.load_flow(Mode.ISLAND).x
    cable, lines = study.job.cables[name], []
    near = source_end(study.job, cable, Mode.ISLAND)
    way = 1 if canonical(cable.from_) == near else -1  # counted away from the source
    for line in (c for c in cable.cores if c.startswith("L")):
        amps = way * solved.core_current(f"cable {name} {line}", x=x)
        lines.append((line, abs(amps), math.degrees(cmath.phase(amps))))
    back = next((core for core in ("N", "PEN") if core in cable.cores), None)
    if back is None:
        raise Unknown(cable.question("cores"))
    return abs(solved.core_current(f"cable {name} {back}", x=x)), lines
