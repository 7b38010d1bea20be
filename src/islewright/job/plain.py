"""Files as nearly all of them are, read at once: one `key: text` a line, groups by indentation.

Reading the library's way costs several times as much. So a file is read like this first; what
is not surely so written, or holds anything that will be refused, gives None, and is then read
with care and with positions (`tree`). Does not belong here: what a key means, any message.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from islewright.job.tree import DEEPEST, NO_NAME, NO_TEXT, UNREADABLE

#: lines that are remembered, and the longest of them
MOST_LINES, LONGEST_LINE = 4096, 120

#: what is refused, and ends of line and blanks other than those that the lines below know
_ODD = re.compile(f"{UNREADABLE.pattern[:-1]}\t\r\x85\u2028\u2029]")
#: indentation, key, text, text in quotation marks
_LETTERS = "A-Za-z\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u024f"
_LINE = re.compile(
    rf"""
    (?: (\ *)
        (?: ([{_LETTERS}][{_LETTERS}0-9\ .,'_()+%=-]{{0,79}}) (?<!\ ) :
            (?: \ + (?: ( [A-Za-z0-9.] (?:[^:\#]*[^:\#\ ])? | -[0-9.][^:\#]* (?<!\ ) )
                      | '([^']+)' ) )?
        )?
        (?: \ +\#.* | \ * | (?<![^\ ])\#.* )
    )
    """,
    re.VERBOSE,
)

Tree = dict[str, Any]


#: how far in a key stands, the key, its text, and the key again where it opens a group
Line = tuple[int, str, str, str]


class _OddLine(Exception):
    """A line that must be read with care."""


class _Lines(dict[str, Line | None]):
    """What lines hold, None for one without a key: a file says many a line over and over."""

    def __missing__(self, text: str) -> Line | None:
        line = _line(text)
        if len(text) <= LONGEST_LINE:
            if len(self) >= MOST_LINES:
                self.clear()
            self[text] = line
        return line


_LINES = _Lines()


def read_plain(data: bytes) -> Tree | None:
    """Nested groups of texts; None where the file must be read with care.

    Parameters
    ----------
    data : the whole file
    """
    try:
        lines = map(_LINES.__getitem__, data.decode("utf-8").split("\n"))
        return _grouped(filter(None, lines))
    except (UnicodeDecodeError, _OddLine):
        return None


def _line(text: str) -> Line | None:
    odd = not text.isprintable() and _ODD.search(text)  # nothing printable is odd
    match = None if odd else _LINE.fullmatch(text)
    if match is None:
        raise _OddLine
    indent, key, plain, quoted = match.groups()
    if key is None:
        return None
    if key in NO_NAME or plain in NO_TEXT:
        raise _OddLine
    held = plain or quoted or ""
    return len(indent), key, held, "" if held else key


def _grouped(lines: Iterable[Line]) -> Tree | None:
    held: Tree = {}
    around: list[tuple[int, Tree]] = []  # groups that lie open, each with its indentation
    at, opened = 0, ""  # indentation of the group; the key above, where it has no text
    for deep, key, text, opens in lines:
        if deep == at and not opened:
            if key in held:
                return None
        elif deep > at:
            if not opened or len(around) >= DEEPEST - 1:
                return None
            around.append((at, held))
            group: Tree = {}
            held[opened] = group
            at, held = deep, group
        elif opened:
            return None
        else:
            while deep < at and around:
                at, held = around.pop()
            if deep != at or key in held:
                return None
        held[key] = text
        opened = opens
    return None if opened else (around[0][1] if around else held) or None
