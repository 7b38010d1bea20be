"""Files as nearly all of them are, read at once: one `key: text` a line, groups by indentation.

Reading the library's way costs several times as much. So a file is read like this first; what
is not surely so written, or holds anything that will be refused, gives None, and is then read
with care and with positions (`tree`). Does not belong here: what a key means, any message.
"""

from __future__ import annotations

import re
from typing import Any

from islewright.job.tree import DEEPEST, NO_NAME, NO_TEXT, UNREADABLE

#: what is refused, and ends of line and blanks other than those that the lines below know
_ODD = re.compile(f"{UNREADABLE.pattern[:-1]}\t\r\x85\u2028\u2029]")
#: indentation, key, text, text in quotation marks; or what is none of these
_LETTERS = "A-Za-z\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u024f"
_LINE = re.compile(
    rf"""
    ^(?: (\ *)
         (?: ([{_LETTERS}][{_LETTERS}0-9\ .,'_()+%=-]{{0,79}}) (?<!\ ) :
             (?: \ + (?: ( [A-Za-z0-9.] (?:[^:\#\n]*[^:\#\n\ ])? | -[0-9.][^:\#\n]* (?<!\ ) )
                       | '([^'\n]*)' ) )?
         )?
         (?: \ +\#.* | \ * | (?<![^\n\ ])\#.* )
       | (.+) )$
    """,
    re.VERBOSE | re.MULTILINE,
)

Tree = dict[str, Any]


def read_plain(data: bytes) -> Tree | None:
    """Nested groups of texts; None where the file must be read with care.

    Parameters
    ----------
    data : the whole file
    """
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return None
    if _ODD.search(text):
        return None
    return _grouped(_LINE.findall(text))


def _grouped(lines: list[tuple[str, str, str, str, str]]) -> Tree | None:
    held: Tree = {}
    around: list[tuple[int, Tree]] = []  # groups that lie open, each with its indentation
    at, opened = 0, ""  # indentation of the group; the key above, where it has no text
    for indent, key, text, quoted, odd in lines:
        if not key:
            if odd:
                return None
            continue
        deep = len(indent)
        if deep > at and opened and len(around) < DEEPEST - 1:
            around.append((at, held))
            group: Tree = {}
            held[opened] = group
            at, held = deep, group
        elif opened or deep > at:
            return None
        while deep < at and around:
            at, held = around.pop()
        if deep != at or key in held or key in NO_NAME or (text and text in NO_TEXT):
            return None
        held[key] = text or quoted
        opened = "" if text or quoted else key
    return None if opened else (around[0][1] if around else held) or None
