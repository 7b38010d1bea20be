"""Findings, told one by one where they are not plainly met, and summed up where they are."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from islewright.findings import Finding, Status
from islewright.papers import place
from islewright.papers.asking import about, lead
from islewright.papers.say import listed, quoted, sentence
from islewright.papers.symbols import arithmetic, runs
from islewright.units import show_apart

if TYPE_CHECKING:
    from islewright.job.model import Job

CONFIRMED = {
    "two pages": "limit read on two pages",
    "page": "limit read on one page",
    "memory": "limit from memory: check it",
    "": "",
}

#: how far the bar of a scale runs at most, in lengths of the limit
SCALE_END = 1.35


@dataclass
class Report:
    """One finding as printed; undecided ones that ask the same share a report.

    They may be one demand at many places, or many demands at one place.
    """

    label: str
    findings: list[Finding]

    @property
    def finding(self) -> Finding:
        """The one that speaks for all."""
        return self.findings[0]

    @property
    def places(self) -> list[str]:
        """Where it holds."""
        return list(dict.fromkeys(finding.place for finding in self.findings))

    @property
    def titles(self) -> list[str]:
        """Demands that it is about."""
        return list(dict.fromkeys(finding.title for finding in self.findings))

    @property
    def modes(self) -> list[str]:
        """Modes in which it holds."""
        return list(dict.fromkeys(finding.mode for finding in self.findings))

    @property
    def rule(self) -> str:
        """Id of the rule."""
        return self.finding.rule

    @property
    def status(self) -> Status:
        """Status of all findings in it."""
        return self.finding.status

    @property
    def because(self) -> list[str]:
        """The arithmetic, where it holds for every place; gaps are left to the questions."""
        alike = all(finding.because == self.finding.because for finding in self.findings)
        lines = self.finding.because if alike else ()
        return [line for line in lines if not (self.finding.questions and _is_gap(line))]


def _is_gap(line: str) -> bool:
    return line.endswith(": not known")


def gather(findings: Iterable[Finding]) -> list[Report]:
    """Reports on all findings that are not met, undecided or near, heaviest first."""
    reports: dict[Any, list[Finding]] = {}
    for finding in findings:
        if finding.status is not Status.MET:
            key = _same_story(finding) if finding.status is Status.UNDECIDED else len(reports)
            reports.setdefault(key, []).append(finding)
    merged: dict[Any, list[Finding]] = {}
    for number, told in enumerate(reports.values()):
        key = _same_gap(told) or number
        merged.setdefault(key, []).extend(told)
    return [Report(f"finding-{n}", told) for n, told in enumerate(merged.values(), 1)]


def _same_gap(told: list[Finding]) -> tuple[Any, ...]:
    """What one answer settles at the same places, whatever the demands; empty without."""
    asked = tuple(question.field for question in told[0].questions)
    undecided = told[0].status is Status.UNDECIDED
    return (asked, tuple(f.place for f in told)) if asked and undecided else ()


def _same_story(finding: Finding) -> tuple[Any, ...]:
    verdict = finding.verdict
    asked = tuple(question.ask for question in finding.questions)
    return (finding.rule, finding.mode, asked, verdict.means, finding.remedies)


def told(job: Job, report: Report) -> dict[str, Any]:
    """One report as the page prints it."""
    finding, findings = report.finding, report.findings
    states = dict.fromkeys(f.state for f in findings if f.state != f.mode)
    confirmed = dict.fromkeys(f.verdict.confirmed for f in findings)
    means = dict.fromkeys(sentence(f.verdict.means) for f in findings)
    remedies = dict.fromkeys(sentence(text) for f in findings for text in f.remedies)
    return {
        "label": report.label,
        "status": finding.status.value,
        "titles": [sentence(title).rstrip(".") for title in report.titles],
        "places": _places(job, report.places),
        "mode": listed(report.modes),
        "state": "; ".join(states),
        "clauses": list(dict.fromkeys(clause for f in findings for clause in f.clauses)),
        "confirmed": "; ".join(filter(None, (CONFIRMED.get(word, word) for word in confirmed))),
        "because": [arithmetic(line) for line in report.because],
        "scale": scale(finding),
        "means": [runs(text) for text in means if text],
        "questions": _asked(job, finding, report.places),
        "remedies": [runs(text) for text in remedies],
    }


def _places(job: Job, places: list[str]) -> list[str]:
    if len(places) == 1:
        return [place.place_name(job, places[0])]
    return [place.short_place(job, name) for name in places]


def _asked(job: Job, finding: Finding, places: list[str]) -> list[dict[str, str]]:
    """What is asked and whom; of the house as a whole each question says which place it means."""
    return [
        {
            "whom": lead(job, question),
            "ask": about(job, question, told=places),
            "how": quoted(question.how),
        }
        for question in finding.questions
    ]


def scale(finding: Finding) -> dict[str, Any] | None:
    """The value against its limit as lengths, the limit being 1; None without numbers.

    A demand of the kind "at least" is turned over, so that beyond is always right.
    """
    value, limit, spread = finding.value, finding.limit, finding.verdict.spread
    numbers = math.isfinite(value) and math.isfinite(limit) and math.isfinite(spread)
    if finding.status is Status.UNDECIDED or not finding.unit or not numbers:
        return None
    if value < 0 or limit <= 0:
        return None
    shown, shown_limit = show_apart(value, limit, finding.unit)
    low, high = value - spread, value + spread
    if finding.verdict.at_least:
        value, low, high = (_over(limit, v) for v in (value, high, low))
    else:
        value, low, high = value / limit, low / limit, high / limit
    return {
        "value": min(value, SCALE_END),
        "cut": value > SCALE_END,
        "low": max(0.0, min(low, SCALE_END)),
        "high": min(high, SCALE_END),
        "spread": spread > 0,
        "value_text": with_spread(shown, finding.value, spread),
        "limit_text": f"{'at least' if finding.verdict.at_least else 'limit'} {shown_limit}",
    }


def with_spread(shown: str, value: float, spread: float) -> str:
    """Print a value with its spread in the same unit and with the same decimals.

    >>> with_spread("1.33 Ω", 1.33, 0.08)
    '1.33 ± 0.08 Ω'

    A spread wider than the value sets the decimals of both:

    >>> with_spread("0.000574 %", 0.000574, 9.999949)
    '0.0 ± 10.0 %'
    """
    digits, _, unit = shown.partition(" ")
    try:
        step = value / float(digits)
    except (ValueError, ZeroDivisionError):
        return shown
    if not spread > 0:
        return shown
    decimals = len(digits.partition(".")[2])
    if spread > abs(value):
        decimals = min(decimals, max(0, 1 - math.floor(math.log10(spread / step) - 1e-9)))
        digits = f"{value / step:.{decimals}f}"
    while decimals < 6 and float(f"{spread / step:.{decimals}f}") == 0:
        decimals += 1
    return f"{digits} ± {spread / step:.{decimals}f} {unit}"


def _over(limit: float, value: float) -> float:
    return limit / value if value > 0 else math.inf


def value_against_limit(finding: Finding) -> str:
    """The value and its limit in words; empty where there are no numbers."""
    if not (math.isfinite(finding.value) and math.isfinite(finding.limit) and finding.unit):
        return ""
    value, limit = show_apart(finding.value, finding.limit, finding.unit)
    return f"{value}, must be {'≥' if finding.verdict.at_least else '≤'} {limit}"


def summed_up(job: Job, findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Met findings by rule and mode: how many, the tightest margin and where it lies."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        if finding.status is Status.MET:
            groups.setdefault((finding.rule, finding.mode), []).append(finding)
    return [_sum(job, group) for group in groups.values()]


def _sum(job: Job, group: list[Finding]) -> dict[str, Any]:
    numbered = [f for f in group if math.isfinite(f.margin) and f.limit and f.unit]
    row = {
        "title": group[0].title,
        "mode": group[0].mode,
        "count": str(len(group)),
        "figure": bool(numbered),
        "value": "–",
        "limit": "–",
        "where": "no figure to compare",
    }
    if numbered:
        tightest = min(numbered, key=_share_left)
        value, limit = show_apart(tightest.value, tightest.limit, tightest.unit)
        sign = "≥" if tightest.verdict.at_least else "≤"
        row |= {
            "value": value,
            "limit": f"{sign} {limit}",
            "where": place.short_place(job, tightest.place),
        }
    return row


def without_figure(rows: Iterable[dict[str, Any]]) -> list[dict[str, str]]:
    """Met demands that no figure measures, both modes of one in one row."""
    alike: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        if not row["figure"]:
            alike.setdefault(row["title"], []).append(row)
    return [
        {
            "title": title,
            "mode": ", ".join(row["mode"].removesuffix(" mode") for row in same),
            "count": ", ".join(row["count"] for row in same),
        }
        for title, same in alike.items()
    ]


def _share_left(finding: Finding) -> float:
    if finding.verdict.at_least:
        return -_over(finding.limit, finding.value)
    return finding.margin / finding.limit


def met_but(job: Job, findings: Iterable[Finding]) -> list[dict[str, str]]:
    """Met findings that still leave something to know, such as a fault that stays on."""
    places: dict[tuple[str, str], list[str]] = {}
    for finding in findings:
        if finding.status is Status.MET and finding.verdict.means:
            key = (finding.mode, sentence(finding.verdict.means))
            places.setdefault(key, []).append(place.short_place(job, finding.place))
    return [
        {"mode": mode, "text": text, "places": listed(where)}
        for (mode, text), where in places.items()
    ]
