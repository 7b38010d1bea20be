"""Arithmetic in plain text, cut into runs so that it prints like a formula.

`Z_s = 0.31 Ω + 0.85 Ω` becomes an italic Z with an upright s below; the first equals sign
is what lines are aligned on. Only letters change their looks, never their order.
"""

from __future__ import annotations

import re

Run = tuple[str, str]

#: a quantity: one or two letters, an underscore, its index; or a letter that is squared
_QUANTITY = re.compile(
    r"(?<![\w_])([A-Za-zΔφθρμαλ]{1,2})_([A-Za-z0-9Δ₀]+(?:,[A-Za-z0-9]+)?)(?![A-Za-z0-9_])"
    r"|(?<![\w_])(?<!\d )([IZRSUk])(?=²)"
)
#: a letter by itself is one too, but behind a figure it is a unit
_ALONE = re.compile(r"(?<![\w_])(?<!\d )([A-ZΔφθρμα]|[km])(?![\w_])")


def runs(text: str, *, formula: bool = False) -> list[Run]:
    """Cut text into ("text" | "quantity" | "index", letters).

    `formula` makes single letters quantities too, as on the left of an equals sign.

    >>> runs("Z_s hot")
    [('quantity', 'Z'), ('index', 's'), ('text', ' hot')]
    """
    found: list[Run] = []
    at = 0
    for match in _QUANTITY.finditer(text):
        found += _plain(text[at : match.start()], formula=formula)
        found += [("quantity", match[1] or match[3])]
        found += [("index", match[2])] if match[2] else []
        at = match.end()
    return found + _plain(text[at:], formula=formula)


def _plain(text: str, *, formula: bool) -> list[Run]:
    if not formula:
        return [("text", text)] if text else []
    found: list[Run] = []
    at = 0
    for match in _ALONE.finditer(text):
        if match.start() > at:
            found.append(("text", text[at : match.start()]))
        found.append(("quantity", match[1]))
        at = match.end()
    return found + ([("text", text[at:])] if at < len(text) else [])


def arithmetic(line: str) -> dict[str, list[Run]]:
    """One line of arithmetic: what stands left of the first equals sign, and the rest."""
    left, sign, right = line.partition(" = ")
    if not sign or len(left) > 40:
        return {"left": [], "right": runs(line)}
    return {"left": runs(left, formula=True), "right": runs(right)}
