"""Kinds of field that a job file knows: quantities, conductors, devices, names.

Each kind turns the text of one scalar into a value and says, in the trade's words, what
is allowed. Does not belong here: which parts have which fields (`model`), and anything
that looks at two fields at once (`check`).
"""

from __future__ import annotations

import functools
import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, GetCoreSchemaHandler, WithJsonSchema
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from islewright import units
from islewright.tables.figure import Figure

#: texts whose figures are kept, for each kind of quantity
MOST_KEPT = 512


def refuse(found: object, allowed: str, why: str = "") -> PydanticCustomError:
    """Error for one field: what was found, what is allowed, and what is wrong about it.

    `why` continues a sentence that has just named what was found: "which has no unit".
    """
    return PydanticCustomError(
        "not_allowed", "{allowed}", {"found": _shown(found), "allowed": allowed, "why": why}
    )


def _shown(found: object) -> str:
    """As it stood in the file; what is no text is named by its form."""
    if isinstance(found, dict):
        return "a group of keys"
    if isinstance(found, list | tuple):
        return "a list"
    return str(found)


def example(unit: str, number: str = "18") -> str:
    """Spell an example of a quantity, such as `18 m`."""
    return f"{number} {units.UNITS[unit].shown[0]}".strip()


def read_quantity(text: object, unit: str) -> Figure:
    """Read a figure with its unit; the spread that stands beside it is kept.

    Raises
    ------
    PydanticCustomError : not a quantity of this unit; says what would be
    """
    if isinstance(text, Figure):
        return text
    if not isinstance(text, str):
        raise refuse(text, f'one figure with its unit, such as "{example(unit)}"')
    try:
        value, spread = units.parse(text, unit)
    except units.BadQuantity as bad:
        # the message begins with the text in quotation marks, which `found` says already
        why, _, allowed = str(bad).partition('" ')[2].partition("; ")
        kind = units.UNITS[unit].kind
        allowed = allowed or f'write {kind}, such as "{example(unit)}"'
        raise refuse(bad.found, allowed, f"which {why}") from None
    return Figure(value, source="job file", confirmed="as stated", spread=spread)


