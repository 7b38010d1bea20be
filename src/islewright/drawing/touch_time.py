"""Touch voltage against the time that it lasts, beside the times that are allowed for it.

The limit is stepped at its table's rows: a voltage between two rows is held to the time of
the higher one. A dot is an earth fault at the far end of one circuit.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from islewright.drawing.axes import Axis, Plot, place_name
from islewright.drawing.ink import INK, NOTE, NOTE_STRONG, PAPER, Stroke
from islewright.drawing.svg import Box, Canvas, measure

WIDTH, HEIGHT = 175.0, 92.0
LEFT, RIGHT, TOP, FOOT = 9.5, 172.0, 8.0, 83.0
EARLIEST_S, LATEST_S = 0.01, 20.0
_RING, _DOT = Stroke(0.35, fill=PAPER), Stroke(0.2, fill=INK)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """How long touch voltages may last: (voltage [V], time [s]), rising voltages."""

    name: str
    rows: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """One earth fault: its touch voltage [V] and when it is gone at the latest [s]."""

    name: str
    mode: str
    volts: float
    gone_s: float


def touch_time(limits: Sequence[Limit], touches: Sequence[Touch]) -> str:
    """Chart of 175 x 92 mm."""
    return touch_canvas(limits, touches).to_svg()


def touch_canvas(limits: Sequence[Limit], touches: Sequence[Touch]) -> Canvas:
    """The chart with its geometry."""
    canvas = Canvas(WIDTH, HEIGHT, "Touch voltage and time")
    top = max([500.0, *(t.volts for t in touches if math.isfinite(t.volts))])
    plot = Plot(
        Axis(EARLIEST_S, LATEST_S, LEFT, RIGHT), Axis(1.0, 500.0 if top <= 500 else 1000, FOOT, TOP)
    )
    plot.frame(canvas)
    lines = [box for n, limit in enumerate(limits) for box in _limit(canvas, plot, limit, n)]
    _key(canvas)
    plot.scales(canvas, "gone after, s", "touch voltage, V")
    dots = [_dot(canvas, plot, touch) for touch in touches]
    _names(canvas, plot, limits, touches, [*lines, *dots])
    return canvas


def _limit(canvas: Canvas, plot: Plot, limit: Limit, number: int) -> list[Box]:
    """Steps of a limit, what lies above them shaded for the first one."""
    corners: list[tuple[float, float]] = []
    rows = sorted(limit.rows)
    for n, (volts, allowed) in enumerate(rows):
        below = rows[n - 1][0] if n else volts
        corners += [(allowed, below), (allowed, volts)] if n else [(LATEST_S, volts)]
        if n + 1 < len(rows):
            corners.append((rows[n + 1][1], volts))
    points = [plot.point(*corner) for corner in corners]
    with canvas.ground(f"limit {limit.name}", limit.name):
        if number == 0:
            shape = [*points, plot.point(rows[-1][1], plot.y.high), plot.point(LATEST_S, 1e9)]
            curve = "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in shape) + "Z"
            canvas.path(curve, (points[0], points[-1]), Stroke(0.0, "none", fill="#C9CED3"))
        canvas.line(points, Stroke(0.5) if number == 0 else Stroke(0.5, dash=(1.6, 0.9)))
    return [
        Box("limit", min(a[0], b[0]) - 0.2, min(a[1], b[1]) - 0.2,
            max(a[0], b[0]) + 0.2, max(a[1], b[1]) + 0.2)
        for a, b in itertools.pairwise(points)
    ]  # fmt: skip


def _dot(canvas: Canvas, plot: Plot, touch: Touch) -> Box:
    x, y = plot.point(min(touch.gone_s, LATEST_S), max(touch.volts, plot.y.low))
    grid = touch.mode.startswith("grid")
    with canvas.ground(f"{touch.mode} {touch.name}", f"{touch.name}, {touch.mode}"):
        canvas.circle((x, y), 0.75, _DOT if grid else _RING)
    return Box(touch.name, x - 0.9, y - 0.9, x + 0.9, y + 0.9)


def _key(canvas: Canvas) -> None:
    x = 60.0
    for word, stroke in (("grid mode", _DOT), ("island mode", _RING)):
        with canvas.symbol(f"sign of {word}"):
            canvas.circle((x, 3.0), 0.75, stroke)
        x += 2.4 + canvas.text((x + 2.0, 3.9), word, NOTE) + 5


def _names(
    canvas: Canvas,
    plot: Plot,
    limits: Sequence[Limit],
    touches: Sequence[Touch],
    lines: Sequence[Box],
) -> None:
    """Limits on their own steps; faults by number, the highest voltages first."""
    field = Box("field", LEFT, TOP, RIGHT, FOOT)
    for limit in limits:
        low = min(limit.rows)
        x, y = plot.point(LATEST_S, low[0])
        half = measure(limit.name, NOTE_STRONG) / 2
        spots = [(x - half - 1.5 - 4 * n, y + side) for n in range(20) for side in (-2.4, 2.4)]
        place_name(canvas, limit.name, NOTE_STRONG, spots, field=field, keep_off=lines)
    for touch in sorted(touches, key=lambda t: (-t.volts, t.name)):
        x, y = plot.point(min(touch.gone_s, LATEST_S), max(touch.volts, plot.y.low))
        half = measure(touch.name, NOTE) / 2 + 1.8
        spots = [(x + half, y), (x - half, y), (x + half, y - 2), (x + half, y + 2)]
        place_name(canvas, touch.name, NOTE, spots, field=field, keep_off=lines)
