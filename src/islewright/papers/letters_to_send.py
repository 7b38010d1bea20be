"""Letters ready to send: to each maker, to the network operator, to the customer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from islewright.papers import place
from islewright.papers.asking import MAKER, asked, models, rows_of
from islewright.papers.say import NOT_KNOWN, counted, listed, stated

if TYPE_CHECKING:
    from islewright.job.questions import RankedQuestion
    from islewright.rules.study import Study

#: asked of the operator, who is not to be asked whether he has been asked
_CONFIRMED = "Has the operator confirmed the system earthing?"
OPERATOR, CUSTOMER = "the operator", "the customer"


def letters(study: Study) -> list[dict[str, Any]]:
    """One letter for each whom something is asked; makers by the equipment they make."""
    by_whom: dict[str, list[RankedQuestion]] = {}
    for ranked in asked(study):
        by_whom.setdefault(ranked.question.whom, []).append(ranked)
    found = _to_makers(study, by_whom.get(MAKER, []))
    if OPERATOR in by_whom:
        found.append(_to_the_operator(study, by_whom[OPERATOR]))
    if CUSTOMER in by_whom:
        found.append(_to_the_customer(study, by_whom[CUSTOMER]))
    return found


def _to_makers(study: Study, questions: list[RankedQuestion]) -> list[dict[str, Any]]:
    placed = models(study.job)
    groups: dict[str, list[RankedQuestion]] = {}
    for ranked in questions:
        field = ranked.question.field
        own = (model for _what, model in placed if field.startswith(f"{model}."))
        groups.setdefault(next(own, ""), []).append(ranked)
    return [_to_a_maker(study, model, group) for model, group in groups.items()]


def _to_a_maker(study: Study, model: str, questions: list[RankedQuestion]) -> dict[str, Any]:
    about = [(what, name) for what, name in models(study.job) if model in ("", name)]
    rows = _rows(study, questions, model)
    one = len(rows) == 1
    return {
        "title": "Questions to the maker",
        "to": f"the maker of the {listed(what for what, _name in about)}",
        "about": [{"key": what, "text": name} for what, name in about],
        "opening": "We plan a house with backup power. Your equipment works there beside the "
        "public supply and, in an outage, in an island. "
        f"Your sheet leaves {counted(len(rows), 'question')} open. Please answer "
        f"{'it' if one else 'each'}, or say that it cannot be answered. Without the "
        f"{'answer' if one else 'answers'} the equipment cannot be used here.",
        "rows": rows,
        "answered": ["Stated by, for the maker", "Document and edition", "Date"],
    }


def _to_the_operator(study: Study, questions: list[RankedQuestion]) -> dict[str, Any]:
    job = study.job
    fuse = stated(lambda: job.supply.main_fuse.name)
    power = stated(lambda: job.inverter.rated_va, "VA")
    return {
        "title": "Questions to the network operator",
        "to": "the network operator",
        "about": [
            {"key": "supply", "text": f"{place.house(job).partition(';')[0]}; main fuse {fuse}"},
            {"key": "planned", "text": f"islanding switch, inverter {power}"},
        ],
        "opening": "We plan backup power in the house named above. In an outage it works as an "
        "island, parted from your network by the switch. Please answer in writing.",
        "rows": [_to_you(study, row) for row in _rows(study, questions)],
        "answered": ["Stated by, for the operator", "Reference", "Date"],
    }


#: what is said of the operator elsewhere, and how it is said to him
_YOU = (
    ("Does the operator", "Do you"),
    ("does the operator", "do you"),
    ("Has the operator", "Have you"),
    ("the operator's", "your"),
    ("the operator", "you"),
)


def _to_you(study: Study, row: dict[str, str]) -> dict[str, str]:
    """A question as one puts it to the operator himself; how to ask him is no word for him."""
    return {**row, "ask": in_the_second_person(study, row["ask"]), "how": ""}


def in_the_second_person(study: Study, ask: str) -> str:
    """The same question, said to the operator."""
    if ask == _CONFIRMED:
        system = stated(lambda: study.job.supply.system_earthing)
        taken = "" if system == NOT_KNOWN else f" We take it to be {system}."
        return f"Which system earthing has this supply?{taken} Please confirm."
    for said, to_him in _YOU:
        ask = ask.replace(said, to_him)
    return ask


def _to_the_customer(study: Study, questions: list[RankedQuestion]) -> dict[str, Any]:
    return {
        "title": "Questions to the customer",
        "to": "the customer",
        "about": [],
        "opening": "To go on planning the backup power of your house, we need to know:",
        "rows": _rows(study, questions),
        "answered": ["Name", "Signature", "Date"],
    }


def _rows(study: Study, questions: list[RankedQuestion], model: str = "") -> list[dict[str, str]]:
    """Questions with their place in words; who reads a letter knows no job file."""
    return [
        {
            "ask": row["ask"],
            "where": "" if model else row["where"],
            "how": "" if model else row["how"],
            "field": row["field"].removeprefix(f"{model}.") if model else "",
        }
        for row in rows_of(study, questions)
    ]
