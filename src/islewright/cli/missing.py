"""What a state cannot be told without, and how that is said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from islewright.cli.job import ask_lines
from islewright.cli.text import paragraph

if TYPE_CHECKING:
    from islewright.findings import Question
    from islewright.network.state import State
    from islewright.rules.study import Study


def missing_in(of: Study, state: State) -> tuple[Question, ...]:
    """What has to be known before any voltage of a state can be."""
    missing = of.net.parts.missing
    found: list[Question] = []
    if state.grid != "out":
        found += missing.get("supply", ())
    if state.inverter == "forming":
        found += [*missing.get("inverter", ()), *missing.get("bond", ())]
    if state.pv == "feeding":
        found += missing.get("PV", ())
    return tuple(dict.fromkeys(found))


def tell_missing(missing: tuple[Question, ...]) -> None:
    """Say that nothing can be said."""
    paragraph("Voltages and currents are not known: the job does not state what they hang on.")
    for line in ask_lines(missing):
        paragraph(line, hang=2)
