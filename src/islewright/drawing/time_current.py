"""Time against current of the devices that a fault meets, with the faults of both modes.

A device is an area between the earliest and the latest time that its standard allows,
stepped at the standard's gates: nothing is claimed between them. Faults are pairs of
upright lines, solid for grid mode and dashed for island mode.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from islewright.drawing.axes import Axis, Plot, place_name
from islewright.drawing.bands import Band, Namer, cells
from islewright.drawing.ink import INK, NOTE, NOTE_STRONG, PAPER, Stroke
from islewright.drawing.svg import Box, Canvas, Point, measure

WIDTH, HEIGHT = 84.0, 90.0
LEFT, RIGHT, TOP, FOOT = 9.5, 82.5, 11.5, 82.0
EARLIEST_S, LATEST_S = 0.01, 10000.0
#: ends of a current axis that read well [A]
_ENDS = tuple(m * 10.0**e for e in range(-3, 6) for m in (1, 2, 5))
_EDGE, _SOLID, _DASHED = Stroke(0.35), Stroke(0.4), Stroke(0.4, dash=(1.6, 0.9))


@dataclass(frozen=True, slots=True, kw_only=True)
class Current:
    """Earth fault currents of one mode, from the weakest to the largest [A]."""

    mode: str
    low_a: float
    high_a: float
    limited: bool = False

    @property
    def words(self) -> str:
        """Mode and figures: "grid mode 158 to 690 A"."""
        low, high = _amps(self.low_a), _amps(self.high_a)
        if self.limited:
            return f"{self.mode} ≤ {high} A"
        return f"{self.mode} {high} A" if low == high else f"{self.mode} {low} to {high} A"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """The inverter gives up between two times [s] at a current [A]."""

    at_a: float
    earliest_s: float
    latest_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """Devices in series, nearest to the load first, and what they meet."""

    title: str
    bands: tuple[Band, ...]
    currents: tuple[Current, ...]
    allowed_s: float
    stop: Stop | None = None


def time_current(chain: Chain) -> str:
    """Chart of 84 x 90 mm."""
    return chain_canvas(chain).to_svg()


def chain_canvas(chain: Chain) -> Canvas:
    """The chart with its geometry."""
    canvas = Canvas(WIDTH, HEIGHT, f"Time and current: {chain.title}")
    plot = plot_of(chain)
    field = Box("field", LEFT, TOP, RIGHT, FOOT)
    plot.frame(canvas)
    for number, band in enumerate(chain.bands):
        _draw_band(canvas, plot, band, number)
    lines = _allowed(canvas, plot, chain.allowed_s)
    for number, current in enumerate(chain.currents):
        lines += _current(canvas, plot, current, row=number)
    if chain.stop is not None:
        lines.append(_stop(canvas, plot, chain.stop))
    plot.scales(canvas, "current, A r.m.s.", "time, s")
    _names(canvas, plot, chain, field, lines)
    return canvas


def plot_of(chain: Chain) -> Plot:
    """The field of a chart; times are the same on all, currents reach as far as they must."""
    low, high = _reach(chain)
    return Plot(Axis(low, high, LEFT, RIGHT), Axis(EARLIEST_S, LATEST_S, FOOT, TOP))


def _reach(chain: Chain) -> tuple[float, float]:
    """Ends of the current axis: what the devices begin at, what flows at most."""
    flows = [a for c in chain.currents for a in (c.low_a, c.high_a) if a > 0]
    gates = [a for b in chain.bands if not b.residual for a, _s in (*b.earliest, *b.latest)]
    low = min([*flows, *gates], default=1.0) * 0.7
    high = max([*flows, *gates], default=1000.0) * 2.5
    return (
        max((end for end in _ENDS if end <= low), default=_ENDS[0]),
        min((end for end in _ENDS if end >= high), default=_ENDS[-1]),
    )


# ------------------------------------------------------------------------- devices
def _draw_band(canvas: Canvas, plot: Plot, band: Band, number: int) -> None:
    pieces = list(cells(plot, band))
    if not pieces:
        return
    top = [p for left, right, _e, late in pieces for p in ((left, late), (right, late))]
    low = [p for left, right, early, _l in pieces for p in ((left, early), (right, early))]
    corners = [plot.point(a, s) for a, s in (*top, *reversed(low))]
    curve = "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in corners) + "Z"
    with canvas.ground(f"device {band.name}", band.name):
        fill = "#C9CED3" if number == 0 and not band.residual else "none"
        around = (corners[0], corners[-1])
        if fill != "none":
            canvas.path(curve, around, Stroke(0.0, "none", fill=fill))
        for left, right, early, late in pieces:
            box = Box("", plot.x.at(left), plot.y.at(late), plot.x.at(right), plot.y.at(early))
            kind = "level" if band.residual else _SLANTS.get(number, "")
            canvas.lines(_strokes(box, kind), Stroke(0.13, INK))
        canvas.path(curve, around, _EDGE)


#: how the devices upstream are told apart; the nearest has a tone, an RCD level strokes
_SLANTS = {1: "rising", 2: "rising", 3: "falling", 4: "falling"}
_APART = 1.8


def _strokes(box: Box, kind: str) -> Iterator[list[Point]]:
    """Level or slanting strokes that fill a box, in step with those of its neighbours."""
    if kind == "level":
        for n in range(math.ceil(box.top / 0.9), math.floor(box.bottom / 0.9) + 1):
            yield [(box.left, n * 0.9), (box.right, n * 0.9)]
    elif kind:
        # along a stroke x + y (rising) or x - y (falling) stays the same
        sign = 1.0 if kind == "rising" else -1.0
        ends = sorted((sign * box.top, sign * box.bottom))
        first = math.ceil((box.left + ends[0]) / _APART)
        for n in range(first, math.floor((box.right + ends[1]) / _APART) + 1):
            c = n * _APART
            left = max(box.left, c - ends[1])
            right = min(box.right, c - ends[0])
            if right > left:
                yield [(left, sign * (c - left)), (right, sign * (c - right))]


# ------------------------------------------------------------------------- faults
def _allowed(canvas: Canvas, plot: Plot, allowed_s: float) -> list[Box]:
    if not math.isfinite(allowed_s):
        return []
    y = plot.y.at(allowed_s)
    with canvas.group("allowed time", f"{allowed_s:g} s allowed"):
        canvas.line([(LEFT, y), (RIGHT, y)], Stroke(0.5))
    return [Box("time allowed", LEFT, y - 0.25, RIGHT, y + 0.25)]


def _current(canvas: Canvas, plot: Plot, current: Current, *, row: int) -> list[Box]:
    """A pair of lines under a head; mode and figures above; gives where the lines run."""
    grid = current.mode.startswith("grid")
    left, right = plot.x.at(current.low_a), plot.x.at(current.high_a)
    head, fill = TOP - 1.5 - 1.7 * row, Stroke(0.25, fill=INK if grid else PAPER)
    with canvas.group(current.mode, current.words):
        for x in dict.fromkeys((left, right)):
            canvas.line([(x, head + 1.1), (x, FOOT)], _SOLID if grid else _DASHED)
        wide = max(1.1, right - left)
        corner = ((left + right - wide) / 2, head)
        with canvas.symbol(f"head of {current.mode}"):
            canvas.rect(corner, (wide, 1.1), fill)
        words, y = current.words, 2.6 + 3.5 * (1 - row)
        x = min(corner[0], WIDTH - measure(words, NOTE_STRONG) - 2.4)
        with canvas.symbol(f"sign of {current.mode}"):
            canvas.rect((x, y - 1.5), (1.1, 1.1), fill)
        canvas.text((x + 2.1, y), words, NOTE_STRONG)
    return [Box(current.mode, x - 0.2, TOP, x + 0.2, FOOT) for x in (left, right)]


def _stop(canvas: Canvas, plot: Plot, stop: Stop) -> Box:
    x = plot.x.at(stop.at_a)
    top, foot = plot.y.at(stop.latest_s), plot.y.at(max(stop.earliest_s, EARLIEST_S))
    top = min(top, foot - 0.8)
    with canvas.symbol("inverter stops", "the inverter stops"):
        canvas.rect((x - 0.9, top), (1.8, foot - top), Stroke(0.1, fill=INK))
    return Box("inverter stops", x - 0.9, top, x + 0.9, foot)


# ------------------------------------------------------------------------- names
def _names(canvas: Canvas, plot: Plot, chain: Chain, field: Box, lines: Sequence[Box]) -> None:
    """Each name stands on what it names; the time allowed on its own line's end."""
    if math.isfinite(chain.allowed_s):
        words, y = f"{chain.allowed_s:g} s allowed", plot.y.at(chain.allowed_s)
        half = measure(words, NOTE_STRONG) / 2
        spots = [(x, y + dy) for dy in (-2.2, 2.4) for x in _across(LEFT + half, RIGHT - half)]
        place_name(canvas, words, NOTE_STRONG, spots, field=field, keep_off=lines)
    if chain.stop is not None:
        x, (top, foot) = plot.x.at(chain.stop.at_a), (lines[-1].top, lines[-1].bottom)
        middles = ((top + foot) / 2, top + 1, foot - 1, top - 1, foot + 1, top - 3.5, foot + 3.5)
        for words in ("inverter stops", "stops"):
            half = measure(words, NOTE) / 2 + 1.8
            spots = [(x + side * half, y) for y in middles for side in (1, -1)]
            if place_name(canvas, words, NOTE, spots, field=field, keep_off=lines):
                break
    Namer(canvas, plot, chain.bands, field, lines).name_all()


def _across(left: float, right: float) -> list[float]:
    """Places from the right end to the left one."""
    return [right - (right - left) * n / 24 for n in range(25)]


def _amps(amps: float) -> str:
    return f"{amps:.0f}" if amps >= 30 else f"{amps:.3g}"
