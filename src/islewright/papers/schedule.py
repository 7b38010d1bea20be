"""Circuit schedule, board by board, and cable schedule. Gaps are printed, never guessed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from islewright.findings import Finding, Status
from islewright.job.gap import Unknown
from islewright.papers.place import circuit_numbers, terminals
from islewright.papers.say import DOES_NOT_APPLY, NONE, NOT_KNOWN, capital, figure, stated
from islewright.papers.symbols import runs

if TYPE_CHECKING:
    from islewright.job.device import Rcd, Residual
    from islewright.job.model import Board, Cable, Circuit, Job
    from islewright.network.sheet import RaceRow
    from islewright.rules.study import Study

#: reference methods of IEC 60364-5-52, Table A.52.3, in our words (from memory)
METHODS = {
    "A1": "single cores in conduit in an insulated wall",
    "A2": "cable in conduit in an insulated wall",
    "B1": "single cores in conduit or trunking on or in a wall",
    "B2": "cable in conduit or trunking on or in a wall",
    "C": "cable fixed to or laid in a solid wall",
    "D1": "cable in a duct in the ground",
    "D2": "cable laid straight in the ground",
    "E": "multicore cable free in air",
    "F": "single cores touching, free in air",
    "G": "single cores apart, free in air",
}


#: rules whose value is what one reads on the loop tester, or in a TT house the voltage there
LOOP = "shock.grid-disconnection"
#: head of its column, the unit printed there and what it is, by the finding's unit
LOOP_HEADS = {
    "ohm": ("Z_s", "Ω", "earth fault loop in grid mode at the far end, conductors hot"),
    "V": ("R_A · I_Δn", "V", "exposed parts to earth in grid mode when the RCD trips"),
}
OFF = "off"


def circuits(study: Study) -> list[dict[str, Any]]:
    """The rows of each board, in the order of the job file."""
    tests = _tests(study)
    return [_board(study.job, tests, name, board) for name, board in study.job.boards.items()]


def _board(job: Job, tests: dict[str, dict[str, str]], name: str, board: Board) -> dict[str, Any]:
    return {
        "board": capital(name),
        "at": stated(lambda: board.at),
        "busbar": stated(lambda: board.busbar_a, "A"),
        "rcds": [_rcd(key, rcd) for key, rcd in stated_rcds(board).items()],
        "rows": [
            _circuit(job, number, key) | tests[key]
            for key, number in circuit_numbers(job).items()
            if job.circuits[key].board == name
        ],
    }


def loop_words(study: Study) -> dict[str, Any]:
    """What the column of the loop is called: an impedance, or in a TT house a voltage."""
    units = (f.unit for f in _loops(study).values() if f.unit in LOOP_HEADS)
    name, unit, means = LOOP_HEADS[next(units, "ohm")]
    return {"name": runs(name), "unit": unit, "means": means}


def _loops(study: Study) -> dict[str, Finding]:
    """The finding on disconnection in grid mode of each circuit."""
    return {f.place: f for f in study.findings if f.rule.startswith(LOOP)}


def _tests(study: Study) -> dict[str, dict[str, str]]:
    """What to expect from a test of each circuit: the loop, and the fault in island mode."""
    loops = _loops(study)
    rows = {row.place: row for row in study.race}
    return {
        name: _loop(loops.get(name)) | {"island": _island(study, name, rows.get(f"circuit {name}"))}
        for name in study.job.circuits
    }


def _loop(found: Finding | None) -> dict[str, str]:
    """Value and limit in grid mode, and how they stand to each other."""
    if found is None or not (math.isfinite(found.value) and math.isfinite(found.limit)):
        undecided = Status.UNDECIDED.value
        return {"loop": NOT_KNOWN, "limit": NOT_KNOWN, "loop_status": undecided}
    return {
        "loop": f"{found.value:.2f}",
        "limit": f"{found.limit:.2f}" if found.limit < 100 else f"{found.limit:.0f}",
        "loop_status": found.status.value,
    }


def _island(study: Study, name: str, row: RaceRow | None) -> str:
    """Fault current in island mode; "off" where the board is dead then."""
    if row is None:
        sheet = next((s for s in study.states if s.mode == "island mode"), None)
        if sheet is None:
            return DOES_NOT_APPLY
        return OFF if sheet.alive.get(study.job.circuits[name].board) is False else NOT_KNOWN
    if not math.isfinite(row.current_a):
        return NOT_KNOWN
    amps = f"{row.current_a:.0f}" if row.current_a > 30 else f"{row.current_a:.1f}"
    return f"≤ {amps}" if row.limited else amps


def stated_rcds(board: Board) -> dict[str, Rcd]:
    """RCDs of a board; none where the job does not know them."""
    try:
        return dict(board.rcds)
    except Unknown:
        return {}


def _rcd(name: str, rcd: Rcd) -> str:
    return f"{name}: {stated(lambda: rcd.rating_a, 'A')}, {_residual(rcd, 'type ')}"


def _residual(part: Residual, kind_of: str = "") -> str:
    """Rated residual current, type, delay: 30 mA A S; above a board the word "type" stands by."""
    delay = stated(lambda: part.delay)
    kind = stated(lambda: part.type)
    kind = f"type {NOT_KNOWN}" if kind == NOT_KNOWN else f"{kind_of}{kind}"
    words = [stated(lambda: part.trips_at_a, "A"), kind]
    return " ".join(words + ([] if delay == NONE else [delay]))


def _circuit(job: Job, number: int, name: str) -> dict[str, Any]:
    circuit = job.circuits[name]
    return {
        "number": str(number),
        "name": name,
        "lines": stated(lambda: _lines(job.lines_of(circuit))),
        "device": _device(circuit),
        "rcd": protected_by(circuit),
        **_laid(circuit),
        "length": _length(circuit),
        "use": stated(lambda: circuit.use).removeprefix("fixed "),
        "wish": {"wanted": "wanted", "not needed": "no"}.get(
            stated(lambda: circuit.wish), NOT_KNOWN
        ),
        "state": stated(lambda: circuit.state),
    }


def _lines(lines: tuple[str, ...]) -> str:
    """L2, or L1–L3 for all three."""
    return f"{lines[0]}–{lines[-1]}" if len(lines) > 2 else " ".join(lines)


def _cores(cores: tuple[str, ...]) -> str:
    """L1–L3 N PE."""
    lines = tuple(core for core in cores if core.startswith("L"))
    rest = [core for core in cores if not core.startswith("L")]
    return " ".join([_lines(lines), *rest] if lines else rest)


def _device(part: Circuit | Cable) -> str:
    return stated(lambda: None if part.device is None else part.device.name)


def protected_by(circuit: Circuit) -> str:
    """The RCDs in front of the circuit: the group's, its own, or none."""
    try:
        behind = circuit.behind
        own = circuit.device.residual
    except Unknown:
        return NOT_KNOWN
    words = [behind] if behind else []
    if own is not None:
        words.append(f"own {_residual(own)}")
    return ", ".join(words) or NONE


