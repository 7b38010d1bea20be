"""One state: positions, what is alive, voltages at each place, currents with the loads on."""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from islewright.cli.current_view import CORES, amps_row, angles, currents, earths
from islewright.cli.job import job_head, one_of, print_json
from islewright.cli.missing import missing_in, tell_missing
from islewright.cli.state_list import sheet_form
from islewright.cli.text import Row, heading, paragraph, say, table

if TYPE_CHECKING:
    from islewright.findings import Question
    from islewright.job.model import Job
    from islewright.network.flow_sheet import FlowSheet, Phasors
    from islewright.network.sheet import StateSheet
    from islewright.network.state import State
    from islewright.rules.study import Study

#: columns of the table of voltages, as far as a house has the conductors
PAIRS = (("L1", "N"), ("L2", "N"), ("L3", "N"), ("L1", "L2"), ("L2", "L3"), ("L1", "L3"),
         ("N", "PE"), ("PE", "true earth"))  # fmt: skip
EARTH = "true earth"
SWITCH = "islanding switch"
NOT_HELD = "with them on, nothing but the loads would hold the neutral. Find where it is open."
#: less is not printed in a list of places [V]
SHOWN_FROM_V = 0.05


def show(of: Study, state: State, place: str | None, *, as_json: bool) -> None:
    """Print a state, or the voltages at one place in it."""
    from islewright.network.tell import sheet

    told = sheet(of.job, of.net, state)
    missing = missing_in(of, state)
    flow, unloaded = (None, ()) if missing else loaded(of, state)
    if as_json:
        print_json({**job_head(of), **_answer(told, flow, [*missing, *unloaded], unloaded)})
        return
    say(f"{told.name} ({told.mode})")
    if place is None:
        _words(told)
        _positions(of.job, told)
        _alive(told)
    if flow is None:
        say()
        tell_missing(missing)
        return
    if unloaded:
        asked = ", ".join(question.field for question in unloaded)
        why = f"what they draw together is not known ({asked})."
        say()
        paragraph(f"Loads are off: {NOT_HELD if unloaded[0].ask == NOT_HELD else why}")
    loads = "loads off" if unloaded else "loads on"
    if place is None:
        _all_places(flow, loads)
        currents(flow, loads)
        angles(flow)
        earths(flow, loads)
    else:
        _one_place(flow, place, loads)


def loaded(of: Study, state: State) -> tuple[FlowSheet, tuple[Question, ...]]:
    """The state with its loads on; with loads off, and why, where they are not known."""
    from islewright.findings import Question
    from islewright.job.gap import Unknown
    from islewright.network.flow_sheet import flow_sheet
    from islewright.network.loads import LoadFlow

    off = LoadFlow(of.job, of.net.solved(state), {})
    try:
        flow = of.loaded(state)
    except Unknown as gap:
        return flow_sheet(of.job, off), gap.questions
    if not flow.held:
        return flow_sheet(of.job, off), (Question(field="neutral", ask=NOT_HELD),)
    return flow_sheet(of.job, flow), ()


def _answer(
    told: StateSheet,
    flow: FlowSheet | None,
    missing: list[Question],
    unloaded: tuple[Question, ...],
) -> dict[str, Any]:
    answer: dict[str, Any] = {
        "state": sheet_form(told),
        "missing": [q.field for q in missing],
        "loads_on": flow is not None and not unloaded,
        "volts": {}, "cable_amps": {}, "circuit_amps": {}, "earth_amps": {}, "residual_amps": {},
    }  # fmt: skip
    if flow is not None:
        for key in ("volts", "cable_amps", "circuit_amps"):
            answer[key] = {place: phasors_form(p) for place, p in getattr(flow, key).items()}
        answer["earth_amps"] = phasors_form(flow.earth_amps)
        answer["residual_amps"] = dict(flow.residual_amps)
    return answer


def phasors_form(phasors: Phasors) -> dict[str, dict[str, float]]:
    """Conductor -> size and angle; of nothing the angle is 0."""
    return {
        name: {"size": abs(z), "deg": math.degrees(cmath.phase(z)) if abs(z) > 1e-9 else 0.0}
        for name, z in phasors.items()
    }


