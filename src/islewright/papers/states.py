"""Pages that tell the states: single lines, and where neutral and earth meet in each."""

from __future__ import annotations

from typing import Any

from islewright import drawing
from islewright.papers import place
from islewright.papers.say import capital, listed, sentence

MODES = ("grid mode", "island mode")
#: rules whose findings belong to the statement of neutral and earth
CHAPTERS = ("neutral.", "earthing.")


def governing(study: Any) -> tuple[Any, ...]:
    """The sheet of each mode that people read: the first one told of it."""
    first = {sheet.mode: sheet for sheet in reversed(study.states)}
    return tuple(first[mode] for mode in MODES if mode in first)


def single_lines(study: Any) -> list[dict[str, Any]]:
    """One drawing for each mode; a large house takes several sheets a mode."""
    return [
        {
            "title": f"Single line, {sheet.name}",
            "sheets": drawing.single_lines(study.job, sheet),
        }
        for sheet in governing(study)
    ]


def neutral_and_earth(study: Any) -> list[dict[str, Any]]:
    """What is said of neutral and earth; states that say the same are said once."""
    alike: dict[tuple[Any, ...], list[Any]] = {}
    for sheet in study.states:
        alike.setdefault(_statement(sheet), []).append(sheet)
    return [_told(study, sheets) for sheets in alike.values()]


def _statement(sheet: Any) -> tuple[Any, ...]:
    shown = ("islanding switch", "bond", "bypass")
    return (
        sheet.mode,
        tuple((k, v) for k, v in sheet.closed.items() if k.startswith(shown)),
        sheet.system,
        sheet.neutral_earthed_at,
        sheet.bond,
        sheet.means_of_earthing,
    )


def _told(study: Any, sheets: list[Any]) -> dict[str, Any]:
    sheet = sheets[0]
    names = [s.name for s in sheets]
    named_by_mode = sheet.mode in MODES
    return {
        "mode": capital(sheet.mode if named_by_mode else "; ".join(names)),
        "names": names if named_by_mode else [],
        "drawing": drawing.neutral_earth(study.job, sheet),
        "rows": [
            {"key": "Neutral is earthed", "text": sheet.neutral_earthed_at},
            {"key": "Neutral-earth bond", "text": sheet.bond},
            {"key": "Means of earthing", "text": sheet.means_of_earthing},
            {"key": "System of this state", "text": sheet.system},
            {"key": "Fed by", "text": listed(dict.fromkeys(s.fed_by for s in sheets), "or")},
            {"key": "Always alive", "text": "; ".join(sheet.always_alive) or "nothing"},
        ],
    }


def bond_findings(study: Any) -> list[dict[str, str]]:
    """Findings on neutral and earth, to stand below the drawings: one line a demand."""
    places: dict[tuple[str, str, str], list[str]] = {}
    for f in study.findings:
        if f.rule.startswith(CHAPTERS):
            places.setdefault((f.status.value, f.title, f.mode), []).append(
                place.short_place(study.job, f.place)
            )
    return [
        {"status": status, "text": sentence(title), "place": f"{listed(where)}, {mode}"}
        for (status, title, mode), where in places.items()
    ]
