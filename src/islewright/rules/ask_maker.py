"""The question to the maker of the inverter, with the figure that would do."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from islewright.findings import Question
from islewright.job.gap import Unknown
from islewright.network.alive import lies_dead
from islewright.network.race import guards_at
from islewright.network.state import Mode
from islewright.network.way import is_backed_up
from islewright.rules.opening import opening_current_a
from islewright.rules.registry import Here
from islewright.rules.time_allowed import allowed_s
from islewright.tables.rows import NotInTable

if TYPE_CHECKING:
    from islewright.rules.study import Study


def ask_current(study: Study, here: Here, allowed: float) -> Question:
    """The question to the maker, with the current from which the place would be cut off."""
    asked = study.island_faults.limit_missing[0]
    words = [asked.ask]
    own = _least_opening(study, here, allowed)
    if own is not None:
        words.append(f"{here.place} is cut off from {own[0]:g} A on ({own[1]}, {allowed:g} s).")
    least = []
    for name, circuit in study.job.circuits.items():
        if is_backed_up(study.job, circuit.board) and not lies_dead(study.job, circuit):
            there = Here("circuit", name, Mode.ISLAND, circuit.board)
            found = _least_of(study, there)
            if found is not None:
                least.append(found)
    if least:
        words.append(f"All circuits of the island: from {max(least):g} A on.")
    return dataclasses.replace(asked, ask=" ".join(words))


def _least_of(study: Study, here: Here) -> float | None:
    """Least current at which a circuit is cut off [A]; None where that is not known."""
    try:
        found = _least_opening(study, here, allowed_s(study, here))
    except Unknown:
        return None
    return None if found is None else found[0]


def _least_opening(study: Study, here: Here, allowed: float) -> tuple[float, str] | None:
    """Least current at which any device in the way opens in time [A], and its name."""
    found = []
    for guard in guards_at(study.job, here.kind, here.name, Mode.ISLAND)[0]:
        try:
            found.append((opening_current_a(guard, allowed), guard.name))
        except (NotInTable, Unknown):
            continue
    return min(found, default=None)
