"""Open questions, ranked, by whom they go to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from islewright.papers import place
from islewright.papers.say import capital, sentence

if TYPE_CHECKING:
    from islewright.findings import Question
    from islewright.job.questions import RankedQuestion
    from islewright.rules.study import Study

SITE, MAKER, RULES = "the site", "the maker", "the local rules"
#: who is asked first: what the installer can find out himself
ORDER = (SITE, "the customer", "the operator", RULES, MAKER)
HEADS = {
    SITE: "To find out at the site",
    "the customer": "To ask the customer",
    "the operator": "To ask the network operator",
    RULES: "To look up in the local rules",
    MAKER: "To ask the makers",
}


def lead(question: Question) -> str:
    """How a question begins, as an order: whom to ask, or where to look."""
    fixed = {SITE: "Find out at the site", RULES: "Look up in the local rules"}
    return fixed.get(question.whom, f"Ask {question.whom}")


def open_questions(study: Study) -> list[dict[str, Any]]:
    """Groups by whom to ask; within a group in the order of the study, heaviest first."""
    groups: dict[str, list[RankedQuestion]] = {whom: [] for whom in ORDER}
    for ranked in study.questions:
        groups.setdefault(ranked.question.whom, []).append(ranked)
    return [
        {"head": HEADS.get(whom, f"To ask {whom}"), "rows": rows_of(study, asked)}
        for whom, asked in groups.items()
        if asked
    ]


def rows_of(study: Study, asked: list[RankedQuestion]) -> list[dict[str, str]]:
    """One row for each answer; what a local rule says is the same for every place."""
    alike: dict[tuple[str, str], list[Question]] = {}
    for ranked in asked:
        question = ranked.question
        key = (question.ask, question.how) if question.whom == RULES else (question.field, "")
        alike.setdefault(key, []).append(question)
    counts = {ranked.question.field: ranked.findings_count for ranked in asked}
    return [_row(study, questions, counts) for questions in alike.values()]


def _row(study: Study, questions: list[Question], counts: dict[str, int]) -> dict[str, str]:
    question, fields = questions[0], [q.field for q in questions]
    count = counts[fields[0]]
    if len(fields) > 1:  # a finding that hangs on two of them counts once
        asking = (any(q.field in fields for q in f.questions) for f in study.findings)
        count = sum(asking)
    where = [place.place_of_field(study.job, field) for field in fields]
    return {
        "count": str(count),
        "where": capital(", ".join(dict.fromkeys(filter(None, where)))),
        "ask": capital(question.ask) or sentence(f"what is {question.field}"),
        "how": question.how,
        "field": "; ".join(fields),
    }
