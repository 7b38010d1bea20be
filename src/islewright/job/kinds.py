"""Kinds of field that a job file knows: quantities, conductors, devices, names.

Each kind turns the text of one scalar into a value and says, in the trade's words, what
is allowed. Does not belong here: which parts have which fields (`model`), and anything
that looks at two fields at once (`check`).
"""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

from islewright import units
from islewright.tables.figure import Figure


def refuse(found: object, allowed: str) -> PydanticCustomError:
    """Error for one field: what was found and what is allowed."""
    return PydanticCustomError("not_allowed", "{allowed}", {"found": str(found), "allowed": allowed})


def quantity(unit: str, *, least: float | None = None, above: float | None = None) -> Any:
    """Field kind for a figure with a unit, in `unit`; a given spread is kept."""

    def read(text: object) -> Figure:
        if isinstance(text, Figure):
            return text
        if not isinstance(text, str):
            raise refuse(text, f"one figure with its unit, such as {units.example(unit)}")
        try:
            value, spread = units.parse(text, unit)
        except units.BadQuantity as bad:
            raise refuse(bad.found, bad.allowed) from None
        if least is not None and value < least:
            raise refuse(text, f"at least {units.show(least, unit)}")
        if above is not None and value <= above:
            raise refuse(text, f"more than {units.show(above, unit)}")
        return Figure(value, source="job file", spread=spread)

    return Annotated[
        Figure,
        BeforeValidator(read),
        WithJsonSchema({"type": "string", "examples": [units.example(unit)]}),
    ]


Length = quantity("m", least=0)
Size = quantity("mm2", above=0)
Resistance = quantity("ohm", least=0)
Current = quantity("A", above=0)
Voltage = quantity("V", above=0)
Power = quantity("W", least=0)
ApparentPower = quantity("VA", above=0)
Energy = quantity("Wh", above=0)
Frequency = quantity("Hz", above=0)
Time = quantity("s", least=0)
Temperature = quantity("°C")
Capacitance = quantity("F", least=0)
Share = quantity("%", least=0)
Multiple = quantity("x", above=0)
Ratio = quantity("-", least=0)
Torque = quantity("N m", above=0)
Millimetres = quantity("mm", above=0)
Mass = quantity("kg", above=0)
SoilResistivity = quantity("K m/W", above=0)

#: the protective conductor has the cross-section of the lines
AS_LINE = -1.0


def _earth_size(text: object) -> Figure:
    if text == "as line":
        return Figure(AS_LINE, source="job file")
    if isinstance(text, Figure):
        return text
    try:
        value, spread = units.parse(str(text), "mm2")
    except units.BadQuantity as bad:
        raise refuse(bad.found, f"{bad.allowed}, or `as line`") from None
    if value <= 0:
        raise refuse(text, "a cross-section, `as line` or `none`")
    return Figure(value, source="job file", spread=spread)


EarthSize = Annotated[
    Figure,
    BeforeValidator(_earth_size),
    WithJsonSchema({"type": "string", "examples": ["2.5 mm2", "as line", "none"]}),
]

_COUNT = re.compile(r"[0-9]{1,4}")


def _count(text: object) -> int:
    if isinstance(text, int):
        return text
    if not isinstance(text, str) or not _COUNT.fullmatch(text):
        raise refuse(text, "a whole number, such as 3")
    return int(text)


Count = Annotated[
    int, BeforeValidator(_count), WithJsonSchema({"type": "string", "pattern": "^[0-9]{1,4}$"})
]

LINES = ("L1", "L2", "L3")
CONDUCTORS = (*LINES, "N", "PE", "PEN")


def _words_of(allowed: tuple[str, ...], example: str) -> Any:
    def read(text: object) -> tuple[str, ...]:
        if isinstance(text, tuple):
            return text
        words = text.split() if isinstance(text, str) else []
        if not words or len(set(words)) != len(words) or any(w not in allowed for w in words):
            raise refuse(text, f"conductors with a blank between them, such as {example}")
        return tuple(sorted(words, key=allowed.index))

    return read


Conductors = Annotated[
    tuple[str, ...],
    BeforeValidator(_words_of(CONDUCTORS, "L1 L2 L3 N PE")),
    WithJsonSchema({"type": "string", "examples": ["L1 L2 L3 N PE", "L1 N PE"]}),
]
Lines = Annotated[
    tuple[str, ...],
    BeforeValidator(_words_of(LINES, "L2")),
    WithJsonSchema({"type": "string", "examples": ["L2", "L1 L2 L3"]}),
]


def _name(text: object) -> str:
    if not isinstance(text, str) or not text.strip():
        raise refuse(text, "a name")
    return text.strip()


Name = Annotated[str, BeforeValidator(_name)]


def _date(text: object) -> str:
    import datetime

    try:
        return datetime.date.fromisoformat(str(text)).isoformat()
    except ValueError:
        raise refuse(text, "a date as year-month-day, such as 2026-03-02") from None


Date = Annotated[str, BeforeValidator(_date), WithJsonSchema({"type": "string", "format": "date"})]
