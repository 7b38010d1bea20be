"""The isolation sheet: the steps in their order, and the warnings that go with them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from islewright.network.make_dead import (
    DC_SIDE,
    DC_SOURCES,
    GENERATOR,
    DeadStep,
    steps_to_dead,
)
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, INVERTER
from islewright.papers import isolating, proving
from islewright.papers.say import NOT_KNOWN, capital, counted, listed, sentence
from islewright.papers.sources_of_power import (
    direct_sources,
    discharge_time,
    may_have_a_generator,
    own_pv_inverter,
    sources,
)

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
    GENERATOR: "generator inlet",
}
_ORDERS = {"stop": "Stop", "open": "Open", "as found": "As found:"}
_LOCK = " Lock, tag."


def making_dead(study: Study) -> dict[str, Any]:
    """All that stands on the sheet; without steps where the network cannot be built."""
    steps = steps_to_dead(study.job, study.net) if study.solvable else ()
    places = list(steps[0].left) if steps else []
    found = list(sources(study.job))
    return {
        "count": capital(counted(len(found), "thing")),
        "sources": found,
        "places": [_head(study.job, place) for place in places],
        "steps": [_step(study.job, step, places) for step in steps],
        "tester": proving.tester(study.job),
        "readings": [proving.alternating(study.job), proving.direct(study.job)],
        "cautions": list(warnings(study)),
    }


def _head(job: Job, place: str) -> str:
    """Head of a column; the cables of the d.c. side are those of what is there."""
    if place == DC_SOURCES:
        return f"{', '.join(direct_sources(job))} cables"
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
        own = " So does the PV inverter’s." if own_pv_inverter(job) else ""
        return _wait(discharge_time(job)) + own
    if step.does == "prove":
        return "Prove dead at every point overleaf."
    if step.what == "the generator":
        return _generator(step)
    lock = _LOCK if step.does == "open" else ""
    return f"{_ORDERS[step.does]} {step.what}.{lock}"


def _generator(step: DeadStep) -> str:
    way = "Pull its plug" if step.does == "unplug" else "Block its start, open its breaker"
    return f"Stop the generator. {way}.{_LOCK}"


def _wait(time: str) -> str:
    if time == NOT_KNOWN:
        return (
            "Wait until the inverter has emptied itself. Its discharge time is not known: "
            "read it off the plate, else ask the maker, before anything is opened. ___ min"
        )
    return f"Wait {time}: the inverter empties itself. A longer time on its plate holds."


# ------------------------------------------------------------------------- warnings
def warnings(study: Study) -> Iterator[dict[str, str]]:
    """Danger first, then why; what the trade warns of and what this house adds."""
    yield from isolating.cautions(study)
    yield {
        "danger": "The inverter starts by itself.",
        "why": "Stopped at its control is not isolated: open, lock and tag its device before "
        "anything else is opened.",
    }
    if may_have_a_generator(study.job):
        yield {
            "danger": "Somebody may start the generator.",
            "why": "A dark house invites it. Unplugged, and its inlet locked, it cannot feed into "
            "your work.",
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