def _laid(part: Circuit | Cable) -> dict[str, str]:
    return {
        "size": figure(lambda: part.size_mm2),
        "earth": figure(lambda: part.pe_mm2),
        "method": stated(lambda: part.method),
    }


def _length(circuit: Circuit) -> str:
    try:
        ring = circuit.ring
        if ring is not None:
            return f"{float(ring.first_leg_m):.6g} + {float(ring.second_leg_m):.6g}"
        return figure(lambda: circuit.length_m)
    except Unknown:
        return NOT_KNOWN


def cables(job: Job) -> list[dict[str, str]]:
    """One row for each cable between two places."""
    return [_cable(name, cable) for name, cable in job.cables.items()]


def _cable(name: str, cable: Cable) -> dict[str, str]:
    return {
        "name": name,
        "from": terminals(cable.from_),
        "to": terminals(cable.to),
        "device": _cable_device(cable),
        "cores": stated(lambda: _cores(cable.cores)),
        "made": _made_of(cable),
        **_laid(cable),
        "length": figure(lambda: cable.length_m),
        "state": stated(lambda: cable.state),
    }


def _made_of(cable: Cable) -> str:
    """Metal and insulation."""
    metal, insulation = stated(lambda: cable.material), stated(lambda: cable.insulation)
    return metal if metal == insulation else f"{metal}, {insulation}"


def _cable_device(cable: Cable) -> str:
    name = _device(cable)
    if name in {NONE, NOT_KNOWN}:
        return name
    at_end = stated(lambda: cable.device_at)
    if at_end == NOT_KNOWN:
        return f"{name}, end {NOT_KNOWN}"
    return f"{name} at {terminals(cable.from_ if at_end == 'from' else cable.to)}"


def methods_used(job: Job) -> set[str]:
    """Methods that the schedules name."""
    parts: list[Circuit | Cable] = [*job.circuits.values(), *job.cables.values()]
    return {_laid(part)["method"] for part in parts}


def methods(job: Job) -> list[dict[str, str]]:
    """Meaning of each method that the schedules name."""
    used = methods_used(job)
    return [{"method": m, "text": text} for m, text in METHODS.items() if m in used]
