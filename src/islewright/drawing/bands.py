"""A device on a chart of time and current: the area between its gates, and its name.

A name stands upon its band where that lies alone, else beside all bands with a level pointer.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from islewright.drawing.axes import Plot, place_name
from islewright.drawing.ink import INK, NOTE, NOTE_STRONG, Stroke
from islewright.drawing.svg import Box, Canvas, Point, measure

Step = tuple[float, float]
#: upper and lower edge of a band at each millimetre [mm]
Columns = list[tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One device: its gates as (current [A], time [s]), and whether it sees residual current."""

    name: str
    earliest: tuple[Step, ...]
    latest: tuple[Step, ...]
    residual: bool = False

    def times_s(self, amps: float) -> Step:
        """Earliest and latest time at a current that is no gate [s]."""
        early = next((s for a, s in self.earliest if amps <= a), 0.0)
        late = min((s for a, s in self.latest if amps >= a), default=math.inf)
        return early, late


def cells(plot: Plot, band: Band) -> Iterator[tuple[float, float, float, float]]:
    """Pieces of a band between two gates: left, right, earliest, latest in values."""
    x, y = plot.x, plot.y
    gates = {a for a, _s in (*band.earliest, *band.latest) if x.low < a < x.high}
    for left, right in pairwise(sorted({x.low, x.high, *gates})):
        early, late = band.times_s(math.sqrt(left * right))
        if early < y.high and late > y.low:
            yield left, right, max(early, y.low), min(late, y.high)


#: steps across and down in which the last resort looks for room [mm]
_FINE, _ROWS = 0.1, 3.0


class Namer:
    """Finds a place for the name of each band.

    `field` is where names may stand, `crossing` are lines that none may cover.
    """

    def __init__(
        self,
        canvas: Canvas,
        plot: Plot,
        bands: Sequence[Band],
        field: Box,
        crossing: Sequence[Box],
    ) -> None:
        self.canvas, self.plot, self.bands, self.field = canvas, plot, bands, field
        self.crossing = list(crossing)
        self.lines = [*crossing, *(box for band in bands for box in _outline(plot, band))]
        self.columns = [_columns(plot, band) for band in bands]

    def name_all(self) -> None:
        """Set each name, from what reads best to what is left."""
        for number, band in enumerate(self.bands):
            others = [c for n, c in enumerate(self.columns) if n != number]
            spots = _by_cover(_on_band(self.plot, band), others)
            if self._upon(band, [at for at, covers in spots if covers == 0], self.lines):
                continue
            places = _by_cover(_raster(self.plot, band), others)
            alone = [at for at, covers in places if covers == 0]
            anchors = [at for at, _covers in (*spots, *places)]
            _ = (
                self._beside(band, anchors, alone=True)
                or self._upon(band, alone, self.crossing)
                or self._beside(band, anchors, alone=False)
                or self._upon(band, anchors, self.crossing)
                or self._anywhere(band, anchors)
            )

    def _upon(self, band: Band, spots: Iterable[Point], keep_off: Sequence[Box]) -> bool:
        room = place_name(
            self.canvas, band.name, NOTE_STRONG, spots, field=self.field, keep_off=keep_off
        )
        return room is not None

    def _anywhere(self, band: Band, anchors: Sequence[Point]) -> bool:
        """Wherever the field has room, nearest first, in lighter letters, slanting pointer."""
        if not anchors:
            return False
        to = next((at for at in anchors if not any(_near(at, e) for e in self.lines)), anchors[0])
        half, field = measure(band.name, NOTE) / 2, self.field
        columns = range(int((field.right - field.left - 2 * half) / _FINE) + 1)
        rows = range(int((field.bottom - field.top) / _ROWS))
        free = [
            (field.left + half + _FINE * x, field.top + _ROWS * y) for x in columns for y in rows
        ]
        for at in sorted(free, key=lambda at: (math.dist(at, to), at)):
            if place_name(self.canvas, band.name, NOTE, [at], field=field, keep_off=self.crossing):
                start = at[0] + math.copysign(half + 0.6, to[0] - at[0])
                _pointer(self.canvas, to, start, at[1])
                return True
        return False

    def _beside(self, band: Band, anchors: Iterable[Point], *, alone: bool) -> bool:
        """Off all bands if `alone`, with a pointer to a place that can mean one band only."""
        half = measure(band.name, NOTE_STRONG) / 2
        clear = (at for at in anchors if not any(_near(at, edge) for edge in self.lines))
        for x, y in itertools.islice(clear, _ANCHORS):
            for step, side in itertools.product(range(1, 36), (1, -1)):
                at = (x + side * (half + 2.0 * step), y)
                ends = [(at[0] + half * n, y) for n in (-1, 0, 1)]
                inside = self.field.left < ends[0][0] and ends[2][0] < self.field.right
                if not inside or (alone and any(_covered(self.columns, end) for end in ends)):
                    continue
                if self._upon(band, [at], self.lines if alone else self.crossing):
                    _pointer(self.canvas, (x, y), at[0] - side * (half + 0.6))
                    return True
        return False


