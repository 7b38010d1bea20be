"""Tables of the survey form: a row for each part, columns cut to the page, words to choose from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from islewright.job.part import Part
from islewright.papers.form_filled import Form, inside, known
from islewright.papers.form_shape import Field, Held, columns_of, parts_of_form
from islewright.papers.say import capital

#: room for the columns beside number and name [mm]; of a figure, a choice, a text
ROOM, FIGURE, CHOICE, TEXT = 136.0, 12.5, 17.0, 22.0
#: a word to choose that is as long as this needs the room of a text
LONG = 14
#: empty rows on a blank form, by what a row is about
EMPTY = {"boards": 3, "RCDs": 8, "circuits": 36, "loads": 28, "cables": 7, "main bonding": 4}
FEW = 4

#: names that lead to a part, and the part; None where a form is blank or nobody has told
Entry = tuple[tuple[str, ...], Part | None]


def tables_below(
    form: Form,
    kind: type[Part],
    rows: Sequence[Entry],
    owner: str,
    numbers: Mapping[str, int],
    *,
    inside_of: str = "",
) -> Iterator[dict[str, Any]]:
    """Tables of what each row holds by name, and of what only some rows have."""
    for held in sorted(parts_of_form(kind), key=_long_ones_first):
        head = capital(f"{inside_of}, {held.key}" if inside_of else held.key)
        if held.named:
            below = [e for names, part in rows for e in entries(names, part, held)]
            yield table(form, held.key, owner, held.part, below, named=head, numbers=numbers)
            continue
        lying = [(names, inside(part, held.name)) for names, part in rows]
        told = [
            entry
            for entry, (_names, part) in zip(lying, rows, strict=True)
            if entry[1] is not None or _waits_for(form, part, held.name)
        ]
        yield table(form, held.key, owner, held.part, told, named=head, numbers=numbers)
        yield from tables_below(form, held.part, lying, owner, numbers, inside_of=head)


def _long_ones_first(held: Held) -> bool:
    """A table that fills a page stands before the small ones, which then share one."""
    return EMPTY.get(held.key, FEW) <= EMPTY["RCDs"]


def _waits_for(form: Form, part: Part | None, name: str) -> bool:
    """Whether a finding hangs on a part that nobody has told of."""
    if part is None or part.gap(name) is None:
        return False
    return form.asked.get(part.question(name).field, 0) > 0


def entries(names: tuple[str, ...], part: Part | None, held: Held) -> list[Entry]:
    """Parts that a part holds by name, below the names that lead to it."""
    if part is None or part.gap(held.name) is not None:
        return []
    inside = getattr(part, held.name) or {}
    return [((*names, name), each) for name, each in inside.items() if isinstance(each, Part)]


def table(
    form: Form,
    key: str,
    owner: str,
    kind: type[Part],
    rows: Sequence[Entry],
    *,
    named: str = "",
    without: Sequence[str] = (),
    numbers: Mapping[str, int] | None = None,
) -> dict[str, Any]:
    """A table with a row for each part, cut into pieces that fit the page.

    `numbers` are those of the owners; a row bears its own place where there are none.
    """
    fields = [f for f in columns_of(kind) if f.path[0] not in without]
    empty = 0 if form.job is not None else EMPTY.get(key, FEW)
    if key == "equipment":
        empty = 0
    shown = [(_number(names, n, numbers), ", ".join(names), part)
             for n, (names, part) in enumerate(rows, 1)]  # fmt: skip
    return {
        "kind": "table",
        "head": named,
        "owner": owner if not named else f"{owner}, {named}",
        "pieces": [
            {
                "columns": [_column(field) for field in piece],
                "rows": [
                    {
                        "number": number,
                        "name": name,
                        "cells": [_cell(form, field, part) for field in piece],
                    }
                    for number, name, part in shown
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


def _number(names: tuple[str, ...], place: int, numbers: Mapping[str, int] | None) -> str:
    """Number of the circuit or board that a row belongs to, the one that other sheets print."""
    return str(place if numbers is None else numbers.get(names[0], place))


def numbers_of(rows: Sequence[Entry]) -> dict[str, int]:
    """Number of each row's owner: its place in the job file."""
    return {names[0]: n for n, (names, _part) in enumerate(rows, 1)}


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
    longest = max(map(len, field.options), default=0)
    if field.unit:  # a long word of the head must not touch the next
        return max(FIGURE, 1.45 * max(map(len, field.key.split())))
    return CHOICE if 0 < longest < LONG else TEXT


def _column(field: Field) -> dict[str, Any]:
    return {"key": capital(field.key), "unit": field.unit, "wide": _wide(field)}


def _cell(form: Form, field: Field, part: Part | None) -> dict[str, Any]:
    value, count = known(form, field.path, part)
    unit = field.unit
    if unit and value.endswith(f" {unit}"):
        value = value.removesuffix(f" {unit}")
    return {"value": value, "count": count}
