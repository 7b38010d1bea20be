"""Proof that nothing on a drawing meets: texts, symbols, strokes, edges of the sheet."""

from __future__ import annotations

from collections import defaultdict

#: a stroke may come this near into a text's box, which is a little wider than its letters [mm]
GRAZE = 0.05
#: parts of one assembly may touch, such as a device and the dot of its bus [mm]
TOUCH = 0.6
_BAND = 5.0


def collisions(canvas):
    """All pairs that meet, in words; empty for a drawing that can be read."""
    geometry = canvas.geometry
    texts, symbols, strokes = geometry.texts, geometry.symbols, geometry.strokes
    found = [f"{a.what!r} meets {b.what!r}" for a, b in meeting(texts, texts)]
    found += [f"{a.what!r} meets the symbol {b.what!r}" for a, b in meeting(texts, symbols)]
    found += [f"{a.what!r} is crossed by a {b.what}" for a, b in meeting(texts, strokes, by=GRAZE)]
    found += [
        f"the symbols {a.what!r} and {b.what!r} lie on each other"
        for a, b in meeting(symbols, symbols, by=TOUCH)
    ]
    found += [
        f"{box.what!r} leaves the sheet"
        for box in [*texts, *symbols]
        if not box.within(canvas.width, canvas.height)
    ]
    return found


def meeting(some, others, *, by=0.0):
    """Pairs of boxes that meet, each once; looked for in bands, so that it stays quick."""
    bands = defaultdict(list)
    for index, box in enumerate(others):
        for band in range(int(box.top // _BAND), int(box.bottom // _BAND) + 1):
            bands[band].append((index, box))
    pairs = {}
    for first, a in enumerate(some):
        for band in range(int(a.top // _BAND), int(a.bottom // _BAND) + 1):
            for second, b in bands[band]:
                if (some is not others or first < second) and a.meets(b, by=by):
                    pairs[first, second] = (a, b)
    return list(pairs.values())
