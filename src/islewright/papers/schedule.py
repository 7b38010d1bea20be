"""Circuit schedule, board by board, and cable schedule. Gaps are printed, never guessed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from islewright.job.gap import Unknown
from islewright.papers.place import circuit_numbers, terminals
from islewright.papers.say import NONE, NOT_KNOWN, figure, stated

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


def circuits(job: Any) -> list[dict[str, Any]]:
    """The rows of each board, in the order of the job file."""
    return [_board(job, name, board) for name, board in job.boards.items()]


def _board(job: Any, name: str, board: Any) -> dict[str, Any]:
    return {
        "board": name,
        "at": stated(lambda: board.at),
        "busbar": stated(lambda: board.busbar_a, "A"),
        "rcds": [_rcd(key, rcd) for key, rcd in stated_rcds(board).items()],
        "rows": [
            _circuit(job, number, key)
            for key, number in circuit_numbers(job).items()
            if job.circuits[key].board == name
        ],
    }


def stated_rcds(board: Any) -> dict[str, Any]:
    """RCDs of a board; none where the job does not know them."""
    try:
        return dict(board.rcds)
    except Unknown:
        return {}


def _rcd(name: str, rcd: Any) -> str:
    return f"{name}: {stated(lambda: rcd.rating_a, 'A')}, {_residual(rcd)}"


def _residual(part: Any) -> str:
    delay = stated(lambda: part.delay)
    kind = stated(lambda: part.type)
    words = [stated(lambda: part.trips_at_a, "A"), "type not known" if kind == NOT_KNOWN else kind]
    return " ".join(words + ([] if delay == NONE else [delay]))


def _circuit(job: Any, number: int, name: str) -> dict[str, Any]:
    circuit = job.circuits[name]
    return {
        "number": str(number),
        "name": name,
        "lines": _words(lambda: job.lines_of(circuit)),
        "device": _device(circuit),
        "rcd": protected_by(circuit),
        **_laid(circuit),
        "length": _length(circuit),
        "use": stated(lambda: circuit.use),
        "wish": {"wanted": "wanted", "not needed": "no"}.get(
            stated(lambda: circuit.wish), NOT_KNOWN
        ),
        "state": stated(lambda: circuit.state),
    }


def _words(read: Callable[[], Iterable[str]]) -> str:
    return stated(lambda: " ".join(read()))


def _device(part: Any) -> str:
    return stated(lambda: None if part.device is None else part.device.name)


def protected_by(circuit: Any) -> str:
    """The RCDs in front of the circuit: the group's, its own, or none."""
    try:
        behind = circuit.behind
        device = circuit.device
        own = None if device is None else device.residual
    except Unknown:
        return NOT_KNOWN
    words = [behind] if behind else []
    if own is not None:
        words.append(f"own {_residual(own)}")
    return ", ".join(words) or NONE


def _laid(part: Any) -> dict[str, str]:
    return {
        "size": figure(lambda: part.size_mm2),
        "earth": figure(lambda: part.pe_mm2),
        "method": stated(lambda: part.method),
    }


def _length(circuit: Any) -> str:
    try:
        ring = circuit.ring
        if ring is not None:
            return f"{float(ring.first_leg_m):.6g} + {float(ring.second_leg_m):.6g}"
        return figure(lambda: circuit.length_m)
    except Unknown:
        return NOT_KNOWN


def cables(job: Any) -> list[dict[str, str]]:
    """One row for each cable between two places."""
    return [_cable(name, cable) for name, cable in job.cables.items()]


def _cable(name: str, cable: Any) -> dict[str, str]:
    return {
        "name": name,
        "from": terminals(cable.from_),
        "to": terminals(cable.to),
        "device": _cable_device(cable),
        "cores": _words(lambda: cable.cores),
        "made": _made_of(cable),
        **_laid(cable),
        "length": figure(lambda: cable.length_m),
        "state": stated(lambda: cable.state),
    }


def _made_of(cable: Any) -> str:
    """Metal and insulation."""
    metal, insulation = stated(lambda: cable.material), stated(lambda: cable.insulation)
    return metal if metal == insulation else f"{metal}, {insulation}"


def _cable_device(cable: Any) -> str:
    name = _device(cable)
    if name in {NONE, NOT_KNOWN}:
        return name
    return f"{name} at {terminals(cable.from_ if cable.device_at == 'from' else cable.to)}"


def methods_used(job: Any) -> set[str]:
    """Methods that the schedules name."""
    parts = [*job.circuits.values(), *job.cables.values()]
    return {_laid(part)["method"] for part in parts}


def methods(job: Any) -> list[dict[str, str]]:
    """Meaning of each method that the schedules name."""
    used = methods_used(job)
    return [{"method": m, "text": text} for m, text in METHODS.items() if m in used]
