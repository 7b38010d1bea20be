"""Any fact of a job or of a maker's sheet in words: its name, unit, and what is stated.

Belongs here: what holds for every part alike, read off the parts themselves, so that a new
field is printed without being told here.
"""

from __future__ import annotations

import functools
import typing
from typing import Any

from islewright.job.gap import Gap
from islewright.job.kinds import AS_LINE, Quantity
from islewright.job.part import Part
from islewright.job.write import range_text
from islewright.papers.say import NONE, NOT_KNOWN
from islewright.units import UNITS, show

#: how the file says that a protective conductor is as thick as the lines
AS_LINE_WORD = "as line"
#: units that a figure may be counted in without one being printed
_BARE = ("x", "-")


@functools.cache
def unit_of(part: type[Part], name: str) -> str | None:
    """Canonical unit of a field that holds a figure; None for words, lists and parts."""
    info = part.model_fields[name]
    found = [m for m in info.metadata if isinstance(m, Quantity)]
    found += list(_quantities(info.annotation))
    return found[0].unit if found else None


def _quantities(annotation: Any) -> list[Quantity]:
    inner = typing.get_args(annotation)
    own = [each for each in inner if isinstance(each, Quantity)]
    return own + [q for each in inner if not isinstance(each, Quantity) for q in _quantities(each)]


def options_of(part: type[Part], name: str) -> tuple[str, ...]:
    """Words that a field takes, where it takes only some; empty otherwise."""
    annotation = part.model_fields[name].annotation
    for each in (annotation, *typing.get_args(annotation)):
        if typing.get_origin(each) is typing.Literal:
            return tuple(map(str, typing.get_args(each)))
    return ()


def said(part: Part, name: str) -> str:
    """What is stated at a field: printed with its unit, "none", or "not known"."""
    if part.gap(name) is not None:
        return NOT_KNOWN
    ranges = range_text(part, name)
    if ranges is not None:
        return ranges.replace("..", " to ").replace("mm2", "mm²")
    value = getattr(part, name)
    return AS_LINE_WORD if value == AS_LINE else worded(value, unit_of(type(part), name))


def worded(value: Any, unit: str | None) -> str:
    """A stated value as a person writes it."""
    if value is None:
        return NONE
    if isinstance(value, Gap):
        return NOT_KNOWN
    if isinstance(value, float):
        return number(value, unit)
    if isinstance(value, dict):
        return ", ".join(value) or NONE
    if isinstance(value, tuple | list):
        return " ".join(map(str, value)) or NONE
    return str(value)


def number(value: float, unit: str | None) -> str:
    """A figure with its unit: 0.35 ohm, 30 %, 6 times."""
    if unit == "x":
        return f"{value:g} times"
    if unit is None or unit in _BARE or unit not in UNITS:
        return f"{value:g}" if unit in (None, *_BARE) else f"{value:g} {unit}"
    return show(value, unit)
