"""What the inverter gives for how long, beside what runs and what starts.

The limit is the area that the maker's figures allow; running loads are a line through it,
each start a bar as long as it lasts, standing on the rest of the load.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from islewright.drawing.axes import Axis, Plot, place_name
from islewright.drawing.ink import NOTE, NOTE_STRONG, Stroke
from islewright.drawing.svg import Box, Canvas, measure

WIDTH, HEIGHT = 84.0, 84.0
LEFT, RIGHT, TOP, FOOT = 9.5, 82.5, 6.5, 75.0
SHORTEST_S, LONGEST_S = 0.1, 36000.0
#: from one name to the next below it [mm]
_LINE = 3.4
#: steps of an axis of power that read well [kVA]
_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gives:
    """A power [VA] that is given for a time [s]; inf for good."""

    name: str
    va: float
    for_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Starting:
    """A load that starts: the whole demand meanwhile [VA], and how long [s]; NaN not known."""

    name: str
    va: float
    lasts_s: float


def power_time(
    title: str, gives: Sequence[Gives], running_va: float, starts: Sequence[Starting]
) -> str:
    """Chart of 84 x 84 mm."""
    return power_canvas(title, gives, running_va, starts).to_svg()


def power_canvas(
    title: str, gives: Sequence[Gives], running_va: float, starts: Sequence[Starting]
) -> Canvas:
    """The chart with its geometry."""
    canvas = Canvas(WIDTH, HEIGHT, f"Inverter's limits: {title}")
    most = max([running_va, *(g.va for g in gives), *(s.va for s in starts)]) / 1000 * 1.12
    step = next((s for s in _STEPS if most / s <= 8), _STEPS[-1])
    high = step * math.ceil(most / step)
    plot = Plot(Axis(SHORTEST_S, LONGEST_S, LEFT, RIGHT), Axis(0.0, high, FOOT, TOP, step=step))
    _area(canvas, plot, gives)
    plot.frame(canvas)
    _edge(canvas, plot, gives)
    lines = [_running(canvas, plot, running_va)]
    lines += [_start(canvas, plot, start) for start in starts]
    plot.scales(canvas, "for, s", "kVA")
    _names(canvas, plot, gives, running_va, starts, lines)
    return canvas


def _steps(gives: Sequence[Gives]) -> list[tuple[float, float, float]]:
    """Pieces of the limit: from, to [s], the most that is given for so long [VA]."""
    found, since = [], SHORTEST_S
    for until in sorted({min(g.for_s, LONGEST_S) for g in gives}):
        va = max(g.va for g in gives if g.for_s >= until)
        if until > since:
            found.append((since, until, va))
            since = until
    return found


def _area(canvas: Canvas, plot: Plot, gives: Sequence[Gives]) -> None:
    pieces = _steps(gives)
    top = [plot.point(t, va / 1000) for start, end, va in pieces for t in (start, end)]
    if not top:
        return
    corners = [(top[0][0], FOOT), *top, (top[-1][0], FOOT)]
    curve = "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in corners) + "Z"
    with canvas.ground("inverter", "what the inverter gives"):
        canvas.path(curve, (corners[0], corners[-1]), Stroke(0.0, "none", fill="#C9CED3"))


def _edge(canvas: Canvas, plot: Plot, gives: Sequence[Gives]) -> None:
    top = [plot.point(t, va / 1000) for start, end, va in _steps(gives) for t in (start, end)]
    if top:
        with canvas.ground("limit", "the most that is given for so long"):
            canvas.line(top, Stroke(0.5))


def _running(canvas: Canvas, plot: Plot, running_va: float) -> Box:
    y = plot.y.at(running_va / 1000)
    with canvas.ground("running", "what runs at the demand"):
        canvas.line([(LEFT, y), (RIGHT, y)], Stroke(0.8))
    return Box("running", LEFT, y - 0.4, RIGHT, y + 0.4)


def _start(canvas: Canvas, plot: Plot, start: Starting) -> Box:
    """A flat bar up to its height, dotted to the end where nobody knows how long it lasts."""
    y = plot.y.at(start.va / 1000)
    known = math.isfinite(start.lasts_s)
    end = plot.x.at(start.lasts_s if known else LONGEST_S)
    with canvas.ground(f"start of {start.name}", start.name):
        look = Stroke(0.5) if known else Stroke(0.5, dash=(0.5, 0.9))
        canvas.line([(LEFT, y), (end, y)], look)
        if known:
            canvas.line([(end, y - 1.0), (end, y + 1.0)], look)
    return Box(start.name, LEFT, y - 1.0, end + 0.25, y + 1.0)


def _names(
    canvas: Canvas,
    plot: Plot,
    gives: Sequence[Gives],
    running_va: float,
    starts: Sequence[Starting],
    lines: Sequence[Box],
) -> None:
    """Each name beside what it names."""
    field = Box("field", LEFT, TOP, RIGHT, FOOT)
    edges = [
        Box(
            "edge",
            plot.x.at(a),
            plot.y.at(va / 1000) - 0.4,
            plot.x.at(b),
            plot.y.at(va / 1000) + 0.4,
        )
        for a, b, va in _steps(gives)
    ]
    keep = [*lines, *edges]
    y = plot.y.at(running_va / 1000)
    _beside(canvas, "running, at the demand", RIGHT, y, field, keep)
    _starts_named(canvas, plot, starts, running_va, field, lines)
    for give in gives:
        y = plot.y.at(give.va / 1000)
        words = give.name
        half = measure(words, NOTE_STRONG) / 2
        end = plot.x.at(min(give.for_s, LONGEST_S))
        spots = [(end - half - 1 - n, y + d) for n in range(12) for d in (2.6, -2.2)]
        spots += [(end + half + 1 + n, y + d) for n in range(12) for d in (-2.2, 0.0, 2.6)]
        place_name(canvas, words, NOTE_STRONG, spots, field=field, keep_off=keep)


def _starts_named(
    canvas: Canvas,
    plot: Plot,
    starts: Sequence[Starting],
    running_va: float,
    field: Box,
    keep: Sequence[Box],
) -> None:
    """Names in a column beside the bars, in their order, each led to where its own bar ends."""
    told = sorted(starts, key=lambda start: -start.va)
    ends = [plot.x.at(s.lasts_s) if math.isfinite(s.lasts_s) else LEFT for s in told]
    heights = [plot.y.at(start.va / 1000) for start in told]
    wanted = _spread(heights, lowest=plot.y.at(running_va / 1000) - 0.8 * _LINE)
    column = max(ends, default=LEFT) + 4.0
    for start, end, y, near in zip(told, ends, heights, wanted, strict=True):
        known = math.isfinite(start.lasts_s)
        words = start.name if known else f"{start.name}, how long?"
        half = measure(words, NOTE) / 2
        spots = [(column + half, near + d) for d in (0.0, 0.5, -0.5, 1.0, -1.0, 2.0, -2.0)]
        spots += [(end - 1.0 - half, y - 2.2), (end - 1 - half, y + 2.4)]
        spots += [(x, y + d) for d in (-2.2, 2.4) for x in _level(half)]
        box = place_name(canvas, words, NOTE, spots, field=field, keep_off=keep)
        if box is not None and known and box.left > end:
            with canvas.ground(f"name of {start.name}", start.name):
                to = (box.left, (box.top + box.bottom) / 2)
                canvas.line([(end + 0.25, y), to], Stroke(0.18))


def _spread(heights: Sequence[float], *, lowest: float) -> list[float]:
    """Heights from top to bottom, moved apart by a line and kept above the lowest [mm]."""
    found = list(heights)
    for n in range(1, len(found)):
        found[n] = max(found[n], found[n - 1] + _LINE)
    limit = lowest
    for n in reversed(range(len(found))):
        found[n] = min(found[n], limit)
        limit = found[n] - _LINE
    return found


def _beside(
    canvas: Canvas, words: str, right: float, y: float, field: Box, keep: Sequence[Box]
) -> None:
    half = measure(words, NOTE_STRONG) / 2
    spots = [(right - half - 1 - 2 * n, y + d) for n in range(25) for d in (-2.4, 2.6)]
    place_name(canvas, words, NOTE_STRONG, spots, field=field, keep_off=keep)


def _level(half: float) -> list[float]:
    """Places along a line, from left to right [mm]."""
    return [LEFT + half + 1 + 3 * n for n in range(22)]
