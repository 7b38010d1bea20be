"""Open questions, ranked, by whom they go to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from islewright.job.part import Part
from islewright.job.questions import RankedQuestion
from islewright.papers import place
from islewright.papers.say import DOES_NOT_APPLY, capital, quoted, sentence

if TYPE_CHECKING:
    from islewright.findings import Question
    from islewright.job.model import Job
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


def lead(job: Job, question: Question) -> str:
    """How a question begins, as an order: whom to ask, or where to look."""
    fixed = {SITE: "Find out at the site", RULES: "Look up in the local rules"}
    piece = piece_of(job, question)
    whom = f"{MAKER} of the {piece}" if piece and question.whom == MAKER else question.whom
    return fixed.get(question.whom, f"Ask {whom}")


def piece_of(job: Job, question: Question) -> str:
    """Which piece of equipment a question is about; empty where it is about none."""
    found = (what for what, model in models(job) if question.field.startswith(f"{model}."))
    return next(found, "")


def about(job: Job, question: Question, *, told: Sequence[str] = ()) -> str:
    """What the question asks, with its place where that is not among those told already."""
    asked = capital(question.ask) or sentence(f"what is {question.field}")
    where = place.place_of_field(job, question.field)
    names = {place.short_place(job, name) for name in told}
    return f"{capital(where)}: {asked}" if where and where not in names else asked


def asked(study: Study) -> list[RankedQuestion]:
    """What findings wait for, then what only a sheet of the pack prints as not known."""
    known = {ranked.question.field for ranked in study.questions}
    more = (q for q in of_sheets(study.job) if q.field not in known)
    return [*study.questions, *(RankedQuestion(question=q, findings_count=0) for q in more)]


def of_sheets(job: Job) -> Iterator[Question]:
    """Gaps that no rule asks about, though the work needs them: charge, voltages, settings."""
    yield from _gaps(job.inverter, "discharge_s")
    placed = job.placement
    if placed.has("battery") and job.battery is not None:
        yield from _gaps(job.battery, "nominal_v")
    if placed.has("pv") and job.pv is not None:
        yield from _gaps(job.pv, "open_circuit_v")
    inverter = placed.inverter
    for name in ("settings", "current_sensors"):
        if inverter.has(name) and isinstance(part := getattr(inverter, name), Part):
            yield from _gaps(part, *type(part).model_fields)
        else:
            yield from _gaps(inverter, name)


def _gaps(part: Part, *names: str) -> Iterator[Question]:
    return (part.question(name) for name in names if part.gap(name) is not None)


def models(job: Job) -> list[tuple[str, str]]:
    """What is placed in the house, by name, each with its model; a gap is left out."""
    placed = job.placement
    found = [
        ("islanding switch", placed.islanding_switch.model),
        ("inverter", placed.inverter.model),
    ]
    if placed.has("battery") and placed.battery is not None:
        found.append(("battery", placed.battery.model))
    if placed.has("pv") and placed.pv is not None:
        found.append(("PV array", placed.pv.model))
    return found


def open_questions(study: Study) -> list[dict[str, Any]]:
    """Groups by whom to ask; within a group in the order of the study, heaviest first."""
    groups: dict[str, list[RankedQuestion]] = {whom: [] for whom in ORDER}
    for ranked in asked(study):
        groups.setdefault(ranked.question.whom, []).append(ranked)
    return [
        {"head": HEADS.get(whom, f"To ask {whom}"), "rows": rows_of(study, ranked)}
        for whom, ranked in groups.items()
        if ranked
    ]


def rows_of(study: Study, questions: list[RankedQuestion]) -> list[dict[str, str]]:
    """One row for each answer; what a local rule says is the same for every place."""
    alike: dict[tuple[str, str], list[Question]] = {}
    for ranked in questions:
        question = ranked.question
        key = (question.ask, question.how) if question.whom == RULES else (question.field, "")
        alike.setdefault(key, []).append(question)
    counts = {ranked.question.field: ranked.findings_count for ranked in questions}
    return [_row(study, same, counts) for same in alike.values()]


def _row(study: Study, questions: list[Question], counts: dict[str, int]) -> dict[str, str]:
    question, fields = questions[0], [q.field for q in questions]
    count = counts[fields[0]]
    if len(fields) > 1:  # a finding that hangs on two of them counts once
        asking = (any(q.field in fields for q in f.questions) for f in study.findings)
        count = sum(asking)
    where = [_where(study.job, question) for question in questions]
    return {
        "count": str(count) if count else DOES_NOT_APPLY,
        "where": capital(", ".join(dict.fromkeys(filter(None, where)))),
        "ask": capital(question.ask) or sentence(f"what is {question.field}"),
        "how": quoted(question.how),
        "field": "; ".join(fields),
    }


def _where(job: Job, question: Question) -> str:
    """The circuit, cable or board that a question is about, else the piece of equipment."""
    return place.place_of_field(job, question.field) or piece_of(job, question)
