"""Letters ready to send: to each maker, to the network operator, to the customer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from islewright.papers import place
from islewright.papers.asking import MAKER, rows_of
from islewright.papers.say import counted, sentence, stated

if TYPE_CHECKING:
    from islewright.job.questions import RankedQuestion
    from islewright.rules.study import Study

OPERATOR, CUSTOMER = "the operator", "the customer"


def letters(study: Study) -> list[dict[str, Any]]:
    """One letter for each whom something is asked; makers by the equipment they make."""
    asked: dict[str, list[RankedQuestion]] = {}
    for ranked in study.questions:
        asked.setdefault(ranked.question.whom, []).append(ranked)
    found = _to_makers(study, asked.get(MAKER, []))
    if OPERATOR in asked:
        found.append(_to_the_operator(study, asked[OPERATOR]))
    if CUSTOMER in asked:
        found.append(_to_the_customer(study, asked[CUSTOMER]))
    return found


def _to_makers(study: Study, asked: list[RankedQuestion]) -> list[dict[str, Any]]:
    models = _models(study)
    groups: dict[str, list[RankedQuestion]] = {}
    for ranked in asked:
        field = ranked.question.field
        own = (model for _what, model in models if field.startswith(f"{model}."))
        groups.setdefault(next(own, ""), []).append(ranked)
    return [_to_a_maker(study, models, model, group) for model, group in groups.items()]


def _to_a_maker(
    study: Study, models: list[tuple[str, str]], model: str, asked: list[RankedQuestion]
) -> dict[str, Any]:
    about = [(what, name) for what, name in models if model in ("", name)]
    rows = _rows(study, asked, model)
    return {
        "title": "Questions to the maker",
        "to": f"the maker of: {', '.join(name for _what, name in about)}",
        "about": [{"key": what, "text": name} for what, name in about],
        "opening": "We plan a house with backup power. Your equipment works there beside the "
        "public supply and, in an outage, in an island. "
        + sentence(f"your sheet does not state {counted(len(rows), 'figure')} that we need")
        + " Please state each, or say that it cannot be stated. Without it the equipment cannot "
        "be used here.",
        "rows": rows,
        "answered": ["Stated by, for the maker", "Document and edition", "Date"],
    }


def _to_the_operator(study: Study, asked: list[RankedQuestion]) -> dict[str, Any]:
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
        "rows": _rows(study, asked),
        "answered": ["Stated by, for the operator", "Reference", "Date"],
    }


def _to_the_customer(study: Study, asked: list[RankedQuestion]) -> dict[str, Any]:
    return {
        "title": "Questions to the customer",
        "to": "the customer",
        "about": [],
        "opening": "To go on planning the backup power of your house, we need to know:",
        "rows": _rows(study, asked),
        "answered": ["Name", "Signature", "Date"],
    }


def _rows(study: Study, asked: list[RankedQuestion], model: str = "") -> list[dict[str, str]]:
    """Questions with their place in words; who reads a letter knows no job file."""
    return [
        {
            "ask": row["ask"],
            "where": row["where"],
            "how": "" if model else row["how"],
            "field": row["field"].removeprefix(f"{model}.") if model else "",
        }
        for row in rows_of(study, asked)
    ]


def _models(study: Study) -> list[tuple[str, str]]:
    """What is placed in the house, by name; a gap is left out."""
    placed = study.job.placement
    models = [
        ("islanding switch", placed.islanding_switch.model),
        ("inverter", placed.inverter.model),
    ]
    if placed.has("battery") and placed.battery is not None:
        models.append(("battery", placed.battery.model))
    if placed.has("pv") and placed.pv is not None:
        models.append(("PV array", placed.pv.model))
    return models
