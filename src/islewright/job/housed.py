"""What a maker states of the place that a piece of equipment needs."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from islewright.job.kinds import refuse
from islewright.job.part import Part, sheet
from islewright.job.ranges import TemperatureRange

_CODE = re.compile(r"IP([0-6X])([0-9X])[A-DHMSW]{0,2}(?:/IP(?:\1)?X?([0-9]))?")
#: numeral of jets: what only stands dipped in water need not stand them
_JETS = 5


def _code(text: object) -> str:
    found = text.replace(" ", "") if isinstance(text, str) else ""
    if not _CODE.fullmatch(found):
        raise refuse(text, "a degree of protection, such as IP54 or IPX4")
    return found


#: degree of protection of an enclosure
Ip = Annotated[
    str,
    BeforeValidator(_code),
    WithJsonSchema({"type": "string", "examples": ["IP54", "IPX4", "IP66/IP68"]}),
]


def solid_numeral(code: str) -> int | None:
    """First numeral of an IP code, against solid bodies and dust; None for an X.

    >>> solid_numeral("IP54")
    5
    """
    first = code[2]
    return None if first == "X" else int(first)


def water_numeral(code: str) -> int | None:
    """Second numeral of an IP code, against water that falls or flies; None for an X.

    7 and 8 speak of dipping. Without a second mark they vouch for nothing but what is below
    jets (IEC 60529, clause 6).

    >>> [water_numeral(code) for code in ("IP54", "IP68", "IP66/IP68")]
    [4, 4, 6]
    """
    match = _CODE.fullmatch(code)
    marks = [int(mark) for mark in (match.groups()[1:] if match else ()) if mark and mark != "X"]
    if not marks:
        return None
    flying = [mark for mark in marks if mark <= _JETS + 1]
    return max(flying) if flying else _JETS - 1


class Housed(Part):
    """Which place the maker allows."""

    works_between: TemperatureRange = sheet("works between", "In which temperatures may it work?")
    enclosure: Ip = sheet("enclosure", "Which degree of protection (IP) has its enclosure?")
