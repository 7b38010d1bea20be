"""Appendix: the arithmetic of every finding, demand by demand, to be redone by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from islewright.findings import Finding
from islewright.papers import place
from islewright.papers.reports import value_against_limit
from islewright.papers.say import sentence
from islewright.papers.symbols import Run, arithmetic, runs
from islewright.rules.registry import all_rules

if TYPE_CHECKING:
    from islewright.rules.study import Study


def by_hand(study: Study) -> list[dict[str, Any]]:
    """One group a demand, in the order of the rules; alike sums are printed once."""
    formulas = {rule.id: rule.formula for rule in all_rules()}
    groups: dict[str, list[Finding]] = {}
    for finding in study.findings:
        groups.setdefault(finding.rule, []).append(finding)
    known = [rule for rule in formulas if rule in groups]
    order = known + [rule for rule in groups if rule not in formulas]
    return [_group(study, groups[rule], formulas.get(rule, "")) for rule in order]


def _group(study: Study, found: list[Finding], formula: str) -> dict[str, Any]:
    first = found[0]
    alike: dict[tuple[Any, ...], list[Finding]] = {}
    for finding in found:
        alike.setdefault((finding.mode, finding.status, *finding.because), []).append(finding)
    modes = dict.fromkeys(finding.mode for finding in found)
    return {
        "title": sentence(first.title).rstrip("."),
        "mode": first.mode if len(modes) == 1 else "",
        "formula": _sum(formula) if formula else [],
        "clauses": "; ".join(dict.fromkeys(clause for f in found for clause in f.clauses)),
        "rows": [_row(study, findings) for findings in alike.values()],
    }


def _row(study: Study, findings: list[Finding]) -> dict[str, Any]:
    first = findings[0]
    return {
        "places": ", ".join(place.short_place(study.job, f.place) for f in findings),
        "mode": first.mode,
        "status": first.status.value,
        "sums": [_sum(line) for line in first.because],
        "result": value_against_limit(first),
    }


def _sum(line: str) -> list[Run]:
    """A line of arithmetic as runs of letters, quantities on its left side italic."""
    cut = arithmetic(line)
    return [*cut["left"], *([("text", " = ")] if cut["left"] else []), *cut["right"]] or runs(line)
