"""What each symbol after IEC 60617 looks like, and its number in the data base.

Numbers and descriptions are from memory, in words of our own; nobody has held them against
the data base yet. The tests hold the drawings against the descriptions.
"""

from __future__ import annotations

from typing import NamedTuple


class Described(NamedTuple):
    """One symbol: number in the data base, how it looks, how far that is confirmed."""

    number: str
    looks: str
    confirmed: str


MEMORY, FAIRLY = "memory", "memory, fairly sure"

DESCRIBED = {
    "circuit-breaker": Described("S00287", "a make contact with a cross at its fixed end", MEMORY),
    "switch-disconnector": Described(
        "S00290", "a make contact with a bar and a ring at its fixed end", FAIRLY
    ),
    "residual current device": Described(
        "composed", "a make contact, a ring round the conductors, a dashed link between", MEMORY
    ),
    "fuse": Described("S00362", "a slim rectangle with the line through its length", MEMORY),
    "junction": Described("S00016", "a filled dot", FAIRLY),
    "earth": Described("S00200", "three strokes side by side, each shorter than the last", MEMORY),
    "protective earth": Described("S00202", "the sign of earth inside a circle", FAIRLY),
    "transformer": Described("S00841", "two equal circles that overlap", FAIRLY),
    "inverter": Described(
        "S00896", "a square with a diagonal, a.c. on one side of it, d.c. on the other", FAIRLY
    ),
    "battery": Described(
        "S00898", "a long thin and a short thick plate for each cell, in turn", FAIRLY
    ),
    "generator": Described("S00819", "a circle with the letter G in it", FAIRLY),
    "PV generator": Described(
        "S00908", "ours is a stand-in: a box with an arrowhead of light", "not remembered"
    ),
}
