"""A job as a file again: its parts in the schema's order, its gaps as they are.

What was read, written and read is the same job; written once more it is the same bytes.
Remarks of the file, its own spelling of units, and what stood in a group of figures of which
one was unknown are not part of a job, so they are lost. Does not belong here: reading.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from typing import Any

from islewright import units
from islewright.job.device import Device, read_device
from islewright.job.keep import keep_text
from islewright.job.kinds import AS_LINE
from islewright.job.model import Job, Load
from islewright.job.part import NONE, UNKNOWN, Part, fields_of
from islewright.job.quick import SAME
from islewright.job.ranges import Takes
from islewright.job.tree import NO_NAME, NO_TEXT
from islewright.tables.figure import Figure
from islewright.units import Span

__all__ = ["range_text", "save_job", "write_equipment", "write_job"]

Tree = dict[str, Any]
#: what needs no quotation marks: it begins harmlessly, and nothing in it ends a text
_PLAIN = re.compile(r"(?:[A-Za-z0-9.]|-[0-9])[^:#\n]*(?<! )")


def write_job(job: Job) -> str:
    """Text of a job file that reads as this job.

    Parameters
    ----------
    job : a job that was read

    Returns
    -------
    YAML in the order of the schema; what `same for all ...` states is not said again
    """
    tree = _tree(job)
    for block, room in SAME.items():
        same = tree.get(block)
        if isinstance(same, dict) and isinstance(tree.get(room), dict):
            for member in tree[room].values():
                for key in [k for k in member if same.get(k) == member[k]]:
                    del member[key]
    return "\n".join([*_lines(tree, ""), ""])


def write_equipment(job: Job) -> str:
    """Text of one equipment file that holds every sheet of the job's own files."""
    sheets = {model: _tree(sheet) for model, sheet in job._equipment.items()}  # noqa: SLF001
    tree = {model: {"kind": sheet["kind"], **sheet} for model, sheet in sheets.items()}
    return "\n".join([*_lines(tree, ""), ""])


def save_job(job: Job, path: str | os.PathLike[str]) -> None:
    """Write a job file; an interruption leaves the file that was there.

    Raises
    ------
    OSError : the file cannot be written; what was there is there still
    """
    keep_text(path, write_job(job))


def range_text(part: Part, name: str) -> str | None:
    """What a field with one range or several states, as the file has it: "6..16 mm2".

    None where the field holds something else.
    """
    value = part.__dict__.get(name)
    first = value[0] if isinstance(value, tuple) and value else None
    if not isinstance(value, Span) and not isinstance(first, Span | Takes):
        return None
    return str(_told(value, _unit_of(type(part).model_fields[name])))


def _tree(part: Part) -> Tree:
    """Keys of a part with their texts, those left out left out."""
    found = {}
    for key, known in fields_of(type(part)).items():
        held = part.__dict__
        if known.name in part._unknown:  # noqa: SLF001 - reading has set it
            found[key] = UNKNOWN
        elif known.name in held and known.name in part.model_fields_set:
            unit = _unit_of(type(part).model_fields[known.name])
            found[key] = _told(held[known.name], unit)
    return found


def _told(value: Any, unit: str) -> Any:
    """A text, a list of texts, or a group."""
    if value is None or value == {}:
        return NONE
    if isinstance(value, dict):
        return {name: _told(inner, unit) for name, inner in value.items()}
    if isinstance(value, Part):
        return _shortest(value, _tree(value))
    if isinstance(value, Figure):
        return "as line" if value == AS_LINE else units.spell(value, value.spread, unit)
    if isinstance(value, Span):
        return units.spell_span(value, unit)
    if isinstance(value, tuple):
        return _several(value, unit)
    return str(value)


def _several(value: tuple[Any, ...], unit: str) -> Any:
    """Conductors with blanks, file names as a list, ranges with commas."""
    first = value[0]
    if isinstance(first, Takes):
        takes = ((units.spell_span(t.sizes, unit), " or ".join(t.forms)) for t in value)
        return ", ".join(" ".join(filter(None, words)) for words in takes)
    if isinstance(first, Span):
        return ", ".join(units.spell_span(span, unit) for span in value)
    if unit == _FILES:
        return list(value) if len(value) > 1 else first
    return " ".join(value)


_FILES = "file names"


def _unit_of(info: Any) -> str:
    """Canonical unit of a field, "" where it has none."""
    if info.alias == "equipment file":
        return _FILES
    return next(_units_in([*info.metadata, info.annotation]), "")


def _units_in(things: Any) -> Iterator[str]:
    for thing in things:
        if isinstance(getattr(thing, "unit", None), str):
            yield thing.unit
        yield from _units_in(getattr(thing, "__metadata__", ()))
        yield from _units_in(getattr(thing, "__args__", ()))


def _shortest(part: Part, tree: Tree) -> Any:
    """The one-line form of a device or a load, where it says all."""
    if isinstance(part, Load) and list(tree) == ["power"]:
        return tree["power"]
    if isinstance(part, Device) and "curve" in tree and "rated current" in tree:
        residual = tree.get("residual", {})
        words = [f"{tree['curve']} {tree['rated current']}", tree.get("breaking capacity")]
        words.append(f"class {tree['energy class']}" if "energy class" in tree else None)
        if isinstance(residual, dict) and residual:
            words.append(f"RCBO {residual.get('trips at')} type {residual.get('type')}")
            words.append(residual.get("delay"))
        short = " ".join(word for word in words if word)
        if tree["curve"] != "gG":
            short = short.replace(" ", "", 1).replace(" A", "", 1)
        return short if _means(short, tree) else tree
    return tree


def _means(short: str, tree: Tree) -> bool:
    """Whether the one line reads as exactly these keys."""
    from pydantic_core import PydanticCustomError

    try:
        return read_device(short) == tree
    except PydanticCustomError:
        return False


def _lines(tree: Tree, indent: str) -> Iterator[str]:
    for key, value in tree.items():
        name = _scalar(key, NO_NAME)
        if isinstance(value, dict):
            yield f"{indent}{name}:"
            yield from _lines(value, f"{indent}  ")
        elif isinstance(value, list):
            yield f"{indent}{name}: [{', '.join(map(_quoted, value))}]"
        else:
            yield f"{indent}{name}: {_scalar(value, NO_TEXT)}"


def _scalar(text: str, not_plain: frozenset[str]) -> str:
    plain = _PLAIN.fullmatch(text) and text.isprintable() and text not in not_plain
    return text if plain else _quoted(text)


def _quoted(text: str) -> str:
    """In single quotation marks, which change nothing; in double ones where a line ends."""
    if text.isprintable():
        return "'" + text.replace("'", "''") + "'"
    return '"' + "".join(map(_escaped, text)) + '"'


def _escaped(sign: str) -> str:
    if sign in '"\\':
        return "\\" + sign
    return sign if sign.isprintable() else f"\\U{ord(sign):08x}"
