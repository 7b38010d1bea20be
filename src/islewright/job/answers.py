"""Answers that a new job begins with, each held against the field that it goes into.

BadAnswer (ValueError)    an answer that no job file can hold
"""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass
from typing import Any

from islewright.job.checked import RESERVED
from islewright.job.kinds import Date, Frequency, LowVoltage, Name
from islewright.job.model import Supply
from islewright.job.part import NONE, UNKNOWN

#: names that the new file gives to its cables and its first circuit
CABLES = ("tails", "grid side", "house side", "inverter cable")
FIRST = "first circuit"
_TAKEN = frozenset((*CABLES, FIRST, *RESERVED, UNKNOWN, NONE))
_BOARDS = ("main_board", "backed_up_board")


class BadAnswer(ValueError):
    """An answer that cannot stand in a job file; the message says what could."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What has to be known before a job file can begin.

    `form` and `system_earthing` are words of the job file (`one phase`, `TT` ...), the latter
    `unknown` where nobody knows it yet; voltage and frequency carry their units. `main_board`
    is where the supply arrives, `backed_up_board` where the circuits lie that an island feeds.
    """

    name: str
    date: str
    form: str
    system_earthing: str
    nominal_voltage: str
    frequency: str
    profile: str = "IEC base"
    main_board: str = "main board"
    backed_up_board: str = "backed-up board"


def hold(field: str, given: str) -> None:
    """Hold one answer against the field that it goes into.

    Parameters
    ----------
    field : name of the answer, such as "nominal_voltage"

    Raises
    ------
    BadAnswer : no job file can hold it
    """
    if field in _BOARDS:
        _hold_board(given)
    elif (field, given) != ("system_earthing", UNKNOWN):
        _hold_by_kind(field, given)


def hold_all(answers: Answers) -> None:
    """Hold every answer against its field, and the two boards against each other.

    Raises
    ------
    BadAnswer : no job file can hold one of them
    """
    for field, given in asdict(answers).items():
        hold(field, given)
    if answers.main_board == answers.backed_up_board:
        raise BadAnswer("boards: each has its own name, and not the name of another place")


def _hold_board(given: str) -> None:
    if not re.fullmatch(r"[^\W\d_][^/]{0,79}", given) or not given.isprintable():
        raise BadAnswer(f'board: found "{given}"; a name begins with a letter and has no `/`')
    if given in _TAKEN:
        raise BadAnswer("boards: each has its own name, and not the name of another place")


def _hold_by_kind(field: str, given: str) -> None:
    from pydantic import TypeAdapter, ValidationError

    kinds: dict[str, Any] = {
        "name": Name,
        "profile": Name,
        "date": Date,
        "nominal_voltage": LowVoltage,
        "frequency": Frequency,
    }
    kind: Any = kinds.get(field) or Supply.model_fields[field].annotation
    if not given.isprintable() or given == UNKNOWN:
        raise BadAnswer(f"{field}: found {given!r}; words that can be printed")
    try:
        TypeAdapter(kind).validate_python(given)
    except ValidationError as error:
        first = error.errors()[0]
        allowed = first.get("ctx", {}).get("allowed") or first["msg"]
        raise BadAnswer(f'{field}: found "{given}"; {allowed}') from None