def _words(told: StateSheet) -> None:
    for what, text in (
        ("Fed by", told.fed_by),
        ("System of this state", told.system),
        ("Neutral earthed at", told.neutral_earthed_at),
        ("Bond", told.bond),
        ("Means of earthing", told.means_of_earthing),
        ("Always alive", "; ".join(told.always_alive)),
    ):
        paragraph(f"{what}: {text}", indent=2, hang=2)


def _positions(job: Job, told: StateSheet) -> None:
    """Contacts by group; conductors that stand alike share a word."""
    from islewright.job.ways import conductors_at_switch

    brought = conductors_at_switch(job)
    poles = job.switch.switched_poles if job.switch.has("switched_poles") else CORES
    groups: dict[str, dict[str, str]] = {}
    for name, closed in told.closed.items():
        group, _, conductor = name.rpartition(" ")
        if conductor not in CORES:
            group, conductor = name, ""
        word = "closed" if closed else "open"
        if group == SWITCH and conductor not in brought:
            continue
        if group == SWITCH and conductor not in poles:
            word = "not switched"
        groups.setdefault(group, {})[conductor] = word
    heading("Contacts")
    table(["contact", "poles", "position"], [_position(g, poles) for g, poles in groups.items()])


def _position(group: str, poles: Mapping[str, str]) -> Row:
    words = list(dict.fromkeys(poles.values()))
    if len(words) > 1:
        words = [f"{pole} {word}" for pole, word in poles.items()]
    return [group, " ".join(poles).strip(), ", ".join(words)]


_ALIVE = {True: "alive", False: "dead", None: "not known"}


def _alive(told: StateSheet) -> None:
    heading("Alive or dead (loads off, line to true earth)")
    places = {p: a for p, a in told.alive.items() if not p.startswith(("circuit ", "cable "))}
    rows = [
        [p, _ALIVE[a], volt(told.volts[p]) if p in told.volts else "–"] for p, a in places.items()
    ]
    table(["place", "state", "V"], rows, right="V")
    circuits = {p.removeprefix("circuit "): a for p, a in told.alive.items() if p not in places}
    for word in (True, False, None):
        names = [name for name, alive in circuits.items() if alive is word]
        if names:
            paragraph(f"{_ALIVE[word]}: {', '.join(names)}", indent=2, hang=2)


def volt(value: float) -> str:
    """A voltage, with a decimal where it is small."""
    return f"{value:.0f}" if value >= 100 else f"{value:.1f}"


def _all_places(flow: FlowSheet, loads: str) -> None:
    """Every place that is alive; what is dead has been named above."""
    heading(f"Voltages [V], {loads}; circuits at their far end")
    live = {
        place: flow.between(place)
        for place in flow.volts
        if max(flow.between(place).values(), default=0.0) >= SHOWN_FROM_V
    }
    columns = [pair for pair in PAIRS if any(pair in here for here in live.values())]
    head = ["place", *(_head(pair) for pair in columns)]
    rows = []
    for place, here in live.items():
        cells = [volt(here[pair]) if pair in here else "" for pair in columns]
        if any(cells):
            rows.append([place.removeprefix("circuit "), *cells])
    if rows:
        table(head, rows, right=" ".join(head[1:]))
    else:
        say("  nowhere more than a twentieth of a volt")


def _head(pair: tuple[str, str]) -> str:
    return "-".join(word.replace(EARTH, "earth") for word in pair)


def _one_place(flow: FlowSheet, word: str, loads: str) -> None:
    names = {place.removeprefix("circuit "): place for place in flow.volts}
    place = names[one_of(word, list(names), "place in this state:")]
    end = ", far end" if place.startswith("circuit ") else ""
    heading(f"Voltages at {place}{end} [V], {loads}")
    volts_table(flow.volts[place])
    name = place.removeprefix("circuit ")
    amps = flow.circuit_amps.get(name, {}) if place != name else {}
    if amps:
        heading("Currents behind its device [A]; m: milliamperes")
        table(list(amps), [amps_row(amps, amps)], right=" ".join(amps))


def volts_table(volts: Phasors) -> None:
    """Print the voltage between each two conductors and of each to true earth."""
    from islewright.network.flow_sheet import pairs

    here = pairs(volts)
    names = [*volts, EARTH]
    rows = []
    for a in names[:-1]:
        cells = [volt(here[a, b]) if (a, b) in here else "" for b in names[1:]]
        rows.append([a, *cells])
    heads = [name.replace(EARTH, "earth") for name in names[1:]]
    table(["", *heads], rows, right=" ".join(heads))
