"""Where a residual current device sees an earth fault, and where none does, in both modes.

One row for each stretch of the installation, from the source to the loads. A heavy line
through a ring is a fault that a device sees; a thin one without a ring is one that none
sees; dots are what is not known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from islewright.drawing import ink, symbols
from islewright.drawing.ink import NAME, NOTE, NOTE_SECOND, NOTE_STRONG, Stroke
from islewright.drawing.svg import Canvas, wrap
from islewright.drawing.symbols import Frame

WIDTH, ROW, TOP = 175.0, 7.0, 9.0
#: where the lanes of both modes begin, and how wide a stroke is [mm]
LANES, STROKE = (62.0, 119.0), 15.0
_LANE = 56.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One stretch in one mode: seen (True), not seen (False), not known (None), or not fed."""

    seen: bool | None
    fed: bool
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A cable, or circuits of a board that share their devices; `depth` from the source."""

    name: str
    detail: str
    depth: int
    lanes: tuple[Lane, Lane]


def seen(stretches: Sequence[Stretch]) -> str:
    """Drawing of 175 mm width, 7 mm a row."""
    return seen_canvas(stretches).to_svg()


def seen_canvas(stretches: Sequence[Stretch]) -> Canvas:
    """The drawing with its geometry."""
    height = TOP + ROW * len(stretches) + 2
    canvas = Canvas(WIDTH, height, "Where a residual current device sees an earth fault")
    for x, mode in zip(LANES, ("Grid mode", "Island mode"), strict=True):
        canvas.text((x, 4.0), mode, NAME)
    canvas.line([(0, 6.0), (WIDTH, 6.0)], ink.HAIR)
    for number, stretch in enumerate(stretches):
        _row(canvas, stretch, TOP + ROW * (number + 0.5))
    return canvas


def _row(canvas: Canvas, stretch: Stretch, y: float) -> None:
    with canvas.group(f"stretch {stretch.name}", stretch.name):
        x = 2.0 + 4.0 * stretch.depth
        canvas.line([(x - 2.0, y - ROW / 2), (x - 2.0, y), (x, y)], Stroke(0.25, ink.SECOND))
        room = LANES[0] - x - 3.0
        name = wrap(stretch.name, NOTE_STRONG, room, lines=1)[0]
        canvas.text((x + 1.0, y - 0.2 if stretch.detail else y + 0.9), name, NOTE_STRONG)
        if stretch.detail:
            detail = wrap(stretch.detail, NOTE, room, lines=1)[0]
            canvas.text((x + 1.0, y + 2.7), detail, NOTE_SECOND)
        for at, lane in zip(LANES, stretch.lanes, strict=True):
            _lane(canvas, lane, at, y)


def _lane(canvas: Canvas, lane: Lane, x: float, y: float) -> None:
    words = x + STROKE + 1.5
    letter = NOTE if lane.seen or not lane.fed else NOTE_STRONG
    if lane.fed:
        stroke = {True: Stroke(0.8), False: ink.THIN, None: Stroke(0.35, dash=(0.35, 0.9))}
        canvas.line([(x, y), (x + STROKE, y)], stroke[lane.seen])
        if lane.seen:
            symbols.ring(canvas, Frame(x, y), 1.0, 6.0, tall=3.2)
        elif lane.seen is None:
            canvas.text((x + STROKE / 2 - 0.4, y - 0.9), "?", NOTE_STRONG)
    room = _LANE - STROKE - 3.0
    rows = wrap(lane.words, letter, room, lines=2)
    base = y + 0.9 if len(rows) == 1 else y - 0.5
    for n, row in enumerate(rows):
        canvas.text((words, base + 3.0 * n), row, letter)
