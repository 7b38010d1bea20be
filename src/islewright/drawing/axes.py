"""Charts with logarithmic axes: where a value lies, grid, scales, names that find their room.

Belongs here: what all charts share. Does not belong here: what any of them shows.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from islewright.drawing.ink import NOTE, NOTE_STRONG, RULE, SECOND, Letter, Stroke
from islewright.drawing.svg import Box, Canvas, Point, measure

GRID, DECADE, FRAME = Stroke(0.13, "#C9CED3"), Stroke(0.25, RULE), Stroke(0.25, SECOND)


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: values `low` to `high` lie from `start` to `end` [mm], by their logarithm.

    `step` makes it an even one, with a line of the grid at each step.
    """

    low: float
    high: float
    start: float
    end: float
    step: float = 0.0

    def at(self, value: float) -> float:
        """Where a value lies; what is beyond an end lies at the end [mm]."""
        if value <= self.low:
            return self.start
        if value >= self.high:
            return self.end
        if self.step:
            share = (value - self.low) / (self.high - self.low)
        else:
            share = math.log(value / self.low) / math.log(self.high / self.low)
        return self.start + share * (self.end - self.start)

    def ticks(self) -> Iterator[tuple[float, bool]]:
        """Values of the grid, and whether one begins a decade."""
        if self.step:
            for n in range(round((self.high - self.low) / self.step) + 1):
                yield self.low + n * self.step, True
            return
        decade = 10.0 ** math.floor(math.log10(self.low))
        while decade <= self.high:
            for n in range(1, 10):
                value = n * decade
                if self.low * 0.999 <= value <= self.high * 1.001:
                    yield value, n == 1
            decade *= 10


@dataclass(frozen=True, slots=True)
class Plot:
    """The field of a chart: currents, voltages or powers across, times upwards or the like."""

    x: Axis
    y: Axis

    def point(self, x: float, y: float) -> Point:
        """Sheet coordinates of a pair of values [mm]."""
        return self.x.at(x), self.y.at(y)

    def frame(self, canvas: Canvas) -> None:
        """Grid and edge."""
        rows = (self.y.start, self.y.end)
        columns = (self.x.start, self.x.end)
        with canvas.ground("grid"):
            for heavy, stroke in ((False, GRID), (True, DECADE)):
                upright = [self.x.at(v) for v, decade in self.x.ticks() if decade is heavy]
                level = [self.y.at(v) for v, decade in self.y.ticks() if decade is heavy]
                canvas.lines([[(at, y) for y in rows] for at in upright], stroke)
                canvas.lines([[(x, at) for x in columns] for at in level], stroke)
            size = (self.x.end - self.x.start, self.y.start - self.y.end)
            canvas.rect((self.x.start, self.y.end), size, FRAME)

    def scales(self, canvas: Canvas, across: str, upwards: str) -> None:
        """Figures along both axes and what they count, in the unit of the names."""
        left = self.x.start - 1.2
        taken: list[Box] = []
        for value, decade in [*self.y.ticks(), (self.y.low, True), (self.y.high, True)]:
            if decade:
                at = self.y.at(value) + NOTE.capital / 2
                _spaced(canvas, taken, (left, at), told(value), end=True)
        taken = []
        foot = self.y.start + 3.2
        ends = [(self.x.low, True), (self.x.high, True)]
        for value, decade in [*self.x.ticks(), *ends]:
            if decade:
                words = told(value)
                at = self.x.at(value) - measure(words, NOTE) / 2
                at = min(max(at, 0.0), canvas.width - measure(words, NOTE))
                _spaced(canvas, taken, (at, foot), words)
        canvas.text((0.0, self.y.end - 2.2), upwards, NOTE_STRONG)
        wide = measure(across, NOTE_STRONG)
        canvas.text(((self.x.start + self.x.end - wide) / 2, foot + 3.4), across, NOTE_STRONG)


def _spaced(canvas: Canvas, taken: list[Box], at: Point, words: str, *, end: bool = False) -> None:
    """A figure on a scale, left out where another one stands too near."""
    wide = measure(words, NOTE)
    left = at[0] - wide if end else at[0]
    box = Box(words, left - 0.8, at[1] - NOTE.capital - 0.4, left + wide + 0.8, at[1] + 0.4)
    if not any(box.meets(other) for other in taken):
        taken.append(box)
        canvas.text(at, words, NOTE, end=end)


def told(value: float) -> str:
    """A figure of a scale: 0.01, 100, 10 000.

    >>> told(1000), told(0.02)
    ('1000', '0.02')
    """
    return f"{value:,.0f}".replace(",", "\u2009") if value >= 10000 else f"{value:g}"


def place_name(
    canvas: Canvas,
    words: str,
    letter: Letter,
    spots: Iterable[Point],
    *,
    field: Box,
    keep_off: Sequence[Box],
) -> Box | None:
    """Set a name where it meets nothing, on paper of its own; try the spots in turn.

    A spot is the middle of the name. Returns the room it took, None where no spot was free.
    """
    wide = measure(words, letter)
    for x, y in spots:
        box = _box(words, (x, y), wide, letter)
        inside = (
            box.left >= field.left
            and box.right <= field.right
            and box.top >= field.top
            and box.bottom <= field.bottom
        )
        lies = [*canvas.geometry.texts, *canvas.geometry.symbols, *keep_off]
        if inside and not any(box.meets(other) for other in lies):
            canvas.paper(box)
            canvas.text((x - wide / 2, y + letter.capital / 2), words, letter)
            return box
    return None


def _box(words: str, middle: Point, wide: float, letter: Letter) -> Box:
    """Room that a name takes with a rim of paper around it."""
    (x, y), up = middle, letter.capital / 2
    return Box(words, x - wide / 2 - 0.6, y - up - 0.6, x + wide / 2 + 0.6, y + up + 0.8)
