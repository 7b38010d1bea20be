"""What the pack rests on: assumptions, and how far each limit is confirmed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from islewright.findings import Finding
from islewright.papers.say import sentence

if TYPE_CHECKING:
    from islewright.rules.study import Study

#: how far a limit is confirmed, in the fewest words
CONFIRMED = {
    "two pages": "read on two pages",
    "page": "read on one page",
    "memory": "from memory: check",
    "": "none from a table",
}
WEAKEST = ("memory", "", "page", "two pages")


def assumptions(study: Study) -> list[dict[str, str]]:
    """Figures that the model needs and the job does not state."""
    return [{"what": a.what, "value": a.value, "why": sentence(a.why)} for a in study.assumptions]


def sources(study: Study) -> list[dict[str, Any]]:
    """One row for each rule: its clauses, and how far its limits are confirmed at worst."""
    groups: dict[str, list[Finding]] = {}
    for finding in study.findings:
        groups.setdefault(finding.rule, []).append(finding)
    return [_source(group) for group in groups.values()]


def _source(group: list[Finding]) -> dict[str, Any]:
    said = {f.verdict.confirmed for f in group if f.verdict.confirmed} or {""}
    known = [word for word in WEAKEST if word in said]
    other = sorted(said - set(WEAKEST))
    word = known[0] if known else other[0]
    return {
        "title": group[0].title,
        "clauses": "; ".join(dict.fromkeys(c for f in group for c in f.clauses)) or "no clause",
        "confirmed": CONFIRMED.get(word, word),
        "count": str(len(group)),
    }
