"""Which letters the fonts of the papers have, and what happens to those they lack.

A job may bear any name. Control characters vanish, and a letter that the fonts lack is
written in Latin letters by its sound, which the cover then owns up to.
"""

from __future__ import annotations

import html
import re
import unicodedata
from functools import lru_cache
from pathlib import Path
from typing import Any

from islewright.drawing.letters import STAND_IN, has, latin

#: a figure keeps its unit on its own line
_UNIT = re.compile(
    r"(?<=\d) (?=(?:[mkµ]?(?:A²s|A|V|VA|W|Wh|Ω|s|m)|mm²|mm|%|Hz|°C|min|h|N m)(?!\w))"
)
#: a sign stays with its figure, and a figure of five digits or more is told in threes
_SIGN = re.compile(r"(?<=[≤≥<>±=]) (?=[\d−])")
_LONG = re.compile(r"(?<![\w.])\d{5,}(?= (?:A²s|VA|A|V|W|Ω)\b)")
_MINUS = re.compile(r"(?<![\w)./])-(?=\d)")
_APOSTROPHE = re.compile(r"(?<=\w)'")

#: a blank at which no line ends
KEPT = "\u00a0"
#: what a usual page needs; spares reading the fonts (a test holds it against them)
USUAL = frozenset("Ω≤≥Δ√²³·−×°±≈→φθρμµ₀…–—‘’“”½¼§äöüÄÖÜßéèêàáâåæøñçíóúô")


def font_folders() -> list[Path]:
    """Folders of the two families, inside their installed packages."""
    import fontpkg_fira_sans
    import fontpkg_fira_sans_condensed

    packages = (fontpkg_fira_sans, fontpkg_fira_sans_condensed)
    return [Path(package.__file__).parent / "files" for package in packages]


class Letters:
    """Cleans every text of a page; remembers whether one had to give way."""

    def __init__(self) -> None:
        self.lost: set[str] = set()

    def clean(self, page: Any) -> Any:
        """The same lists and dicts with printable texts in them; in pictures no more changes."""
        if isinstance(page, str):
            return self._picture(page) if page.startswith("<svg") else self._text(page)
        if isinstance(page, dict):
            return {key: self.clean(value) for key, value in page.items()}
        if isinstance(page, list | tuple):
            return [self.clean(value) for value in page]
        return page

    def _text(self, text: str) -> str:
        text = _LONG.sub(lambda match: f"{int(match[0]):,}".replace(",", KEPT), text)
        text = _SIGN.sub(KEPT, _UNIT.sub(KEPT, _MINUS.sub("−", text)))
        text = _APOSTROPHE.sub("’", text)
        if text.isascii() and text.isprintable():
            return text
        text = unicodedata.normalize("NFC", text)
        return "".join(map(self._letter, text))

    def _picture(self, svg: str) -> str:
        """A drawing whose titles, too, are in letters of the fonts; its places stay."""
        if svg.isascii():
            return svg
        return "".join(c if c.isascii() else html.escape(self._letter(c)) for c in svg)

    def _letter(self, letter: str) -> str:
        if " " <= letter <= "~" or letter == KEPT or letter in USUAL or letter in printable():
            return letter
        if unicodedata.category(letter) in {"Zs", "Zl", "Zp", "Cc"}:
            return " "
        if unicodedata.category(letter) in {"Cf", "Cs", "Mn", "Me"}:
            return ""
        self.lost.add(letter)
        return latin(letter) or STAND_IN


@lru_cache(maxsize=1)
def printable() -> frozenset[str]:
    """Letters that both families have."""
    candidates = map(chr, [*range(0xA0, 0x600), *range(0x1E00, 0x2C80)])
    return frozenset(
        letter
        for letter in candidates
        if unicodedata.category(letter)[0] not in "CZM"
        and all(has(letter, condensed=narrow) for narrow in (True, False))
    )
