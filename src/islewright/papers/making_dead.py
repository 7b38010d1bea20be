"""The isolation sheet: every source, the steps in their order, where to prove dead, warnings."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from islewright.network.make_dead import DC_SIDE, DC_SOURCES, DeadStep, steps_to_dead
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, INVERTER
from islewright.papers import isolating
from islewright.papers.say import DOES_NOT_APPLY, NOT_KNOWN, capital, listed, sentence, stated

if TYPE_CHECKING:
    from islewright.job.model import Job
    from islewright.rules.study import Study

#: heads of the columns
HEADS = {
    "service": "service cable",
    "supply": "behind the main fuse",
    GRID_SIDE: "islanding switch, grid",
    HOUSE_SIDE: "islanding switch, house",
    INVERTER: "inverter, a.c.",
    DC_SIDE: "inverter, d.c.",
}
_ORDERS = {"stop": "Stop", "open": "Open", "as found": "As found:"}


def making_dead(study: Study) -> dict[str, Any]:
    """All that stands on the sheet; without steps where the network cannot be built."""
    steps = steps_to_dead(study.job, study.net) if study.solvable else ()
    places = list(steps[0].left) if steps else []
    return {
        "sources": list(sources(study.job)),
        "places": [_head(study.job, place) for place in places],
        "steps": [_step(study.job, step, places) for step in steps],
        "points": list(points(study.job)),
        "heads": pairs(study.job),
        "cautions": list(warnings(study)),
    }


def _head(job: Job, place: str) -> str:
    """Head of a column; the cables of the d.c. side are those of what is there."""
    if place == DC_SOURCES:
        there = [word for word, part in (("battery", "battery"), ("PV", "pv"))
                 if not _absent(job, part)]  # fmt: skip
        return f"{', '.join(there)} cables"
    return HEADS.get(place, place)


def _step(job: Job, step: DeadStep, places: list[str]) -> dict[str, Any]:
    return {
        "order": _order(job, step),
        "remark": step.remark,
        "counted": step.does != "as found",
        "cells": [step.left[place] for place in places],
    }


def _order(job: Job, step: DeadStep) -> str:
    if step.does == "wait":
        return _wait(discharge_time(job))
    if step.does == "prove":
        return "Prove dead at every point below."
    lock = " Lock, tag." if step.does == "open" else ""
    return f"{_ORDERS[step.does]} {step.what}.{lock}"


def discharge_time(job: Job) -> str:
    """How long the inverter stays charged once cut off, by its maker; or "not known"."""
    return stated(lambda: job.inverter.discharge_s, "s")


def _wait(time: str) -> str:
    if time == NOT_KNOWN:
        return (
            "Wait until the inverter has emptied itself. Its discharge time is not known: "
            "read it off the plate, else ask the maker, before anything is opened. ___ min"
        )
    return f"Wait {time}: the inverter empties itself. A longer time on its plate holds."


# ------------------------------------------------------------------------- sources
def sources(job: Job) -> Iterator[dict[str, str]]:
    """Everything that can make a conductor of this house alive."""
    volts = f"{job.supply.nominal_voltage_v:g} V line to neutral"
    yield _source("public supply", "service entry", f"a.c., {volts}", "always, unless it is out")
    placed = job.placement
    yield _source(
        "inverter",
        stated(lambda: placed.inverter.at),
        f"a.c., {volts}",
        "on the battery or PV, with the public supply out; starts by itself",
    )
    if placed.gap("battery") is not None or placed.has("battery"):
        battery = "battery" if placed.has("battery") else "battery, if there is one"
        yield _source(
            battery,
            stated(lambda: placed.battery and placed.battery.at),
            f"d.c., {stated(lambda: job.battery and job.battery.nominal_v, 'V')}",
            "always, up to its own switch",
        )
    if placed.gap("pv") is not None or placed.has("pv"):
        array = "PV array" if placed.has("pv") else "PV array, if there is one"
        yield _source(
            array,
            stated(lambda: placed.pv and placed.pv.at),
            f"d.c., up to {stated(lambda: job.pv and job.pv.open_circuit_v, 'V')}",
            "while there is light, up to its isolators",
        )
    time = discharge_time(job)
    when = "discharge time not known" if time == NOT_KNOWN else f"{time} after it is cut off"
    yield _source("capacitors", "in the inverter", "a.c. filter and d.c. link", when)


def _source(name: str, at: str, kind: str, when: str) -> dict[str, str]:
    return {"name": name, "at": at, "kind": kind, "when": when}


# ------------------------------------------------------------------------- proving
def pairs(job: Job) -> list[str]:
    """Conductors to read between, the d.c. pair last."""
    lines = job.phases
    among = [f"{lines[i]}-{lines[i - 1]}" for i in range(1, len(lines))]
    if len(lines) == 3:
        among = ["L1-L2", "L2-L3", "L3-L1"]
    to_earth = [f"{conductor}-PE" for conductor in (*lines, "N")]
    return [*(f"{line}-N" for line in lines), *among, *to_earth, "+ −, to PE"]


def points(job: Job) -> Iterator[dict[str, Any]]:
    """Where to prove dead, what could make it alive, and which pairs exist there."""
    many = len(pairs(job))
    grid, island = "public supply", "inverter"
    for name, board in job.boards.items():
        at = stated(functools.partial(getattr, board, "at"))
        place = f"{name}, busbar" + ("" if at == NOT_KNOWN else f" ({at})")
        yield _point(place, f"{grid}, {island}", many)
    yield _point("islanding switch, grid terminals", f"{grid}, {island}", many)
    yield _point("islanding switch, house terminals", f"{grid}, {island}", many)
    yield _point("inverter, a.c. terminals", f"{grid}, {island}, capacitors", many)
    fed = [w for w, p in (("battery", "battery"), ("PV", "pv")) if not _absent(job, p)]
    yield _point("inverter, d.c. terminals", ", ".join([*fed, "capacitors"]), many, direct=True)


def _absent(job: Job, placed: str) -> bool:
    return job.placement.gap(placed) is None and not job.placement.has(placed)


def _point(place: str, whence: str, many: int, *, direct: bool = False) -> dict[str, Any]:
    """A row to write readings into: a.c. points have all pairs but the last, d.c. ones that."""
    of_ac, of_dc = (DOES_NOT_APPLY, "V") if direct else ("V", DOES_NOT_APPLY)
    return {"place": place, "whence": whence, "cells": [of_ac] * (many - 1) + [of_dc]}


# ------------------------------------------------------------------------- warnings
def warnings(study: Study) -> Iterator[dict[str, str]]:
    """Danger first, then why; what the trade warns of and what this house adds."""
    yield from isolating.cautions(study)
    yield {
        "danger": "The inverter starts by itself.",
        "why": "Stopped at its control is not isolated: open, lock and tag its device before "
        "anything else is opened.",
    }
    yield from _not_an_isolator(study.job)
    yield from _shared_neutrals(study.job)
    yield {
        "danger": "Never part PE, PEN, bond or electrode while any source can come back.",
        "why": "Exposed parts of the whole house may take the voltage of a line.",
    }
    yield {
        "danger": "A small reading on an open conductor can be induced.",
        "why": "Load it with the tester and read again; anything above 50 V a.c. or 120 V d.c.: "
        "stop, and find the source.",
    }


def _not_an_isolator(job: Job) -> Iterator[dict[str, str]]:
    switch = job.switch
    if not (switch.has("isolates") and switch.isolates == "suitable for isolation"):
        told = "its maker does not state it as suitable for isolation"
        yield {
            "danger": "The islanding switch is no isolator.",
            "why": sentence(f"{told}; it also moves by itself when the supply fails or returns"),
        }
    joined = [
        name
        for name, board in job.boards.items()
        if board.has("main_switch")
        and board.main_switch is not None
        and not (board.main_switch.has("poles") and "N" in board.main_switch.poles)
    ]
    if joined:
        yield {
            "danger": f"The neutral stays joined behind the main switch of {listed(joined)}.",
            "why": "It can rise against earth through loads and other houses: treat it as alive.",
        }


def _shared_neutrals(job: Job) -> Iterator[dict[str, str]]:
    """Circuits whose neutral another board or circuit can make alive."""
    astray = [
        name
        for name, circuit in job.circuits.items()
        if circuit.has("neutral_at") or circuit.has("neutral_with")
    ]
    if astray:
        yield {
            "danger": f"The neutral of {listed(astray)} belongs to another bar or circuit.",
            "why": capital("it carries current although the line is dead; do not open it."),
        }
