"""The letters of the drawings: which face, how wide a text runs, which letters it lacks.

Widths come straight out of the fonts' own tables, because a general font library spends
a second on each face before it can tell one of them.
"""

from __future__ import annotations

import struct
import unicodedata
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

#: capital height of both families over the type size, from their `OS/2` table
CAPITAL = 0.689
#: letters that stay on the line; any other may hang below it
_ON_LINE = frozenset("ABCDEFGHIKLMNOPRSTUVWXYZabcdefhiklmnorstuvwxz0123456789 .:–-+×·²Ωµ?…=≤≥")

#: letters that the table of sounds leaves silent, although they can carry a word
_SILENT = {"ا": "a"}
#: for a letter that no Latin one sounds like
STAND_IN = "?"

_WEIGHTS = {400: "Regular", 500: "Medium", 600: "SemiBold"}


class Face(NamedTuple):
    """One cut of a family: how wide each letter runs, per unit of type size."""

    advance: dict[int, float]
    missing: float


def face_file(weight: int, *, condensed: bool) -> Path:
    """Path of a face inside its installed package.

    Raises
    ------
    KeyError : a weight other than 400, 500 and 600
    """
    if condensed:
        import fontpkg_fira_sans_condensed as package

        family = "FiraSansCondensed"
    else:
        import fontpkg_fira_sans as package

        family = "FiraSans"
    return Path(str(package.__file__)).parent / "files" / f"{family}-{_WEIGHTS[weight]}.ttf"


def width(text: str, size: float, *, weight: int = 400, condensed: bool = True) -> float:
    """How wide a text runs, in the unit of `size`, without kerning.

    A letter that the face lacks is counted as a full square; a drawing has none such.
    """
    face = _face(weight, condensed)
    return size * sum(face.advance.get(ord(letter), face.missing) for letter in text)


def has(letter: str, *, condensed: bool = True) -> bool:
    """Whether the regular face can print this letter."""
    return ord(letter) in _face(400, condensed).advance


@lru_cache(maxsize=4096)
def latin(letter: str) -> str:
    """A letter itself where both families have it, else Latin letters that sound alike.

    No open font of moderate size holds every script, and what a font lacks can be neither
    measured nor printed. Empty where nothing sounds like it.

    >>> latin("ж"), latin("厨")
    ('ж', 'Chu')
    """
    if has(letter) and has(letter, condensed=False):
        return letter
    from anyascii import anyascii

    return anyascii(letter) or _SILENT.get(letter, "")


def drawable(text: str) -> str:
    """Text as one line in letters that can be measured and printed."""
    text = clean(text)
    return text if text.isascii() else "".join(latin(c) or STAND_IN for c in text)


def descent(text: str) -> float:
    """How far a text may hang below its line, over the type size."""
    return 0.02 if _ON_LINE.issuperset(text) else 0.21


def clean(text: str) -> str:
    """Text as one line of what a drawing can carry.

    Controls and marks that turn the direction of writing go: the first are not allowed in
    XML, the second could make a sheet read otherwise than the job.
    """
    if text.isascii() and text.isprintable():
        return text
    kept = (" " if letter.isspace() else letter for letter in unicodedata.normalize("NFC", text))
    joined = "".join(c for c in kept if unicodedata.category(c) not in {"Cc", "Cf", "Cs", "Cn"})
    return " ".join(joined.split())


@lru_cache(maxsize=8)
def _face(weight: int, condensed: bool) -> Face:  # noqa: FBT001 - a cache takes positions
    raw = face_file(weight, condensed=condensed).read_bytes()
    tables = _tables(raw)
    per_em = struct.unpack_from(">H", raw, tables["head"] + 18)[0]
    count = struct.unpack_from(">H", raw, tables["hhea"] + 34)[0]
    advances = struct.unpack_from(">" + "Hh" * count, raw, tables["hmtx"])[::2]
    last = count - 1
    wide = {c: advances[min(g, last)] / per_em for c, g in _glyphs(raw, tables["cmap"]).items()}
    return Face(wide, 1.0)


def _tables(raw: bytes) -> dict[str, int]:
    count = struct.unpack_from(">H", raw, 4)[0]
    rows = (struct.unpack_from(">4sIII", raw, 12 + 16 * i) for i in range(count))
    return {tag.decode("ascii"): offset for tag, _sum, offset, _length in rows}


def _glyphs(raw: bytes, cmap: int) -> dict[int, int]:
    """Map code points to glyphs, from the subtable of format 4 that every such font has."""
    count = struct.unpack_from(">H", raw, cmap + 2)[0]
    for i in range(count):
        at = cmap + struct.unpack_from(">HHI", raw, cmap + 4 + 8 * i)[2]
        if struct.unpack_from(">H", raw, at)[0] == 4:
            return _segments(raw, at)
    raise ValueError("the font has no character map of format 4")


def _segments(raw: bytes, at: int) -> dict[int, int]:
    n = struct.unpack_from(">H", raw, at + 6)[0] // 2
    ends = struct.unpack_from(f">{n}H", raw, at + 14)
    starts = struct.unpack_from(f">{n}H", raw, at + 16 + 2 * n)
    deltas = struct.unpack_from(f">{n}H", raw, at + 16 + 4 * n)
    ranges_at = at + 16 + 6 * n
    offsets = struct.unpack_from(f">{n}H", raw, ranges_at)
    found = {}
    for i in range(n):
        for code in range(starts[i], min(ends[i], 0xFFFE) + 1):
            glyph = code
            if offsets[i]:
                where = ranges_at + 2 * i + offsets[i] + 2 * (code - starts[i])
                glyph = struct.unpack_from(">H", raw, where)[0]
                if glyph == 0:
                    continue
            glyph = (glyph + deltas[i]) & 0xFFFF
            if glyph:
                found[code] = glyph
    return found
