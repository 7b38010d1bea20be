"""What stays alive for each isolator that is opened, and the order that keeps it dead."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from islewright.papers.place import TERMINALS
from islewright.papers.say import listed, sentence
from islewright.papers.sources_of_power import may_have_a_generator

if TYPE_CHECKING:
    from islewright.network.isolate import Isolation
    from islewright.rules.study import Study

RUNNING = "left running"


def isolating(study: Study) -> dict[str, Any]:
    """Table of isolators against places, and the caution that goes with it."""
    told = study.isolations
    known = dict.fromkeys(p for row in told for p in (*row.alive, *row.dead))
    order = dict.fromkeys(("supply", *study.job.boards, *TERMINALS, *known))
    places = [place for place in order if place in known]
    return {
        "places": [TERMINALS.get(place, place) for place in places],
        "rows": [_row(row, places, first=_first(told, row)) for row in told],
        "cautions": list(cautions(study)),
        "generator": may_have_a_generator(study.job),
    }


def _first(told: tuple[Isolation, ...], row: Isolation) -> bool:
    """Whether a row is the first one of its isolator, which bears the name."""
    return next(r for r in told if r.isolator == row.isolator) is row


def _row(row: Isolation, places: Iterable[str], *, first: bool) -> dict[str, Any]:
    return {
        "isolator": row.isolator if first else "",
        "inverter": row.inverter,
        "cells": [_cell(row, place) for place in places],
    }


def _cell(row: Isolation, place: str) -> str:
    """Alive, dead, or "treat as alive": an inverter that runs may feed its own terminals."""
    if place in row.alive:
        return "alive"
    if place not in row.dead:
        return "not known"
    return "treat" if place == "inverter" and row.inverter == RUNNING else "dead"


def starts_the_island(study: Study) -> dict[str, tuple[str, ...]]:
    """Isolators whose opening leaves boards alive only because the inverter still runs.

    Returns
    -------
    isolator -> boards that are dead only once the inverter is stopped first
    """
    stopped = {row.isolator: row for row in study.isolations if row.inverter != RUNNING}
    found = {}
    for row in study.isolations:
        twin = stopped.get(row.isolator)
        if row.inverter == RUNNING and twin is not None:
            back = tuple(b for b in study.job.boards if b in row.alive and b in twin.dead)
            if back:
                found[row.isolator] = back
    return found


def cautions(study: Study) -> Iterator[dict[str, str]]:
    """Danger first, then why."""
    starts = starts_the_island(study)
    if starts:
        boards = listed(dict.fromkeys(board for back in starts.values() for board in back))
        yield {
            "danger": f"Never open {listed((f'the {name}' for name in starts), 'or')} first.",
            "why": "While the inverter runs, the house would go over to island mode and come alive "
            f"again: {boards}. Stop the inverter. Open. Lock. Prove dead.",
        }
    always = dict.fromkeys(text for sheet in study.states for text in sheet.always_alive)
    if always:
        yield {
            "danger": "Some parts cannot be made dead.",
            "why": sentence(f"Always alive: {'; '.join(always)}"),
        }
