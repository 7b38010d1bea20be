"""Small turns of phrase that several pages share: counts, lists, dates, gaps.

Belongs here: wording without a subject of its own. Does not belong here: a page.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable

from islewright.job.gap import Unknown
from islewright.units import show

NOT_KNOWN = "not known"
NONE = "none"
DOES_NOT_APPLY = "–"

_NUMBERS = (
    "no one two three four five six seven eight nine ten eleven twelve".split()
)  # fmt: skip


def number(count: int) -> str:
    """Spell a small count, print a large one.

    >>> number(3), number(40)
    ('three', '40')
    """
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def counted(count: int, one: str, many: str = "") -> str:
    """A count with its noun: "one finding", "40 circuits".

    >>> counted(1, "finding"), counted(2, "finding")
    ('one finding', 'two findings')
    """
    return f"{number(count)} {one if count == 1 else many or one + 's'}"


def listed(words: Iterable[str], last: str = "and") -> str:
    """Join words as one says them.

    >>> listed(["L1", "L2", "N"])
    'L1, L2 and N'
    """
    *head, tail = list(words) or [""]
    return f"{', '.join(head)} {last} {tail}" if head else tail


def quoted(text: str) -> str:
    """What is to be typed into the job file, in quotation marks: a page sets no code.

    >>> quoted("the maker's sheet; `0 ms` where it never is")
    "the maker's sheet; “0 ms” where it never is"
    """
    return re.sub(r"`([^`]*)`", r"“\1”", text)


def sentence(text: str) -> str:
    """Begin with a capital and end with a full stop.

    >>> sentence("the fault stays on")
    'The fault stays on.'
    """
    text = text.strip()
    if not text:
        return ""
    return capital(text) + ("" if text[-1] in ".?!:" else ".")


def capital(text: str) -> str:
    """Begin with a capital; quantities such as `c_min` stay as they are."""
    first = text.split(" ", 1)[0].rstrip(",.:;")
    plain = re.sub("[-'’]", "", first).isalpha()
    return text[:1].upper() + text[1:] if plain else text


def day(iso: str) -> str:
    """Print a date in words.

    >>> day("2026-03-02")
    '2 March 2026'
    """
    date = datetime.date.fromisoformat(iso)
    months = (
        "January February March April May June July August September October November December"
    ).split()
    return f"{date.day} {months[date.month - 1]} {date.year}"


def stated(read: Callable[[], object], unit: str = "") -> str:
    """What the job states there: printed, "none" where it is not there, else "not known"."""
    try:
        value = read()
    except Unknown:
        return NOT_KNOWN
    if value is None:
        return NONE
    if isinstance(value, float) and unit:
        return show(value, unit)
    return str(value)


def figure(read: Callable[[], object], per: float = 1) -> str:
    """A bare figure for a column whose head names the unit."""
    try:
        value = read()
    except Unknown:
        return NOT_KNOWN
    if value is None:
        return NONE
    assert isinstance(value, int | float)  # noqa: S101 - the model holds numbers there
    return f"{value / per:.6g}"
