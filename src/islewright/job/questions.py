"""Open questions of a survey: every gap in the file, and which of them matter most.

A gap alone is not yet worth a walk: what counts is how many findings hang on it, and only
the findings know. So the ranking takes questions as the rules return them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from islewright.findings import Question
from islewright.job.model import Job, SameFor
from islewright.job.part import Part, fields_of, parts_in


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedQuestion:
    """A question, and how many findings stay undecided until it is answered."""

    question: Question
    findings_count: int


def open_gaps(job: Job) -> list[Question]:
    """Every field of the job and of its placed equipment that is left out or unknown.

    Returns
    -------
    questions in the order of the file, those to the makers last
    """
    found = list(_gaps_of(job))
    for sheet in (job.switch, job.inverter, *_placed_if_any(job)):
        found += _gaps_of(sheet)
    return found


def _placed_if_any(job: Job) -> Iterator[Part]:
    if job.placement.has("battery") and job.battery is not None:
        yield job.battery
    if job.placement.has("pv") and job.pv is not None:
        yield job.pv


def _gaps_of(part: Part) -> Iterator[Question]:
    below = dict(parts_in(part))
    for key, known in fields_of(type(part)).items():
        if part.gap(known.name) is not None:
            yield part.question(known.name)
        for loc, held in below.items():
            if loc[0] == key and not isinstance(held, SameFor):
                yield from _gaps_of(held)


def rank(questions_per_finding: Iterable[Iterable[Question]]) -> list[RankedQuestion]:
    """Order questions by how many findings hang on them.

    Parameters
    ----------
    questions_per_finding : for each finding, what it has to ask; a field asked twice by
        one finding counts once

    Returns
    -------
    one entry for each field, most findings first, then by field; of several questions
    about one field the first stays
    """
    first: dict[str, Question] = {}
    count: dict[str, int] = {}
    for questions in questions_per_finding:
        for field, question in {q.field: q for q in questions}.items():
            first.setdefault(field, question)
            count[field] = count.get(field, 0) + 1
    ranked = [RankedQuestion(question=first[f], findings_count=n) for f, n in count.items()]
    return sorted(ranked, key=lambda r: (-r.findings_count, r.question.field))
