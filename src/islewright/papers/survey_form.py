"""The survey sheet: blank to walk a house with, or filled with what is known and still asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from islewright.job.equipment import KINDS
from islewright.job.model import Board, Cable, Circuit, Earthing, Job, Placed, Placement, Supply
from islewright.job.model import Head as JobHead
from islewright.job.part import Part
from islewright.papers.facts import worded
from islewright.papers.form_shape import Field, Held, columns_of, fields_of_form, parts_of_form
from islewright.papers.say import DOES_NOT_APPLY, capital

if TYPE_CHECKING:
    from islewright.rules.study import Study

#: room for the columns beside number and name [mm]; of a figure, a choice, a text
ROOM, FIGURE, CHOICE, TEXT = 136.0, 12.5, 17.0, 22.0
#: empty rows on a blank form, by what a row is about
EMPTY = {"boards": 3, "RCDs": 8, "circuits": 28, "loads": 28, "cables": 7, "main bonding": 4}
FEW = 4
#: parts of the equipment's entry that the inverter alone has
_INVERTER_ONLY = ("settings", "current_sensors")

Entry = tuple[tuple[str, ...], Part]


class _Form(NamedTuple):
    """What the form is filled from: nothing, or a job and what findings ask."""

    job: Job | None
    asked: dict[str, int]


def blank() -> dict[str, Any]:
    """The form without a job: nothing is filled in, every table has empty rows."""
    return {"filled": False, "sections": list(_sections(_Form(None, {})))}


def filled(study: Study) -> dict[str, Any]:
    """The form for the second visit: what is known, and what findings still hang on."""
    asked = {r.question.field: r.findings_count for r in study.questions}
    return {"filled": True, "sections": list(_sections(_Form(study.job, asked)))}


# ------------------------------------------------------------------------- the walk
def _sections(form: _Form) -> Iterator[dict[str, Any]]:
    """Sections in the order of the walk."""
    job = form.job
    yield _section("Job", "at the door", _blocks(form, JobHead, _of(job, "head"), ""))
    yield _section("Public supply", "at the meter", _blocks(form, Supply, _of(job, "supply"), ""))
    earth = _blocks(form, Earthing, _of(job, "earthing"), "")
    yield _section("Earth", "at the main earthing terminal", earth)
    boards = _named(job, "boards")
    yield _section("Boards", "at each board", [
        _table(form, "boards", "Board", Board, boards),
        *_tables_below(form, Board, boards, "Board"),
    ])  # fmt: skip
    circuits = _named(job, "circuits")
    yield _section("Circuits", "from the boards to the last point", [
        _table(form, "circuits", "Circuit", Circuit, circuits),
        *_tables_below(form, Circuit, circuits, "Circuit"),
    ])  # fmt: skip
    yield from _later(form)
    placement = _of(job, "placement")
    yield _section("Equipment", "where it is to hang, and with the customer", [
        *_equipment(form, placement)
    ])  # fmt: skip
    cables = _table(form, "cables", "Cable", Cable, _named(job, "cables"))
    yield _section("Cables between boards and equipment", "along their routes", [cables])
    for kind, sheet, part in _sheets(form):
        yield _section(f"Sheet: {kind}", "from the maker", _blocks(form, sheet, part, ""))


#: parts of a job that have their place in the walk
_PLACED = {"head", "supply", "earthing", "placement", "boards", "cables", "circuits"}


def _later(form: _Form) -> Iterator[dict[str, Any]]:
    """Parts of a job that have no place of their own in the walk, the site among them."""
    for held in parts_of_form(Job):
        if held.name in _PLACED:
            continue
        if held.named:
            rows = _named(form.job, held.name)
            if form.job is not None and form.job.gap(held.name) is None and not rows:
                continue  # stated that there are none
            tables = [_table(form, held.key, capital(held.key), held.part, rows)]
            yield _section(capital(held.key), "", tables)
        else:
            blocks = _blocks(form, held.part, _of(form.job, held.name), "")
            yield _section(capital(held.key), "", blocks)


def _equipment(form: _Form, placement: Part | None) -> Iterator[dict[str, Any]]:
    """One row a piece; what only the inverter is asked for stands below."""
    pieces: list[tuple[tuple[str, ...], Part | None]] = [
        ((held.key,), _inside(placement, held.name)) for held in parts_of_form(Placement)
    ]
    yield _table(form, "equipment", "What", Placed, pieces, without=_INVERTER_ONLY)
    inverter = _inside(placement, "inverter")
    for held in parts_of_form(Placed):
        yield from _blocks(form, held.part, _inside(inverter, held.name), held.key)


def _sheets(form: _Form) -> Iterator[tuple[str, type[Part], Part | None]]:
    job = form.job
    for kind, sheet in KINDS.items():
        known = None
        if job is not None:
            known = next((e for e in job._equipment.values() if isinstance(e, sheet)), None)  # noqa: SLF001 - the sheets of a job have no other list
        yield kind, sheet, known


def _section(head: str, where: str, blocks: Iterable[dict[str, Any]]) -> dict[str, Any]:
    return {"head": head, "where": where, "blocks": list(blocks)}


# ------------------------------------------------------------------------- boxes
def _blocks(
    form: _Form, kind: type[Part], part: Part | None, head: str
) -> Iterator[dict[str, Any]]:
    """A part as boxes, then the parts in it, each under its own head."""
    boxes = [_box(form, field, part) for field in fields_of_form(kind)]
    if boxes:
        yield {"kind": "boxes", "head": capital(head), "boxes": boxes}
    for held in parts_of_form(kind):
        name = f"{head}, {held.key}" if head else held.key
        if held.named:
            rows = _entries((), part, held)
            yield _table(form, held.key, capital(name), held.part, rows)
        else:
            yield from _blocks(form, held.part, _inside(part, held.name), name)


def _box(form: _Form, field: Field, part: Part | None) -> dict[str, Any]:
    value, count = _known(form, field.path, part)
    return {
        "key": capital(field.key),
        "ask": field.ask,
        "how": field.how,
        "unit": field.unit,
        "options": list(field.options),
        "value": value,
        "count": count,
    }


def _known(form: _Form, path: Sequence[str], part: Part | None) -> tuple[str, int]:
    """What is stated at a path of parts, and how many findings wait for it."""
    for step, name in enumerate(path):
        if part is None:
            return "", 0
        if part.gap(name) is not None:
            return "", form.asked.get(part.question(name).field, 0)
        if not part.has(name):
            return (worded(None, None) if step == len(path) - 1 else DOES_NOT_APPLY), 0
        value = getattr(part, name)
        if step == len(path) - 1:
            return _words(form, part, name, value)
        part = value
    return "", 0


def _words(form: _Form, part: Part, name: str, value: Any) -> tuple[str, int]:
    from islewright.papers.facts import said

    if isinstance(value, Part):  # a device: its short name, and what is still asked about it
        inner = [n for f, n in form.asked.items() if f.startswith(f"{value.path}.")]
        return str(getattr(value, "name", "")), max(inner, default=0)
    return said(part, name), form.asked.get(part.question(name).field, 0)


# ------------------------------------------------------------------------- tables
def _tables_below(
    form: _Form, kind: type[Part], rows: Sequence[tuple[tuple[str, ...], Part | None]], owner: str
) -> Iterator[dict[str, Any]]:
    """Tables of the parts that each row holds by name: RCDs of boards, loads of circuits."""
    for held in parts_of_form(kind):
        if held.named:
            below = [e for names, part in rows for e in _entries(names, part, held)]
            yield _table(form, held.key, owner, held.part, below, named=capital(held.key))
        else:
            inside = [(names, _inside(part, held.name)) for names, part in rows]
            yield from _tables_below(form, held.part, inside, owner)


def _entries(names: tuple[str, ...], part: Part | None, held: Held) -> list[Entry]:
    if part is None or part.gap(held.name) is not None:
        return []
    inside = getattr(part, held.name) or {}
    return [((*names, name), each) for name, each in inside.items() if isinstance(each, Part)]


def _table(
    form: _Form,
    key: str,
    owner: str,
    kind: type[Part],
    rows: Sequence[tuple[tuple[str, ...], Part | None]],
    *,
    named: str = "",
    without: Sequence[str] = (),
) -> dict[str, Any]:
    """A table with a row for each part, cut into pieces that fit the page."""
    fields = [f for f in columns_of(kind) if f.path[0] not in without]
    empty = 0 if form.job is not None else EMPTY.get(key, FEW)
    if key == "equipment":
        empty = 0
    shown = [", ".join(names) for names, _part in rows]
    return {
        "kind": "table",
        "head": named,
        "owner": owner if not named else f"{owner}, {named}",
        "pieces": [
            {
                "columns": [_column(field) for field in piece],
                "rows": [
                    {"name": name, "cells": [_cell(form, field, part) for field in piece]}
                    for name, (_names, part) in zip(shown, rows, strict=True)
                ],
                "words": [
                    {"key": capital(field.key), "options": list(field.options)}
                    for field in piece
                    if field.options
                ],
            }
            for piece in _pieces(fields)
        ],
        "empty": empty,
    }


def _pieces(fields: Sequence[Field]) -> list[list[Field]]:
    """Columns page by page: on as few as can be, and no page wider than it must be."""
    fewest = len(_cut(fields, ROOM))
    wide = ROOM
    while wide > TEXT and len(_cut(fields, wide - 1)) == fewest:
        wide -= 1
    return _cut(fields, wide)


def _cut(fields: Sequence[Field], wide: float) -> list[list[Field]]:
    pieces: list[list[Field]] = [[]]
    for field in fields:
        if pieces[-1] and sum(map(_wide, [*pieces[-1], field])) > wide:
            pieces.append([])
        pieces[-1].append(field)
    return pieces


def _wide(field: Field) -> float:
    return FIGURE if field.unit else CHOICE if field.options else TEXT


def _column(field: Field) -> dict[str, Any]:
    return {"key": capital(field.key), "unit": field.unit, "wide": _wide(field)}


def _cell(form: _Form, field: Field, part: Part | None) -> dict[str, Any]:
    value, count = _known(form, field.path, part)
    unit = field.unit
    if unit and value.endswith(f" {unit}"):
        value = value.removesuffix(f" {unit}")
    return {"value": value, "count": count}


# ------------------------------------------------------------------------- what is known
def _of(job: Job | None, name: str) -> Part | None:
    return _inside(job, name)


def _inside(part: Part | None, name: str) -> Part | None:
    """A part that lies in another; None where it is a gap or not there."""
    if part is None or part.gap(name) is not None:
        return None
    held = getattr(part, name)
    return held if isinstance(held, Part) else None


def _named(job: Job | None, name: str) -> list[Entry]:
    if job is None or job.gap(name) is not None:
        return []
    return [((key,), part) for key, part in getattr(job, name).items() if isinstance(part, Part)]
