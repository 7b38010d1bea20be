"""The job pack: gathers the pages of a study and has them set.

Belongs here: which pages there are. Each page has a module that says what stands on it
and a template beside it that says how it looks.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from islewright.job.keep import keep_bytes
from islewright.papers import (
    asking,
    by_hand,
    equipment,
    in_series,
    isolating,
    letters_to_send,
    limits,
    making_dead,
    reports,
    rising,
    say,
    schedule,
    seen_by,
    settings,
    sources,
    states,
    survey_form,
)
from islewright.papers.cover import cover
from islewright.papers.letters import Letters
from islewright.papers.opens_first import opens_first

if TYPE_CHECKING:
    from islewright.rules.study import Study


#: sections of the pack in their order, each with what it holds
SECTIONS = {
    "cover": "verdict, what must be done first, cautions",
    "drawings": "single line of each mode",
    "neutral": "neutral and earth in each state, where an RCD sees and where not",
    "dead": "how to make the house dead, step by step, and where to prove it",
    "alive": "what stays alive for each isolator, what lifts the protective conductor",
    "circuits": "circuits, cables and equipment, existing and new",
    "settings": "what is to be entered and tightened",
    "findings": "what is not met, undecided or near, and the met ones summed up",
    "first": "what opens first in island mode",
    "curves": "time against current, touch voltage, the inverter's limits",
    "questions": "what is still to be found out",
    "letters": "letters to makers, operator and customer",
    "sources": "assumptions, and how far each limit is confirmed",
    "arithmetic": "the sums of every finding",
}


def write_pack(
    study: Study, path: str | os.PathLike[str], *, sections: Iterable[str] = tuple(SECTIONS)
) -> Path:
    """Write the job pack of a study as PDF; the same study gives the same bytes.

    Parameters
    ----------
    study : what `islewright.study` returned
    path : where the PDF goes; missing folders are made
    sections : keys of `SECTIONS`; they stand in the pack's order, whatever theirs

    Returns
    -------
    the path written to

    Raises
    ------
    PaperError : the typesetter refused or complained; nothing is written then
    OSError : the file cannot be written
    KeyError : no such section
    """
    from islewright.papers.typeset import set_pdf

    target = Path(path)
    date = datetime.date.fromisoformat(study.job.head.date)
    pdf = set_pdf(pages(study, sections=sections), date)
    target.parent.mkdir(parents=True, exist_ok=True)
    keep_bytes(target, pdf)
    return target


#: day that a blank form bears inside, so that it is the same on every day
FORM_DAY = datetime.date(2026, 1, 1)


def write_survey(study: Study | None, path: str | os.PathLike[str]) -> Path:
    """Write the survey sheet as PDF: blank without a study, else filled with what it knows.

    Raises
    ------
    PaperError : the typesetter refused or complained; nothing is written then
    OSError : the file cannot be written
    """
    from islewright.papers.typeset import set_pdf

    target = Path(path)
    date = FORM_DAY if study is None else datetime.date.fromisoformat(study.job.head.date)
    pdf = set_pdf(survey_pages(study), date)
    target.parent.mkdir(parents=True, exist_ok=True)
    keep_bytes(target, pdf)
    return target


def survey_pages(study: Study | None) -> dict[str, Any]:
    """What stands on the survey sheet, as plain texts and numbers."""
    form = survey_form.blank() if study is None else survey_form.filled(study)
    first = dict.fromkeys(("job", "revision", "date", "input", "release"), "")
    content = {"head": first if study is None else head(study), "survey": form}
    cleaned: dict[str, Any] = Letters().clean(content)
    return {**cleaned, "sections": ["survey"]}


def pages(study: Study, *, sections: Iterable[str] = tuple(SECTIONS)) -> dict[str, Any]:
    """All that stands in the chosen sections, as plain texts and numbers.

    Raises
    ------
    KeyError : no such section
    """
    chosen = set(sections)
    if unknown := sorted(chosen - set(SECTIONS)):
        raise KeyError(*unknown)
    letters = Letters()
    content: dict[str, Any] = {"head": head(study)}
    for section in SECTIONS:
        if section in chosen:
            content |= _CONTENT[section](study)
    cleaned: dict[str, Any] = letters.clean(content)
    if "cover" in cleaned:
        cleaned["cover"]["lost_letters"] = bool(letters.lost)
    return {**cleaned, "sections": [section for section in SECTIONS if section in chosen]}


def _cover(study: Study) -> dict[str, Any]:
    return {"cover": cover(study, reports.gather(study.findings))}


def _neutral(study: Study) -> dict[str, Any]:
    return {
        "neutral_earth": states.neutral_and_earth(study),
        "bond_findings": states.bond_findings(study),
        "seen": seen_by.told(study),
    }


def _alive(study: Study) -> dict[str, Any]:
    return {"isolating": isolating.isolating(study), "rising": rising.rising(study)}


def _circuits(study: Study) -> dict[str, Any]:
    return {
        "circuits": schedule.circuits(study),
        "loop": schedule.loop_words(study),
        "cables": schedule.cables(study.job),
        "equipment": equipment.equipment(study.job),
        "methods": schedule.methods(study.job),
    }


def _findings(study: Study) -> dict[str, Any]:
    told = reports.gather(study.findings)
    met = reports.summed_up(study.job, study.findings)
    return {
        "findings": [reports.told(study.job, report) for report in told],
        "met": [row for row in met if row["figure"]],
        "met_plain": reports.without_figure(met),
        "met_but": reports.met_but(study.job, study.findings),
    }


def _sources(study: Study) -> dict[str, Any]:
    return {
        "assumptions": sources.assumptions(study),
        "sources": sources.sources(study),
        "editions": study.profile.edition,
    }


#: what each section needs
_CONTENT: dict[str, Callable[[Study], dict[str, Any]]] = {
    "cover": _cover,
    "drawings": lambda study: {"single_lines": states.single_lines(study)},
    "neutral": _neutral,
    "dead": lambda study: {"dead": making_dead.making_dead(study)},
    "alive": _alive,
    "circuits": _circuits,
    "settings": lambda study: {"settings": settings.settings(study)},
    "findings": _findings,
    "first": lambda study: {"race": opens_first(study)},
    "curves": lambda study: {"curves": in_series.chains(study), "limits": limits.limits(study)},
    "questions": lambda study: {"questions": asking.open_questions(study)},
    "letters": lambda study: {"letters": letters_to_send.letters(study)},
    "sources": _sources,
    "arithmetic": lambda study: {"arithmetic": by_hand.by_hand(study)},
}


def head(study: Study) -> dict[str, str]:
    """What every page bears in its head and foot."""
    job, profile = study.job, study.profile
    return {
        "job": job.head.name,
        "revision": say.stated(lambda: job.head.revision),
        "date": say.day(job.head.date),
        "input": job.input_hash[:8] or say.NOT_KNOWN,
        "release": profile.release,
    }
