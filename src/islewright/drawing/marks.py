"""Marks beside a finding: a dot against a stroke is a value against its limit.

The stroke is the limit, the allowed side lies to its left. For a limit that is a least
value, limit over value is drawn, so that beyond is always to the right.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from islewright.drawing import ink
from islewright.drawing.ink import INK, NOTE, NOTE_STRONG, RULE, Letter, Stroke
from islewright.drawing.svg import Canvas, measure
from islewright.findings import Status
from islewright.units import show, show_apart

if TYPE_CHECKING:
    from islewright.findings import Finding

#: size of the limit mark [mm]
MARK_WIDE, MARK_TALL = 7.4, 3.2
#: on the scale the limit lies here, and the scale ends there [mm]
LIMIT_AT, SCALE_WIDE, SCALE_TALL = 40.0, 100.0, 11.0
_FILLED = Stroke(0.1, fill=INK)


def limit_mark(status: Status) -> str:
    """Mark of a status, 7.4 x 3.2 mm; told apart by shape alone.

    Met: a ring left of the stroke. Near: a dot that touches it. Not met: a larger dot
    beyond it. Undecided: a dotted stroke with a question mark.
    """
    canvas = Canvas(MARK_WIDE, MARK_TALL, status.value)
    x, y = 4.4, MARK_TALL / 2
    if status is Status.UNDECIDED:
        canvas.line([(x, 0.2), (x, MARK_TALL)], Stroke(0.5, dash=(0.5, 0.5)))
        canvas.text((x - 3.0, y + 1.0), "?", Letter(2.0, 600))
        return canvas.to_svg()
    canvas.line([(x, 0), (x, MARK_TALL)], ink.BLADE)
    if status is Status.MET:
        canvas.circle((x - 2.4, y), 0.65, Stroke(0.35))
    elif status is Status.NEAR:
        canvas.circle((x - 1.05, y), 0.8, _FILLED)
    else:
        canvas.circle((x + 1.7, y), 1.15, _FILLED)
    return canvas.to_svg()


def scale_bar(finding: Finding) -> str:
    """Value against limit to scale, 100 x 11 mm; empty text where there is no number.

    The limit stands at 40 mm. The bar is 1.2 mm high and 2.8 mm beyond the limit; a
    whisker on the bar's end shows the spread; a bar that would leave the scale is broken
    off by two slanting strokes.
    """
    canvas = scale_canvas(finding)
    return "" if canvas is None else canvas.to_svg()


def scale_canvas(finding: Finding) -> Canvas | None:
    """The scale with its geometry."""
    verdict = finding.verdict
    ends = _ends(finding)
    if ends is None:
        return None
    low, at, high = ends
    canvas = Canvas(SCALE_WIDE, SCALE_TALL, str(finding))
    y = 5.4
    canvas.line([(0, y), (SCALE_WIDE - 10, y)], Stroke(0.18, RULE))
    shown = min(at, SCALE_WIDE - 12)
    canvas.rect((0, y - 0.6), (min(shown, LIMIT_AT), 1.2), _FILLED)
    if shown > LIMIT_AT:
        canvas.rect((LIMIT_AT, y - 1.4), (shown - LIMIT_AT, 2.8), _FILLED)
    if at > shown:
        for step in (0.0, 1.2):
            x = shown - 3 + step
            canvas.line([(x, y + 1.8), (x + 0.9, y - 1.8)], Stroke(0.5, ink.PAPER))
    elif verdict.spread > 0:
        _whisker(canvas, low, at, min(high, SCALE_WIDE - 10), y)
    canvas.line([(LIMIT_AT, y - 2.4), (LIMIT_AT, y + 2.4)], ink.BLADE)
    _scale_words(canvas, finding, shown)
    return canvas


def _ends(finding: Finding) -> tuple[float, float, float] | None:
    """Lower end of the spread, value, upper end, in mm from the scale's origin."""
    value, limit, spread = finding.value, finding.limit, finding.verdict.spread
    if not all(map(math.isfinite, (value, limit, spread))) or limit <= 0 or value < 0:
        return None
    if not finding.verdict.at_least:
        points = (value - spread, value, value + spread)
        return tuple(LIMIT_AT * max(p, 0.0) / limit for p in points)  # type: ignore[return-value]
    if value <= 0:
        return None
    points = (value + spread, value, max(value - spread, limit / 10))
    return tuple(LIMIT_AT * limit / p for p in points)  # type: ignore[return-value]


def _whisker(canvas: Canvas, low: float, at: float, high: float, y: float) -> None:
    """Spread on the bar's own end: white within the bar, ink beyond it."""
    for end, tall, colour in ((low, 0.45, ink.PAPER), (high, 0.9, INK)):
        stroke = Stroke(0.25, colour)
        canvas.line([(at, y), (end, y)], stroke)
        canvas.line([(end, y - tall), (end, y + tall)], stroke)


def _scale_words(canvas: Canvas, finding: Finding, at: float) -> None:
    spread = finding.verdict.spread
    value, limit = show_apart(finding.value, finding.limit, finding.unit)
    if spread > 0:
        value = f"{value} ± {show(spread, finding.unit)}"
    wide = measure(value, NOTE_STRONG)
    canvas.text((min(max(at - wide / 2, 0), SCALE_WIDE - wide), 2.1), value, NOTE_STRONG)
    word = "at least" if finding.verdict.at_least else "limit"
    canvas.text((LIMIT_AT + 1.5, 9.8), f"{word} {limit}", NOTE)
