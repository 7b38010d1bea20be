"""Colours, stroke widths and text sizes of the drawings, in millimetres.

Black does the work; plum repeats what weight says and is worn by no conductor. Stroke
widths are the series of ISO 128 and capital heights that of ISO 3098 (both from memory);
0.8 mm and 2.2 mm are our own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

INK = "#16181B"
SECOND = "#4A5057"
RULE = "#8A9097"
PLUM = "#7A1F6B"
PAPER = "#FFFFFF"

#: alive, dead, or None where nobody has said
Alive: TypeAlias = bool | None
#: closed, open, or None where nobody has said
Position: TypeAlias = bool | None

#: the module: rails, rows and symbols sit on it [mm]
M = 2.5


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a line is drawn: width [mm], colour, dashes [mm]."""

    width: float
    colour: str = INK
    dash: tuple[float, ...] = ()
    fill: str = "none"


@dataclass(frozen=True, slots=True)
class Letter:
    """How a text is set: capital height [mm], weight, colour, narrow face or not."""

    capital: float
    weight: int = 400
    colour: str = INK
    condensed: bool = True

    @property
    def size(self) -> float:
        """Type size [mm]."""
        from islewright.drawing.letters import CAPITAL

        return self.capital / CAPITAL


THIN = Stroke(0.25)
SYMBOL = Stroke(0.35)
BLADE = Stroke(0.5)
PROTECTIVE = Stroke(0.35, dash=(2.5, 0.8))
BOUNDARY = Stroke(0.25, SECOND, dash=(6.0, 1.2, 0.6, 1.2))
LINK = Stroke(0.18, dash=(0.9, 0.6))
HAIR = Stroke(0.25, RULE)
HEAD = Stroke(0.5)
BOND = Stroke(0.8)

NOTE = Letter(1.8)
NOTE_SECOND = Letter(1.8, colour=SECOND)
NOTE_STRONG = Letter(1.8, 600)
NAME = Letter(2.2, 500)
BOARD = Letter(2.5, 500, condensed=False)
TITLE = Letter(5.0, 500, condensed=False)


def line(alive: Alive, *, width: float = 0.8) -> Stroke:
    """Stroke of a line conductor: alive heavy and plum, dead thin, not known dotted."""
    if alive is None:
        return Stroke(0.35, dash=(0.35, 0.9))
    return Stroke(width, PLUM) if alive else THIN


def neutral(alive: Alive) -> Stroke:
    """Stroke of a neutral beside lines that are alive, dead or not known.

    A neutral may carry current but is not what the plum warns of, so it stays in ink.
    """
    if alive is None:
        return Stroke(0.35, dash=(0.35, 0.9))
    return Stroke(0.5) if alive else THIN


def word(alive: Alive) -> str:
    """Alive, dead or not known."""
    return {True: "alive", False: "dead", None: "not known"}[alive]
