"""Kinds of field that hold a range: conductors that a terminal takes, diameters, temperatures.

Does not belong here: kinds of one figure (`kinds`), which parts have these fields.
"""

from __future__ import annotations

import functools
import re
from typing import Annotated, Any, NamedTuple

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

from islewright import units
from islewright.job.kinds import refuse
from islewright.units import Span

#: how a core is made, and what is pressed on its end
CORE_FORMS = ("solid", "stranded", "fine-stranded", "fine-stranded with ferrule")


class Takes(NamedTuple):
    """Conductors that a terminal takes: sizes [mm²], and core forms; () where it says none."""

    sizes: Span
    forms: tuple[str, ...]


def _span(text: str, unit: str, least: float | None) -> Span:
    try:
        span = units.parse_span(text, unit)
    except units.BadQuantity as bad:
        why, _, allowed = str(bad).partition('" ')[2].partition("; ")
        allowed = allowed or f"a range, such as {_example(unit)}"
        raise refuse(text, allowed, f"which {why}") from None
    if least is not None and span.low <= least:
        raise refuse(text, f"it must begin above {units.show(least, unit)}")
    return span


def _example(unit: str) -> str:
    return f"6..16 {units.UNITS[unit].shown[0]}"


class Range:
    """Field kind for a range; both its ends are taken."""

    def __init__(self, unit: str, *, least: float | None = None, example: str = "") -> None:
        self.unit, self.least = unit, least
        self.example = example or _example(unit)
        self.kept = functools.lru_cache(maxsize=64)(self.read)

    def taken(self, text: object) -> Any:
        """Read, or take what the same text was read as before."""
        if not isinstance(text, str):
            raise refuse(text, f'a range as text, such as "{self.example}"')
        return self.kept(text)

    def read(self, text: str) -> Any:
        """Read one range."""
        return _span(text, self.unit, self.least)

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Tell pydantic to read in this way and in no other."""
        return core_schema.no_info_plain_validator_function(self.taken)

    def __get_pydantic_json_schema__(self, _core: Any, _handler: Any) -> dict[str, Any]:
        """Text with an example; the unit is checked on reading."""
        return {"type": "string", "examples": [self.example]}


class _Ranges(Range):
    """Several ranges with commas between them."""

    def read(self, text: str) -> tuple[Span, ...]:
        """Read each of them."""
        return tuple(_span(one, self.unit, self.least) for one in text.split(","))


_UNIT_END = re.compile(r"(.*(?:mm2|mm²|mm\^2))\s*(.*)")


class _Conductors(Range):
    """Ranges of sizes, each with the core forms for which it holds."""

    def read(self, text: str) -> tuple[Takes, ...]:
        """Read each range and the words behind it."""
        return tuple(self._takes(one.strip()) for one in text.split(","))

    def _takes(self, text: str) -> Takes:
        match = _UNIT_END.fullmatch(text)
        sizes, words = match.groups() if match else (text, "")
        forms = tuple(word.strip() for word in words.split(" or ")) if words else ()
        for form in forms:
            if form not in CORE_FORMS:
                allowed = f"sizes, then core forms with `or` between: {', '.join(CORE_FORMS)}"
                raise refuse(text, allowed)
        return Takes(_span(sizes, self.unit, self.least), forms)


#: what a terminal takes
ConductorRanges = Annotated[
    tuple[Takes, ...],
    _Conductors("mm2", least=0, example="6..16 mm2 solid or stranded, 4..10 mm2 fine-stranded"),
]
#: what a gland clamps, a range for each of its inserts
DiameterRanges = Annotated[tuple[Span, ...], _Ranges("mm", least=0, example="14..25 mm")]
TemperatureRange = Annotated[Span, Range("°C", example="-10..45 °C")]
