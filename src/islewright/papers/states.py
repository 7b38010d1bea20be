"""Pages that tell the states: single lines, and where neutral and earth meet in each."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from islewright import drawing
from islewright.findings import Status
from islewright.papers import place
from islewright.papers.place import TERMINALS
from islewright.papers.say import capital, listed, sentence

if TYPE_CHECKING:
    from islewright.job.model import Job
    from islewright.network.sheet import StateSheet
    from islewright.rules.study import Study

MODES = ("grid mode", "island mode")
#: rules whose findings belong to the statement of neutral and earth
CHAPTERS = ("neutral.", "earthing.")


def governing(study: Study) -> tuple[StateSheet, ...]:
    """The sheet of each mode that people read: the first one told of it."""
    first = {sheet.mode: sheet for sheet in reversed(study.states)}
    return tuple(first[mode] for mode in MODES if mode in first)


def told_states(study: Study) -> tuple[StateSheet, ...]:
    """The states as papers name them; a house without a bond has one dead state, not two."""
    told = []
    for sheet in study.states:
        if sheet.name in _BOND_MOVES and not _has_a_bond(study.job):
            if sheet.name != _BOND_MOVES[0]:
                continue
            told.append(dataclasses.replace(sheet, name="dead"))
        else:
            told.append(dataclasses.replace(sheet, name=_NAMES.get(sheet.name, sheet.name)))
    return tuple(told)


#: dead states that differ by the bond alone
_BOND_MOVES = ("dead, bond closed", "dead, bond open")
#: a state's name says what is open; main switches stay as they are
_NAMES = {"everything open": "main fuse and switch open"}


def _has_a_bond(job: Job) -> bool:
    """Whether switch or inverter has one, or nobody has said that it has none."""
    return any(owner.gap("bond") is not None or owner.has("bond")
               for owner in (job.switch, job.inverter))  # fmt: skip


def single_lines(study: Study) -> list[dict[str, Any]]:
    """One drawing for each mode, the other small beside it; a large house takes more sheets."""
    sheets = governing(study)
    return [
        {
            "title": f"Single line, {sheet.name}",
            "sheets": drawing.single_lines(
                study.job, sheet, beside=next((s for s in sheets if s is not sheet), None)
            ),
        }
        for sheet in sheets
    ]


def neutral_and_earth(study: Study) -> dict[str, Any]:
    """What is said of neutral and earth; states that say the same are said once.

    The states that people live in are drawn; those in which nothing runs are rows of a table.
    """
    states = told_states(study)
    run = [sheet for sheet in states if sheet.mode in MODES]
    rest = [sheet for sheet in states if sheet.mode not in MODES]
    always = list(dict.fromkeys("; ".join(s.always_alive) or "nothing" for s in states))
    once = len(always) == 1
    return {
        "drawn": [_told(study, sheets, always=not once) for sheets in _alike(run)],
        "unfed": [_row(sheets) for sheets in _alike(rest)],
        "always": always[0] if once else "",
        "positions": drawing.positions(study.job, states),
    }


def _alike(sheets: Iterable[StateSheet]) -> list[list[StateSheet]]:
    """Sheets with the same statement together, in the order in which they are told."""
    groups: dict[tuple[Any, ...], list[StateSheet]] = {}
    for sheet in sheets:
        groups.setdefault(_statement(sheet), []).append(sheet)
    return list(groups.values())


def _statement(sheet: StateSheet) -> tuple[Any, ...]:
    """What makes two states tell the same; a dead house's poles are told in words alone."""
    shown = ("islanding switch", "bond", "inverter bond", "bypass")
    run = sheet.mode in MODES
    return (
        sheet.mode,
        tuple((k, v) for k, v in sheet.closed.items() if k.startswith(shown) and run),
        sheet.system,
        sheet.neutral_earthed_at,
        sheet.bond,
        sheet.means_of_earthing,
        sheet.always_alive,
    )


def _told(study: Study, sheets: list[StateSheet], *, always: bool) -> dict[str, Any]:
    sheet = sheets[0]
    rows = [
        ("Neutral is earthed", _lines(sheet.neutral_earthed_at)),
        ("Neutral-earth bond", [sheet.bond]),
        ("Means of earthing", [sheet.means_of_earthing]),
        ("System of this state", [sheet.system]),
    ]
    wide = [("Fed by", [listed(dict.fromkeys(s.fed_by for s in sheets), "or")])]
    if also := also_alive(study, sheets):
        wide.append(("Alive as well", also))
    if always:
        wide.append(("Always alive", ["; ".join(sheet.always_alive) or "nothing"]))
    return {
        "mode": capital(sheet.mode),
        "names": [s.name for s in sheets],
        "drawing": drawing.neutral_earth(study.job, sheet),
        "rows": [{"key": key, "lines": lines} for key, lines in rows],
        "wide": [{"key": key, "lines": lines} for key, lines in wide],
    }


def also_alive(study: Study, sheets: list[StateSheet]) -> list[str]:
    """What is or may be alive in a state that shares the drawing of the first and not on it."""
    drawn, *others = sheets
    places = ("supply", *study.job.boards)
    found = []
    for sheet in others:
        more = [
            p for p in places if drawn.alive.get(p) is False and sheet.alive.get(p) is not False
        ]
        if more:
            found.append(f"{sheet.name}: {listed(TERMINALS.get(p, p) for p in more)}")
    return found


def _row(sheets: list[StateSheet]) -> dict[str, Any]:
    sheet = sheets[0]
    return {
        "names": [capital(s.name) for s in sheets],
        "neutral": _lines(sheet.neutral_earthed_at),
        "bond": sheet.bond,
        "means": sheet.means_of_earthing,
        "always": "; ".join(sheet.always_alive) or "nothing",
    }


def _lines(earthed_at: str) -> list[str]:
    """One line a board."""
    return [part.strip() for part in earthed_at.split(";")]


def bond_findings(study: Study) -> list[dict[str, str]]:
    """Findings on neutral and earth, to stand below the drawings: one line a demand.

    What is met at single circuits and cables is left to the pages of findings.
    """
    places: dict[tuple[str, str], dict[str, list[str]]] = {}
    for f in study.findings:
        whole = f.place == "house" or f.place.startswith("board ")
        if f.rule.startswith(CHAPTERS) and (whole or f.status is not Status.MET):
            modes = places.setdefault((f.status.value, f.title), {})
            modes.setdefault(f.mode, []).append(place.short_place(study.job, f.place))
    return [
        {"status": status, "text": sentence(title), "place": _where(modes)}
        for (status, title), modes in places.items()
    ]


def _where(modes: dict[str, list[str]]) -> str:
    """Places with their mode; the same places in two modes are named once."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for mode, where in modes.items():
        alike.setdefault(tuple(where), []).append(mode)
    return "; ".join(f"{listed(where)}, {listed(mode)}" for where, mode in alike.items())
