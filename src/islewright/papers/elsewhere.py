"""Findings for other programs and other papers: as CSV for a table, as Markdown for a text.

Belongs here: the two forms. The JSON form is that of `islewright check --json`.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from islewright.findings import WEIGHT, Finding, Status
from islewright.papers import place
from islewright.papers.reports import summed_up, value_against_limit
from islewright.papers.say import NOT_KNOWN, day, sentence, stated
from islewright.papers.verdict import verdict

if TYPE_CHECKING:
    from islewright.rules.study import Study

COLUMNS = (
    "status", "place", "mode", "state", "demand", "value", "limit", "unit", "at least", "margin",
    "spread", "arithmetic", "means", "remedies", "questions", "clauses", "confirmed", "rule",
    "profile",
)  # fmt: skip
#: what a table program would take for a formula at the beginning of a text
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_MARKUP = re.compile(r"([\\`*_{}\[\]<>|#~])")


# ------------------------------------------------------------------------- CSV
def csv_text(study: Study) -> str:
    """All findings, one a line after the heads; commas, quotes where needed, UTF-8.

    Figures are bare, in the unit of their column; what has no figure is an empty cell. A
    text that a table program would reckon with begins with an apostrophe.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    writer.writerows(map(_cells, study.findings))
    return out.getvalue()


def _cells(finding: Finding) -> list[str]:
    verdict_ = finding.verdict
    row: dict[str, Any] = {
        "status": finding.status.value,
        "place": finding.place,
        "mode": finding.mode,
        "state": finding.state,
        "demand": finding.title,
        "value": finding.value,
        "limit": finding.limit,
        "unit": finding.unit,
        "at least": "yes" if verdict_.at_least else "no",
        "margin": finding.margin,
        "spread": verdict_.spread,
        "arithmetic": "; ".join(finding.because),
        "means": verdict_.means,
        "remedies": " ".join(finding.remedies),
        "questions": "; ".join(f"{q.ask} ({q.field}; {q.whom})" for q in finding.questions),
        "clauses": "; ".join(finding.clauses),
        "confirmed": verdict_.confirmed,
        "rule": finding.rule,
        "profile": finding.profile,
    }
    return [_cell(row[column]) for column in COLUMNS]


def _cell(value: Any) -> str:
    if isinstance(value, int | float):
        return f"{float(value):.10g}" if math.isfinite(value) else ""
    text = " ".join(str(value).split())
    return f"'{text}" if text.startswith(_FORMULA) else text


# ------------------------------------------------------------------------- Markdown
def markdown_text(study: Study) -> str:
    """Verdict, each finding that is not met, undecided or near, questions, and the met ones."""
    head, job = study.job.head, study.job
    headline, paragraphs = verdict(study.counts)
    revision = stated(lambda: head.revision)
    given = job.input_hash[:8] or NOT_KNOWN
    lines = [f"# {_plain(head.name)}: findings", ""]
    lines += [f"{_plain(place.house(job))} {_plain(place.equipment(job))}", ""]
    lines += [
        (
            f"Revision {_plain(revision)}, {day(head.date)}; input {given}; "
            f"{_plain(study.profile.name)}, {_plain(study.profile.edition)}."
        ),
        "",
    ]
    lines += [f"## {headline}", "", *_paragraphs(map(_plain, paragraphs))]
    for status in sorted(WEIGHT, key=WEIGHT.__getitem__):
        found = [f for f in study.findings if f.status is status]
        if found and status is not Status.MET:
            lines += [f"## {status.value.capitalize()}", ""]
            lines += [line for finding in found for line in _finding(study, finding)]
    lines += _questions(study) + _met(study)
    lines += ["## Not covered", "", *(f"- {_plain(sentence(t))}" for t in study.not_covered)]
    return "\n".join(lines).rstrip() + "\n"


def _finding(study: Study, finding: Finding) -> list[str]:
    where = place.place_name(study.job, finding.place)
    lines = [f"### {_plain(sentence(finding.title).rstrip('.'))}", ""]
    lines += [f"{_plain(where)}, **{finding.mode}**; {_plain('; '.join(finding.clauses))}", ""]
    lines += [f"    {line}" for line in finding.because]
    figures = value_against_limit(finding)
    lines += ([f"    {figures}"] if figures else []) + [""]
    told = [_plain(sentence(finding.verdict.means))] if finding.verdict.means else []
    told += [f"**Remedy.** {_plain(sentence(text))}" for text in finding.remedies]
    told += [f"**Ask {q.whom}.** {_plain(q.ask or q.field)}" for q in finding.questions]
    return [*lines, *_paragraphs(told)]


def _questions(study: Study) -> list[str]:
    if not study.questions:
        return []
    rows = [
        (str(r.findings_count), r.question.ask or r.question.field, r.question.how,
         r.question.whom, r.question.field)
        for r in study.questions
    ]  # fmt: skip
    heads = ("Findings", "Question", "How", "Whom", "Field")
    return ["## To find out", "", *_table(heads, rows), ""]


def _met(study: Study) -> list[str]:
    rows = [
        (r["count"], r["title"], r["mode"], r["value"], r["limit"], r["where"])
        for r in summed_up(study.job, study.findings)
    ]
    if not rows:
        return []
    heads = ("Met", "Demand", "Mode", "Tightest", "Limit", "Where")
    return ["## Met, with the tightest of each demand", "", *_table(heads, rows), ""]


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    lines = [f"| {' | '.join(heads)} |", f"|{'---|' * len(heads)}"]
    return lines + [f"| {' | '.join(map(_plain, row))} |" for row in rows]


def _paragraphs(texts: Iterable[str]) -> list[str]:
    return [line for text in texts for line in (text, "")]


def _plain(text: str) -> str:
    """A text that no name can turn into markup or into a second line."""
    return _MARKUP.sub(r"\\\1", " ".join(text.split()))
