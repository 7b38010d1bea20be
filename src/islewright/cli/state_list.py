"""All states of a house, what each isolator leaves alive, what lifts the earthing terminal."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from islewright.cli.job import finite, job_head, print_json
from islewright.cli.text import heading, paragraph, say, table

if TYPE_CHECKING:
    from islewright.network.sheet import StateSheet
    from islewright.rules.study import Study


def show(of: Study, *, as_json: bool) -> None:
    """Print the list.

    Raises
    ------
    Unknown : too little is stated to build a network; it holds what is missing
    """
    _ = of.net
    if as_json:
        print_json({**job_head(of), **_answer(of)})
        return
    rows = [
        [str(i), s.name, s.fed_by, s.system, s.neutral_earthed_at]
        for i, s in enumerate(of.states, 1)
    ]
    say("Supply states")
    table(["no", "state", "fed by", "system", "neutral earthed at"], rows, right="no")
    _isolators(of)
    _rises(of)
    always = dict.fromkeys(text for sheet in of.states for text in sheet.always_alive)
    heading("Alive whatever stands open")
    for text in always:
        paragraph(text, indent=2, hang=2)


def sheet_form(sheet: StateSheet) -> dict[str, Any]:
    """A state in its JSON form; docs/json.md describes it."""
    return {
        "name": sheet.name,
        "mode": sheet.mode,
        "fed_by": sheet.fed_by,
        "system": sheet.system,
        "neutral_earthed_at": sheet.neutral_earthed_at,
        "bond": sheet.bond,
        "means_of_earthing": sheet.means_of_earthing,
        "always_alive": list(sheet.always_alive),
        "closed": dict(sheet.closed),
        "alive": dict(sheet.alive),
    }


def _answer(of: Study) -> dict[str, Any]:
    return {
        "states": [sheet_form(sheet) for sheet in of.states],
        "isolations": [
            {"isolator": i.isolator, "inverter": i.inverter,
             "alive": list(i.alive), "dead": list(i.dead)}
            for i in of.isolations
        ],
        "rises": [
            {"case": r.case, "mode": r.mode, "met_v": finite(r.met_v),
             "electrode_a": finite(r.electrode_a), "because": r.because}
            for r in of.rises
        ],
    }  # fmt: skip


def _isolators(of: Study) -> None:
    heading("Opened alone, each isolator leaves")
    rows = [[i.isolator, i.inverter, ", ".join(i.alive) or "nothing alive"] for i in of.isolations]
    table(["isolator", "inverter", "alive"], rows)


def _rises(of: Study) -> None:
    if of.rises:
        heading("Earthing terminal to true earth, when something goes wrong")
        rows = [[r.case, r.mode, _volts(r.met_v), r.because] for r in of.rises]
        table(["mishap", "mode", "terminal", "rests on"], rows, right="terminal")


def _volts(value: float) -> str:
    return f"{value:.1f} V" if math.isfinite(value) else "not known"
