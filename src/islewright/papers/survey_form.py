"""The survey sheet: blank to walk a house with, or filled with what is known and still asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from islewright.job.equipment import KINDS
from islewright.job.model import Board, Cable, Circuit, Earthing, Job, Placed, Placement, Supply
from islewright.job.model import Head as JobHead
from islewright.job.part import Part
from islewright.papers.form_filled import Form, inside, known
from islewright.papers.form_shape import Field, fields_of_form, parts_of_form
from islewright.papers.form_tables import Entry, entries, numbers_of, table, tables_below
from islewright.papers.say import capital

if TYPE_CHECKING:
    from islewright.rules.study import Study

#: parts of the equipment's entry that the inverter alone has
_INVERTER_ONLY = ("settings", "current_sensors")


def blank() -> dict[str, Any]:
    """The form without a job: nothing is filled in, every table has empty rows."""
    return {"filled": False, "sections": list(_sections(Form(None, {})))}


def filled(study: Study) -> dict[str, Any]:
    """The form for the second visit: what is known, and what findings still hang on."""
    asked = {r.question.field: r.findings_count for r in study.questions}
    return {"filled": True, "sections": list(_sections(Form(study.job, asked)))}


# ------------------------------------------------------------------------- the walk
def _sections(form: Form) -> Iterator[dict[str, Any]]:
    """Sections in the order of the walk."""
    job = form.job
    yield _section("Job", "at the door", _blocks(form, JobHead, inside(job, "head"), ""))
    yield _section(
        "Public supply", "at the meter", _blocks(form, Supply, inside(job, "supply"), "")
    )
    earth = _blocks(form, Earthing, inside(job, "earthing"), "")
    yield _section("Earth", "at the main earthing terminal", earth)
    boards = _named(job, "boards")
    yield _section("Boards", "at each board", [
        table(form, "boards", "Board", Board, boards),
        *tables_below(form, Board, boards, "Board", numbers_of(boards)),
    ])  # fmt: skip
    circuits = _named(job, "circuits")
    yield _section("Circuits", "from the boards to the last point", [
        table(form, "circuits", "Circuit", Circuit, circuits),
        *tables_below(form, Circuit, circuits, "Circuit", numbers_of(circuits)),
    ])  # fmt: skip
    yield from _later(form)
    placement = inside(job, "placement")
    yield _section("Equipment", "where it is to hang, and with the customer", [
        *_equipment(form, placement)
    ])  # fmt: skip
    cables = _named(job, "cables")
    yield _section("Cables between boards and equipment", "along their routes", [
        table(form, "cables", "Cable", Cable, cables),
        *tables_below(form, Cable, cables, "Cable", numbers_of(cables)),
    ])  # fmt: skip
    for kind, sheet, part in _sheets(form):
        yield _section(f"Sheet: {kind}", "from the maker", _blocks(form, sheet, part, ""))


#: parts of a job that have their place in the walk
_PLACED = {"head", "supply", "earthing", "placement", "boards", "cables", "circuits"}


def _later(form: Form) -> Iterator[dict[str, Any]]:
    """Parts of a job that have no place of their own in the walk, the site among them."""
    for held in parts_of_form(Job):
        if held.name in _PLACED:
            continue
        if _stated_none(form.job, held.name):
            continue
        if held.named:
            rows = _named(form.job, held.name)
            tables = [table(form, held.key, capital(held.key), held.part, rows)]
            yield _section(capital(held.key), "", tables)
        else:
            blocks = _blocks(form, held.part, inside(form.job, held.name), "")
            yield _section(capital(held.key), "", blocks)


def _equipment(form: Form, placement: Part | None) -> Iterator[dict[str, Any]]:
    """One row a piece; what only the inverter is asked for stands below."""
    pieces: list[Entry] = [
        ((held.key,), inside(placement, held.name)) for held in parts_of_form(Placement)
    ]
    yield table(form, "equipment", "What", Placed, pieces, without=_INVERTER_ONLY)
    inverter = inside(placement, "inverter")
    for held in parts_of_form(Placed):
        yield from _blocks(form, held.part, inside(inverter, held.name), held.key)


def _sheets(form: Form) -> Iterator[tuple[str, type[Part], Part | None]]:
    job = form.job
    for kind, sheet in KINDS.items():
        known = None
        if job is not None:
            known = next((e for e in job._equipment.values() if isinstance(e, sheet)), None)  # noqa: SLF001 - the sheets of a job have no other list
        yield kind, sheet, known


def _section(head: str, where: str, blocks: Iterable[dict[str, Any]]) -> dict[str, Any]:
    return {"head": head, "where": where, "blocks": list(blocks)}


# ------------------------------------------------------------------------- boxes
def _blocks(form: Form, kind: type[Part], part: Part | None, head: str) -> Iterator[dict[str, Any]]:
    """A part as boxes, then the parts in it, each under its own head."""
    boxes = [_box(form, field, part) for field in fields_of_form(kind)]
    if boxes:
        yield {"kind": "boxes", "head": capital(head), "boxes": boxes}
    for held in parts_of_form(kind):
        name = f"{head}, {held.key}" if head else held.key
        if held.named:
            rows = entries((), part, held)
            yield table(form, held.key, capital(name), held.part, rows)
        elif _stated_none(part, held.name):
            yield {"kind": "none", "head": capital(name)}
        else:
            yield from _blocks(form, held.part, inside(part, held.name), name)


def _stated_none(part: Part | None, name: str) -> bool:
    """Whether it is told that there is nothing there; then nothing is left to ask about it."""
    return part is not None and part.gap(name) is None and not getattr(part, name)


def _box(form: Form, field: Field, part: Part | None) -> dict[str, Any]:
    value, count = known(form, field.path, part)
    return {
        "key": capital(field.key),
        "ask": field.ask,
        "how": field.how,
        "unit": field.unit,
        "options": list(field.options),
        "value": value,
        "count": count,
    }


# ------------------------------------------------------------------------- the job
def _named(job: Job | None, name: str) -> list[Entry]:
    if job is None or job.gap(name) is not None:
        return []
    return [((key,), part) for key, part in getattr(job, name).items() if isinstance(part, Part)]
