"""The cover: the job, the verdict, what must be done first, cautions, what is left out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from islewright import drawing
from islewright.findings import Finding, Status
from islewright.papers import isolating, place
from islewright.papers.asking import SITE, about, lead
from islewright.papers.reports import Report, value_against_limit
from islewright.papers.say import capital, counted, listed, number, quoted, sentence
from islewright.papers.states import governing, told_states
from islewright.papers.symbols import runs
from islewright.papers.verdict import ORDER, verdict

if TYPE_CHECKING:
    from islewright.job.model import Job
    from islewright.rules.study import Study

#: more than these would be a second list of findings
MOST_ORDERS = 4


def cover(study: Study, reports: list[Report]) -> dict[str, Any]:
    """Everything on the first page."""
    headline, paragraphs = verdict(study.counts)
    total = sum(study.counts.values())
    found = orders(study, reports)
    return {
        "name": study.job.head.name,
        "house": [place.house(study.job), place.equipment(study.job)],
        "note": sentence(study.job.head.note if study.job.head.has("note") else ""),
        "headline": headline,
        "verdict": paragraphs,
        "counts": [
            {"status": status.value, "count": study.counts.get(status, 0)} for status in ORDER
        ],
        "total": f"{counted(total, 'finding')} in {counted(len(told_states(study)), 'state')}.",
        "orders": found[:MOST_ORDERS],
        "more": _more(len(found) - MOST_ORDERS),
        "modes": drawing.two_modes(study.job, governing(study)),
        "cautions": list(cautions(study)),
        "not_covered": [sentence(text) for text in study.not_covered],
    }


def orders(study: Study, reports: list[Report]) -> list[dict[str, Any]]:
    """What must be done first: the heaviest findings, one order for each demand.

    A further demand that fails at the very same places joins the order above it.
    """
    made: dict[tuple[Status, tuple[str, ...]], dict[str, Any]] = {}
    for group in by_demand(reports):
        status, places = group[0].status, _places(group)
        order = made.get((status, places))
        if order is None:
            made[status, places] = _order(study, group, places)
        else:
            order["why"] += f" {_demands(group[0])}"
    return list(made.values())


def _more(count: int) -> str:
    return f"then {number(count)} more" if count > 0 else ""


def by_demand(reports: list[Report]) -> list[list[Report]]:
    """Reports of one rule and status together; near ones only where nothing is heavier."""
    heavy = [r for r in reports if r.status is not Status.NEAR] or reports
    groups: dict[tuple[str, Status], list[Report]] = {}
    for report in heavy:
        groups.setdefault((report.rule, report.status), []).append(report)
    return list(groups.values())


def _places(group: list[Report]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(place for report in group for place in report.places))


def _demands(report: Report) -> str:
    return " ".join(sentence(title) for title in report.titles)


def _order(study: Study, group: list[Report], places: tuple[str, ...]) -> dict[str, Any]:
    finding = group[0].finding
    where = capital(place.place_name(study.job, places[0]))
    if len(places) > 1:
        where += f" and {counted(len(places) - 1, 'other place')}"
    modes = listed(dict.fromkeys(mode for report in group for mode in report.modes))
    figures = value_against_limit(finding)
    why = f"{capital(modes)}, {finding.status.value}{': ' + figures if figures else ''}."
    return {
        "where": where,
        "do": runs(_what_to_do(study.job, finding)),
        "why": f"{why} {_demands(group[0])}",
        "label": group[0].label,
    }


def _what_to_do(job: Job, finding: Finding) -> str:
    """An order: the first remedy, whom to ask, or that no remedy is known."""
    if finding.remedies:
        return sentence(finding.remedies[0])
    if finding.questions:
        question = finding.questions[0]
        asked = sentence(about(job, question, told=[finding.place]))
        begin = question.how if question.whom == SITE and question.how else lead(job, question)
        return f"{sentence(quoted(begin))} {asked}"
    if finding.status is Status.NEAR:
        return "Measure, or leave more room."
    return "Change the design: this program knows no remedy."


def cautions(study: Study) -> Iterator[dict[str, str]]:
    """Danger first, then why. Only what the sheets and findings say."""
    for sheet in () if isolating.starts_the_island(study) else study.states:
        boards = [b for b in study.job.boards if sheet.alive.get(b) is True]
        if sheet.mode == "island mode" and boards:
            yield {
                "danger": f"Alive without the public supply: {listed(boards)}.",
                "why": f"Fed by {sheet.fed_by}.",
            }
            break
    yield from isolating.cautions(study)
    memory = sum(finding.verdict.confirmed == "memory" for finding in study.findings)
    if memory:
        yield {
            "danger": f"{capital(counted(memory, 'finding'))} "
            f"{'rests' if memory == 1 else 'rest'} on figures quoted from memory.",
            "why": "Hold them against the standard first; the page of sources lists them.",
        }
