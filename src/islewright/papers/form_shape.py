"""The shape of the survey form, read off the parts of a job: boxes, ticks, tables.

A new field of the job file is on the form without being told here. What no rule, drawing or
sheet uses is named in `NOT_ASKED`.
"""

from __future__ import annotations

import functools
import inspect
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from islewright.job.part import Part
from islewright.job.refusal import held_by
from islewright.papers.facts import options_of, unit_of

#: class and field -> why nobody is asked on the walk
NOT_ASKED = {
    ("Job", "same_for_all_cables"): "a short way to write, not a fact",
    ("Job", "same_for_all_circuits"): "a short way to write, not a fact",
    ("Head", "equipment_files"): "names of files",
    ("Head", "profile"): "chosen at the desk",
    ("Head", "note"): "free text",
    ("Site", "wall"): "for the fixings, which are not covered",
    ("Site", "height_m"): "for the fixings, which are not covered",
    ("Board", "feeds"): "asked by no rule set that is built in",
    ("Loops", "date"): "that of the survey",
    ("Electrode", "date"): "that of the survey",
    ("Earthing", "soil"): "told by the electrode's resistance",
    ("IslandingSwitch", "description"): "free text",
    ("Inverter", "description"): "free text",
    ("Battery", "description"): "free text",
    ("PvArray", "description"): "free text",
    ("IslandingSwitch", "mass_kg"): "for the fixings, which are not covered",
    ("Inverter", "mass_kg"): "for the fixings, which are not covered",
    ("Battery", "mass_kg"): "for the fixings, which are not covered",
    ("PvArray", "mass_kg"): "for the fixings, which are not covered",
    ("IslandingSwitch", "kind"): "the head of its sheet says so",
    ("Inverter", "kind"): "the head of its sheet says so",
    ("Battery", "kind"): "the head of its sheet says so",
    ("PvArray", "kind"): "the head of its sheet says so",
}


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to write down.

    `path` leads from the part of the form to it, through parts that it lies in; `options`
    are the words to tick, `unit` is printed in the box.
    """

    path: tuple[str, ...]
    key: str
    ask: str
    how: str
    unit: str
    options: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Held:
    """A part that lies in another: by itself, or several by name."""

    name: str
    key: str
    part: type[Part]
    named: bool


@functools.cache
def fields_of_form(part: type[Part]) -> tuple[Field, ...]:
    """What is written straight into boxes: plain facts, and parts that have a short form."""
    return tuple(_fields(part))


def _fields(part: type[Part]) -> Iterator[Field]:
    for name, info in _own_first(part):
        held = held_by(info.annotation)
        if (part.__name__, name) in NOT_ASKED or (held is not None and not held.short_form):
            continue
        if held is not None and _is_named(info.annotation):
            continue
        words = info.json_schema_extra
        extra: dict[str, Any] = words if isinstance(words, dict) else {}
        yield Field(
            path=(name,),
            key=info.alias or name,
            ask=str(extra.get("ask", "")),
            how=f"such as {held.short_form[0]}" if held else str(extra.get("how", "")),
            unit=_unit(part, name),
            options=() if held else options_of(part, name),
        )


def _own_first(part: type[Part]) -> list[tuple[str, Any]]:
    """Fields in their order, those that a part has for itself before those it shares."""
    own = inspect.get_annotations(part)
    return sorted(part.model_fields.items(), key=lambda item: item[0] not in own)


def _unit(part: type[Part], name: str) -> str:
    unit = unit_of(part, name) or ""
    return {"-": "", "x": "times", "ohm": "Ω", "mm2": "mm²", "N m": "N m", "A2s": "A²s"}.get(
        unit, unit
    )


@functools.cache
def parts_of_form(part: type[Part]) -> tuple[Held, ...]:
    """Parts that lie in a part and have a block or a table of their own."""
    found = []
    for name, info in part.model_fields.items():
        held = held_by(info.annotation)
        if held is None or (part.__name__, name) in NOT_ASKED:
            continue
        named = _is_named(info.annotation)
        if named or not held.short_form:
            found.append(Held(name, info.alias or name, held, named))
    return tuple(found)


def columns_of(part: type[Part]) -> tuple[Field, ...]:
    """Columns of a table of such parts: their fields; parts in them have tables of their own."""
    found = list(fields_of_form(part))
    for field in tuple(found):
        short = held_by(part.model_fields[field.path[0]].annotation)
        if short is not None:
            found += _beside(field, short)
    return tuple(found)


def _beside(field: Field, short: type[Part]) -> Iterator[Field]:
    """What a device's short form cannot say and is read off it all the same."""
    for own in fields_of_form(short):
        if own.path[0] in {"feed", "neutral"}:
            key, path = f"{field.key}: {own.key}", (*field.path, *own.path)
            yield Field(path, key, own.ask, own.how, own.unit, own.options)


def _is_named(annotation: Any) -> bool:
    """Whether a field holds parts by name."""
    if typing.get_origin(annotation) is dict:
        return True
    return any(map(_is_named, typing.get_args(annotation)))
