"""The cover: the job, the verdict, what must be done first, cautions, what is left out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from islewright.findings import Finding, Status
from islewright.papers import drawn, place
from islewright.papers.reports import Report, value_against_limit
from islewright.papers.say import capital, counted, listed, sentence
from islewright.papers.states import governing
from islewright.papers.verdict import ORDER, verdict

#: more than these would be a second list of findings
MOST_ORDERS = 4


def cover(study: Any, reports: list[Report]) -> dict[str, Any]:
    """Everything on the first page."""
    headline, paragraphs = verdict(study.counts)
    total = sum(study.counts.values())
    return {
        "name": study.job.head.name,
        "house": [place.house(study.job), place.equipment(study.job)],
        "note": sentence(study.job.head.note),
        "headline": headline,
        "verdict": paragraphs,
        "counts": [
            {"status": status.value, "count": study.counts.get(status, 0)} for status in ORDER
        ],
        "total": f"{counted(total, 'finding')} in {counted(len(study.states), 'state')}.",
        "orders": list(orders(study, reports)),
        "more": _more(reports),
        "modes": drawn.two_modes(study.job, governing(study)),
        "cautions": list(cautions(study)),
        "not_covered": [sentence(text) for text in study.not_covered],
    }


def orders(study: Any, reports: list[Report]) -> Iterator[dict[str, str]]:
    """What must be done first: the heaviest findings, one order for each demand."""
    for report in _first_of_each_rule(reports)[:MOST_ORDERS]:
        alike = [r for r in reports if r.rule == report.rule and r.status is report.status]
        places = [p for r in alike for p in r.places]
        yield {
            "do": _what_to_do(report.finding),
            "why": _why(study, report, places),
            "label": report.label,
            "status": report.status.value,
        }


def _first_of_each_rule(reports: list[Report]) -> list[Report]:
    heavy = [r for r in reports if r.status is not Status.NEAR] or reports
    first: dict[tuple[str, Status], Report] = {}
    for report in heavy:
        first.setdefault((report.rule, report.status), report)
    return list(first.values())


def _what_to_do(finding: Finding) -> str:
    if finding.remedies:
        return sentence(finding.remedies[0])
    if finding.questions:
        question = finding.questions[0]
        return sentence(f"ask {question.whom.replace('the site', 'at the site')}: {question.ask}")
    return sentence(finding.title)


def _why(study: Any, report: Report, places: list[str]) -> str:
    finding = report.finding
    where = capital(place.place_name(study.job, places[0]))
    if len(places) > 1:
        where += f" and {counted(len(places) - 1, 'other place')}"
    parts = [f"{where}, {finding.mode}: {finding.status.value}", value_against_limit(finding)]
    head = "; ".join(part for part in parts if part)
    return f"{head}. {sentence(finding.title)}" if finding.remedies else f"{head}."


def _more(reports: list[Report]) -> str:
    left = len(_first_of_each_rule(reports)) - MOST_ORDERS
    return capital(f"{counted(left, 'more demand')} further on.") if left > 0 else ""


def cautions(study: Any) -> Iterator[dict[str, str]]:
    """Danger first, then why. Only what the sheets and findings say."""
    for sheet in study.states:
        boards = [b for b in study.job.boards if sheet.alive.get(b) is True]
        if sheet.mode == "island mode" and boards:
            yield {
                "danger": f"Alive without the public supply: {listed(boards)}.",
                "why": f"Fed by {sheet.fed_by}. Opening the main switch can start the island.",
            }
            break
    always = dict.fromkeys(text for sheet in study.states for text in sheet.always_alive)
    if always:
        yield {
            "danger": "Some parts cannot be made dead.",
            "why": sentence(f"Always alive: {'; '.join(always)}"),
        }
    memory = sum(finding.verdict.confirmed == "memory" for finding in study.findings)
    if memory:
        yield {
            "danger": f"{capital(counted(memory, 'finding'))} "
            f"{'rests' if memory == 1 else 'rest'} on figures quoted from memory.",
            "why": "Hold them against the standard first; the last page lists them.",
        }