class Quantity:
    """Field kind for a figure with a unit: canonical unit, and a bound where physics has one.

    Parameters
    ----------
    unit : canonical unit, one of `units.UNITS`
    least : smallest value allowed [unit]
    above : every allowed value is larger [unit]
    most : largest value allowed [unit]
    number : what stands in examples
    """

    def __init__(
        self,
        unit: str,
        *,
        least: float | None = None,
        above: float | None = None,
        most: float | None = None,
        number: str = "18",
    ) -> None:
        self.number = number
        self.unit, self.least, self.above, self.most = unit, least, above, most

        #: a job says the same few figures over and over; they do not change, so are shared
        self.kept = functools.lru_cache(maxsize=MOST_KEPT)(self.read)

    def taken(self, text: object) -> Figure:
        """Read, or take what the same text was read as before."""
        return self.kept(text) if text.__class__ is str else self.read(text)

    def read(self, text: object) -> Figure:
        """Read and hold against the bounds."""
        figure = read_quantity(text, self.unit)
        if self.above is not None and figure <= self.above:
            raise refuse(text, f"it must be more than {units.show(self.above, self.unit)}")
        if self.least is not None and figure < self.least:
            raise refuse(text, f"the least is {units.show(self.least, self.unit)}")
        if self.most is not None and figure > self.most:
            raise refuse(text, f"the most is {units.show(self.most, self.unit)}")
        return figure

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Tell pydantic to read in this way and in no other."""
        return core_schema.no_info_plain_validator_function(self.taken)

    def __get_pydantic_json_schema__(self, _core: Any, _handler: Any) -> dict[str, Any]:
        """Text with an example; the unit is checked on reading."""
        return {"type": "string", "examples": [example(self.unit, self.number)]}


#: bounds far beyond any house: what lies outside is a slip of the pen or of the unit, and would
#: come back as a figure that looks like one
Length = Annotated[Figure, Quantity("m", least=0, most=10_000)]
Size = Annotated[Figure, Quantity("mm2", above=0, least=0.1, most=1000, number="2.5")]
#: nothing that is measured at a public supply has none
LoopImpedance = Annotated[Figure, Quantity("ohm", above=0, least=1e-4, most=1e5, number="0.35")]
Resistance = Annotated[Figure, Quantity("ohm", least=0, most=1e6)]
OutputImpedance = Annotated[Figure, Quantity("ohm", above=0, least=1e-4, most=1e6, number="0.2")]
EarthResistance = Annotated[Figure, Quantity("ohm", above=0, least=1e-3, most=1e6)]
Current = Annotated[Figure, Quantity("A", above=0, least=1e-6, most=1e6)]
ResidualRating = Annotated[Figure, Quantity("A", above=0, least=1e-3, most=30, number="0.03")]
Voltage = Annotated[Figure, Quantity("V", above=0, least=1, most=10_000)]
#: a.c. of a house: not above low voltage (IEC 60364-1, 11.2); no supply of a house lies below 24 V
LowVoltage = Annotated[Figure, Quantity("V", above=0, least=24, most=1000, number="230")]
Power = Annotated[Figure, Quantity("W", least=0, most=1e7)]
ApparentPower = Annotated[Figure, Quantity("VA", above=0, least=1, most=1e7)]
Energy = Annotated[Figure, Quantity("Wh", above=0, least=1, most=1e8)]
#: public supplies have 50 Hz or 60 Hz
Frequency = Annotated[Figure, Quantity("Hz", above=0, least=45, most=65, number="50")]
Time = Annotated[Figure, Quantity("s", least=0, most=1e7)]
Temperature = Annotated[Figure, Quantity("°C", least=-273.15, most=2000)]
Capacitance = Annotated[Figure, Quantity("F", least=0, most=1e-3)]
Share = Annotated[Figure, Quantity("%", least=0, most=1000)]
Multiple = Annotated[Figure, Quantity("x", above=0, least=1e-3, most=1000)]
Ratio = Annotated[Figure, Quantity("-", above=0, least=1e-3, most=1, number="0.8")]
Torque = Annotated[Figure, Quantity("N m", above=0, least=1e-3, most=1000)]
Millimetres = Annotated[Figure, Quantity("mm", above=0, least=1e-3, most=1e6)]
Mass = Annotated[Figure, Quantity("kg", above=0, least=1e-3, most=1e5)]
SoilResistivity = Annotated[Figure, Quantity("K m/W", above=0, least=0.01, most=100)]
LetThrough = Annotated[Figure, Quantity("A2s", above=0, least=1, most=1e12, number="15000")]
#: clear distance between buried cables, as the tables have it
Spacing = Literal["touching", "one diameter", "0.125 m", "0.25 m", "0.5 m", "1.0 m"]

#: the protective conductor has the cross-section of the lines
AS_LINE = -1.0


class _EarthSize(Quantity):
    """A cross-section, or `as line`."""

    def read(self, text: object) -> Figure:
        if text == "as line":
            return Figure(AS_LINE, source="job file", confirmed="as stated")
        return super().read(text)

    def __get_pydantic_json_schema__(self, _core: Any, _handler: Any) -> dict[str, Any]:
        return {"type": "string", "examples": ["2.5 mm2", "as line"]}


EarthSize = Annotated[Figure, _EarthSize("mm2", above=0, least=0.1, most=1000)]

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
    wanted = f"conductors with a blank between them, such as {example}"

    @functools.lru_cache(maxsize=64)
    def known(text: str) -> tuple[str, ...]:
        words = text.split()
        if not words or len(set(words)) != len(words) or any(w not in allowed for w in words):
            raise refuse(text, wanted)
        return tuple(sorted(words, key=allowed.index))

    def read(text: object) -> tuple[str, ...]:
        if isinstance(text, tuple):
            return text
        if not isinstance(text, str):
            raise refuse(text, wanted)
        return known(text)

    return read


Conductors = Annotated[
    tuple[str, ...],
    BeforeValidator(_words_of(CONDUCTORS, "L1 L2 L3 N PE")),
    WithJsonSchema({"type": "string", "examples": ["L1 L2 L3 N PE", "L1 N PE"]}),
]
Lines = Annotated[
    tuple[str, ...],
    BeforeValidator(_words_of(LINES, "L1 L2 L3")),
    WithJsonSchema({"type": "string", "examples": ["L2", "L1 L2 L3"]}),
]


def _name(text: object) -> str:
    if not isinstance(text, str) or not text.strip() or text == "none":
        raise refuse(text, "words, and not empty ones")
    return text.strip()


Name = Annotated[str, BeforeValidator(_name)]


def _file_names(text: object) -> tuple[str, ...]:
    names = text if isinstance(text, list | tuple) else [text]
    return tuple(_name(name) for name in names)


FileNames = Annotated[
    tuple[str, ...],
    BeforeValidator(_file_names),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
]


def _date(text: object) -> str:
    import datetime

    try:
        return datetime.date.fromisoformat(str(text)).isoformat()
    except ValueError:
        raise refuse(text, "a date as year-month-day, such as 2026-03-02") from None


Date = Annotated[str, BeforeValidator(_date), WithJsonSchema({"type": "string", "format": "date"})]
