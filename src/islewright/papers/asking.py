"""Open questions, ranked, by whom they go to; and the letter to the maker."""

from __future__ import annotations

from typing import Any

from islewright.papers.say import counted, sentence

MAKER = "the maker"
#: who is asked first: what the installer can find out himself
ORDER = ("the site", "the customer", "the operator", MAKER)
HEADS = {
    "the site": "To find out at the site",
    "the customer": "To ask the customer",
    "the operator": "To ask the network operator",
    MAKER: "To ask the makers",
}


def open_questions(study: Any) -> list[dict[str, Any]]:
    """Groups by whom to ask; within a group in the order of the study, heaviest first."""
    groups: dict[str, list[Any]] = {whom: [] for whom in ORDER}
    for ranked in study.questions:
        groups.setdefault(ranked.question.whom, []).append(ranked)
    return [
        {
            "head": HEADS.get(whom, f"To ask {whom}"),
            "rows": [_row(ranked) for ranked in asked],
        }
        for whom, asked in groups.items()
        if asked
    ]


def _row(ranked: Any) -> dict[str, str]:
    question = ranked.question
    return {
        "count": str(ranked.findings_count),
        "ask": question.ask or sentence(f"what is {question.field}"),
        "how": question.how,
        "field": question.field,
    }


def to_the_maker(study: Any) -> dict[str, Any]:
    """The page to send: numbered questions, and what equipment they are about."""
    asked = [ranked for ranked in study.questions if ranked.question.whom == MAKER]
    placed = study.job.placement
    models = [{"what": word, "model": part.model} for word, part in _placed(placed)]
    return {
        "models": models,
        "rows": [_row(ranked) for ranked in asked],
        "head": f"{counted(len(asked), 'figure')} that your sheet does not state".capitalize()
        if asked
        else "",
    }


def _placed(placed: Any) -> list[tuple[str, Any]]:
    parts = [("islanding switch", "islanding_switch"), ("inverter", "inverter")]
    parts += [("battery", "battery"), ("PV array", "pv")]
    return [(word, getattr(placed, name)) for word, name in parts if _there(placed, name)]


def _there(placed: Any, name: str) -> bool:
    has = getattr(placed, "has", None)
    return bool(has(name)) if has else getattr(placed, name, None) is not None