def _by_cover(spots: Iterable[Point], others: Sequence[Columns]) -> list[tuple[Point, int]]:
    """Places, those that fewest other bands cover first, with how many do."""
    told = [(at, _covered(others, at)) for at in spots]
    return sorted(told, key=lambda spot: spot[1])


def _near(at: Point, edge: Box) -> bool:
    """Whether a pointer's dot would touch an edge, and so might mean its other side."""
    x, y = at
    return edge.left - 0.7 < x < edge.right + 0.7 and edge.top - 0.7 < y < edge.bottom + 0.7


def _pointer(canvas: Canvas, to: Point, start_x: float, start_y: float | None = None) -> None:
    """A dot on the band and a line to its name, level unless told otherwise."""
    with canvas.ground("pointer"):
        canvas.line([to, (start_x, to[1] if start_y is None else start_y)], Stroke(0.25))
        canvas.circle(to, 0.5, Stroke(0.1, fill=INK))


def _on_band(plot: Plot, band: Band) -> Iterator[Point]:
    """Places within a band, roomiest piece first."""
    pieces = [
        Box("", plot.x.at(a), plot.y.at(late), plot.x.at(b), plot.y.at(early))
        for a, b, early, late in cells(plot, band)
    ]
    pieces.sort(key=lambda c: -(min(c.right - c.left, 16) * min(c.bottom - c.top, 8)))
    for cell in pieces:
        for down in (0.5, 0.3, 0.7, 0.15, 0.85, 0.05, 0.95):
            for along in (0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6, 0.22, 0.78, 0.08, 0.92):
                yield (
                    cell.left + along * (cell.right - cell.left),
                    cell.top + down * (cell.bottom - cell.top),
                )


def _raster(plot: Plot, band: Band) -> list[Point]:
    """Places on a band in steps of two millimetres."""
    found = []
    for a, b, early, late in cells(plot, band):
        left, right, top, foot = plot.x.at(a), plot.x.at(b), plot.y.at(late), plot.y.at(early)
        for down in range(int((foot - top) // 2) + 1):
            found += [(left + 2 * n, top + 2 * down) for n in range(int((right - left) // 2) + 1)]
    return found


#: places on a band from which a pointer is tried
_ANCHORS = 40


def _columns(plot: Plot, band: Band) -> Columns:
    """Upper and lower edge of a band at each whole millimetre of the sheet."""
    x, y = plot.x, plot.y
    pieces = list(cells(plot, band))
    found = []
    for mm in range(math.ceil(x.end) + 1):
        share = (mm - x.start) / (x.end - x.start)
        amps = x.low * (x.high / x.low) ** share
        cell = next((c for c in pieces if c[0] <= amps <= c[1]), None)
        found.append((y.at(cell[3]), y.at(cell[2])) if cell else (math.inf, -math.inf))
    return found


def _covered(bands: Sequence[Columns], at: Point) -> int:
    """How many devices lie at a place: a name stands best where it can mean one."""
    column = round(at[0])
    return sum(
        0 <= column < len(band) and band[column][0] - 1.2 <= at[1] <= band[column][1] + 1.2
        for band in bands
    )


def _outline(plot: Plot, band: Band) -> Iterator[Box]:
    """Edges of a band, which a name keeps off where it can."""
    before: tuple[float, float] | None = None
    for a, b, early, late in cells(plot, band):
        left, right = plot.x.at(a), plot.x.at(b)
        top, foot = plot.y.at(late), plot.y.at(early)
        for y in (top, foot):
            yield Box("edge", left, y - 0.2, right, y + 0.2)
        upper, lower = before or (top, foot)
        for y0, y1 in ((upper, top), (lower, foot)) if before else ((top, foot),):
            yield Box("edge", left - 0.2, min(y0, y1), left + 0.2, max(y0, y1))
        before = (top, foot)
