"""Proof that nothing on a drawing meets: texts, symbols, strokes, edges of the sheet."""

from __future__ import annotations

from itertools import combinations

#: strokes may touch the white round a letter, but not its body
GRAZE = 0.05


def collisions(canvas):
    """All pairs that meet, in words; empty for a drawing that can be read."""
    geometry = canvas.geometry
    found = [
        f"{a.what!r} meets {b.what!r}" for a, b in combinations(geometry.texts, 2) if a.meets(b)
    ]
    found += [
        f"{text.what!r} meets the symbol {symbol.what!r}"
        for text in geometry.texts
        for symbol in geometry.symbols
        if text.meets(symbol)
    ]
    found += [
        f"{text.what!r} is crossed by a {stroke.what}"
        for text in geometry.texts
        for stroke in geometry.strokes
        if text.meets(stroke, by=GRAZE)
    ]
    found += [
        f"{box.what!r} leaves the sheet"
        for box in [*geometry.texts, *geometry.symbols]
        if not box.within(canvas.width, canvas.height)
    ]
    found += [
        f"the symbols {a.what!r} and {b.what!r} lie on each other"
        for a, b in combinations(geometry.symbols, 2)
        if a.meets(b, by=0.6) and "boundary" not in {a.what, b.what}
    ]
    return found
