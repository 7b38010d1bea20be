"""The job pack: gathers the pages of a study and has them set.

Belongs here: which pages there are. Each page has a module that says what stands on it
and a template beside it that says how it looks.
"""

from __future__ import annotations

import datetime
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from islewright.papers import asking, isolating, reports, rising, say, schedule, sources, states
from islewright.papers.cover import cover
from islewright.papers.letters import Letters
from islewright.papers.opens_first import opens_first

if TYPE_CHECKING:
    from islewright.rules.study import Study


def write_pack(study: Study, path: str | os.PathLike[str]) -> Path:
    """Write the job pack of a study as PDF; the same study gives the same bytes.

    Parameters
    ----------
    study : what `islewright.study` returned
    path : where the PDF goes; missing folders are made

    Returns
    -------
    the path written to

    Raises
    ------
    PaperError : the typesetter refused or complained; nothing is written then
    OSError : the file cannot be written
    """
    from islewright.papers.typeset import set_pdf

    target = Path(path)
    date = datetime.date.fromisoformat(study.job.head.date)
    pdf = set_pdf(pages(study), date)
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_bytes(pdf)
    return target


def pages(study: Study) -> dict[str, Any]:
    """All that stands in the pack, as plain texts and numbers."""
    job = study.job
    told = reports.gather(study.findings)
    letters = Letters()
    content = {
        "head": head(study),
        "cover": cover(study, told),
        "single_lines": states.single_lines(study),
        "neutral_earth": states.neutral_and_earth(study),
        "bond_findings": states.bond_findings(study),
        "isolating": isolating.isolating(study),
        "rising": rising.rising(study),
        "circuits": schedule.circuits(study),
        "loop": schedule.loop_words(study),
        "cables": schedule.cables(job),
        "methods": schedule.methods(job),
        "findings": [reports.told(job, report) for report in told],
        "met": reports.summed_up(job, study.findings),
        "met_but": reports.met_but(job, study.findings),
        "race": opens_first(study),
        "questions": asking.open_questions(study),
        "maker": asking.to_the_maker(study),
        "assumptions": sources.assumptions(study),
        "sources": sources.sources(study),
        "editions": study.profile.edition,
    }
    cleaned: dict[str, Any] = letters.clean(content)
    cleaned["cover"]["lost_letters"] = bool(letters.lost)
    return cleaned


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
