"""Graphical symbols after IEC 60617, one function each.

The numbers in `SECTIONS` are those of the old sections; all are from memory and say how
surely they are remembered. Those of the data base are in `described`. Every symbol
starts at the origin of its frame and runs along it, conductors end on whole modules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from islewright.drawing.ink import (
    BLADE,
    INK,
    LINK,
    PAPER,
    PLUM,
    SYMBOL,
    Alive,
    Letter,
    M,
    Position,
    Stroke,
)
from islewright.drawing.svg import Canvas, Point, measure

#: symbol -> (section of IEC 60617, how far it is confirmed)
SECTIONS = {
    "make contact": ("07-02-01", "from memory"),
    "circuit-breaker": ("07-13-05", "from memory, sure"),
    "switch-disconnector": ("07-13-08", "from memory, fairly sure"),
    "residual current device": ("composed of contact, ring and link", "from memory"),
    "fuse": ("07-21-01", "from memory, sure"),
    "junction": ("03-02-01", "from memory"),
    "boundary": ("02-01-06", "from memory"),
    "earth": ("02-15-01", "from memory, sure"),
    "protective earth": ("02-15-03", "from memory"),
    "transformer": ("06-09-01", "from memory, sure"),
    "inverter": ("06-14-05", "from memory, fairly sure"),
    "battery": ("06-15-01", "from memory"),
    "generator": ("06-04-01", "from memory, fairly sure"),
    "PV generator": ("not remembered", "our own stand-in"),
}

#: a blade that is open stands off by this angle [degrees]
LIFT = 20.0
_FILLED = Stroke(0.1, fill=INK)
_ON_PAPER = Stroke(0.35, fill=PAPER)


@dataclass(frozen=True, slots=True)
class Frame:
    """A place and a direction: `at(along, across)` with across to the right-hand side."""

    x: float
    y: float
    down: bool = False

    def at(self, along: float, across: float = 0.0) -> Point:
        """Sheet coordinates of a point of the frame [mm]."""
        if self.down:
            return (self.x - across, self.y + along)
        return (self.x + along, self.y + across)


def contact(
    canvas: Canvas,
    frame: Frame,
    length: float,
    closed: Position,
    wire: Stroke,
    *,
    end: str = "",
    blade: Stroke = BLADE,
) -> None:
    """Make contact; fixed end at the origin, hinge at `length` [mm].

    Closed is one unbroken line through both; open is a lifted blade with a gap; a position
    that is not known is a dotted stroke with a question mark beside it.
    `end` draws what the fixed end says: "breaker" or "switch".
    """
    if closed:
        canvas.line([frame.at(0), frame.at(length)], wire)
    elif closed is None:
        canvas.line([frame.at(0), frame.at(length)], Stroke(0.35, dash=(0.35, 0.9)))
        canvas.text(frame.at(length / 2 - 0.4, -0.7), "?", Letter(1.8, 600))
    else:
        tip = math.radians(LIFT)
        tip_at = frame.at(length - length * math.cos(tip), -length * math.sin(tip))
        canvas.line([tip_at, frame.at(length)], blade)
    canvas.circle(frame.at(length), 0.55 if length > 5 else 0.45, _FILLED)
    _fixed_end(canvas, frame, end)


def _fixed_end(canvas: Canvas, frame: Frame, end: str) -> None:
    if end == "breaker":
        for side in (-1.0, 1.0):
            canvas.line([frame.at(-1.0, side), frame.at(1.0, -side)], Stroke(0.4))
    elif end == "switch":
        canvas.line([frame.at(0, -1.4), frame.at(0, 1.4)], SYMBOL)
        canvas.circle(frame.at(0.6), 0.55, _ON_PAPER)


def breaker(
    canvas: Canvas, frame: Frame, wire: Stroke, *, closed: Position = True, length: float = 3 * M
) -> None:
    """Circuit-breaker: a contact with a cross at its fixed end."""
    with canvas.symbol("circuit-breaker"):
        contact(canvas, frame, length, closed, wire, end="breaker")


def switch_disconnector(
    canvas: Canvas, frame: Frame, wire: Stroke, *, closed: Position, length: float = 3 * M
) -> None:
    """Switch-disconnector: a contact with bar and ring at its fixed end."""
    with canvas.symbol("switch-disconnector"):
        contact(canvas, frame, length, closed, wire, end="switch")


def residual_device(
    canvas: Canvas,
    frame: Frame,
    wire: Stroke,
    *,
    closed: Position = True,
    length: float = 4.2,
    tall: float = 3.2,
) -> None:
    """Residual current device: contact, ring round the conductors, dashed link to the blade.

    Takes `length` + 3.2 mm along its frame.
    """
    with canvas.symbol("residual current device"):
        contact(canvas, frame, length, closed, wire)
        canvas.line([frame.at(length), frame.at(length + 3.2)], wire)
        ring(canvas, frame, length / 2, length + 1.8, tall=tall)


def ring(canvas: Canvas, frame: Frame, blade_at: float, ring_at: float, *, tall: float) -> None:
    """Sum-current ring round a line, linked to the blade that it opens."""
    with canvas.symbol("residual current ring"):
        radii = (tall / 2, 0.8) if frame.down else (0.8, tall / 2)
        canvas.ellipse(frame.at(ring_at), radii, SYMBOL)
        low = tall / 2 + 0.35
        corners = [frame.at(blade_at, 0.5), frame.at(blade_at, low), frame.at(ring_at, low)]
        canvas.line([*corners, frame.at(ring_at, tall / 2)], LINK)


def fuse(
    canvas: Canvas,
    frame: Frame,
    wire: Stroke,
    *,
    closed: Position = True,
    length: float = 3 * M,
    wide: float = M,
) -> None:
    """Fuse: a slim rectangle with the line through it; drawn out of its holder, a gap."""
    with canvas.symbol("fuse"):
        if closed is False:
            contact(canvas, frame, length, False, wire)
            return
        canvas.line([frame.at(0), frame.at(length)], wire)
        (x0, y0), (x1, y1) = frame.at(0, -wide / 2), frame.at(length, wide / 2)
        canvas.rect((min(x0, x1), min(y0, y1)), (abs(x1 - x0), abs(y1 - y0)), SYMBOL)


def junction(canvas: Canvas, at: Point) -> None:
    """Dot: conductors are joined here."""
    with canvas.symbol("junction"):
        canvas.circle(at, 0.8, _FILLED)


def earth(canvas: Canvas, at: Point, *, protective: bool = False) -> None:
    """Earth: three strokes that grow shorter; in a circle for a protective earth."""
    x, y = at
    with canvas.symbol("protective earth" if protective else "earth"):
        for step, half in enumerate((2.2, 1.4, 0.6)):
            canvas.line([(x - half, y + step), (x + half, y + step)], BLADE)
        if protective:
            canvas.circle((x, y + 0.4), 3.0, SYMBOL)


def transformer(canvas: Canvas, frame: Frame) -> None:
    """Transformer: two circles of 6 mm that overlap; takes 10 mm along its frame."""
    with canvas.symbol("transformer"):
        canvas.circle(frame.at(3), 3, SYMBOL)
        canvas.circle(frame.at(7), 3, SYMBOL)


def inverter(canvas: Canvas, corner: Point, *, side: float = 4 * M) -> None:
    """Inverter: square with a diagonal, a.c. on the left, d.c. on the right."""
    x, y = corner
    s = side
    with canvas.symbol("inverter"):
        canvas.rect(corner, (s, s), _ON_PAPER)
        canvas.line([(x, y + s), (x + s, y)], SYMBOL)
        wave(canvas, (x + 0.28 * s, y + 0.28 * s), 0.32 * s)
        left, right = x + 0.54 * s, x + 0.9 * s
        canvas.line([(left, y + 0.72 * s), (right, y + 0.72 * s)], SYMBOL)
        canvas.line([(left, y + 0.84 * s), (right, y + 0.84 * s)], Stroke(0.35, dash=(0.8, 0.5)))


def wave(canvas: Canvas, middle: Point, wide: float) -> None:
    """One period of a sine: alternating current."""
    x, y = middle
    h, q = 0.6 * wide, wide / 4
    curve = (
        f"M{x - 2 * q:.3f} {y:.3f}Q{x - q:.3f} {y - h:.3f} {x:.3f} {y:.3f}"
        f"Q{x + q:.3f} {y + h:.3f} {x + 2 * q:.3f} {y:.3f}"
    )
    canvas.path(curve, ((x - 2 * q, y - h / 2), (x + 2 * q, y + h / 2)), BLADE)


def battery(canvas: Canvas, frame: Frame) -> None:
    """Battery: two cells of a long thin and a short thick plate; takes 4 mm."""
    with canvas.symbol("battery"):
        for along in (0.4, 2.6):
            canvas.line([frame.at(along, -2.0), frame.at(along, 2.0)], SYMBOL)
            canvas.line([frame.at(along + 1, -1.1), frame.at(along + 1, 1.1)], Stroke(0.8))


def generator(canvas: Canvas, middle: Point) -> None:
    """Rotating machine that generates: a circle of 3.4 mm with the letter G in it."""
    x, y = middle
    strong = Letter(1.8, 600)
    with canvas.symbol("generator"):
        canvas.circle(middle, 1.7, Stroke(0.35, fill=PAPER))
        canvas.text((x - measure("G", strong) / 2, y + 0.9), "G", strong)


def pv_generator(canvas: Canvas, corner: Point) -> None:
    """PV generator, 5 x 4 mm: our own stand-in, a box with an arrowhead of light."""
    x, y = corner
    with canvas.symbol("PV generator"):
        canvas.rect(corner, (2 * M, 4), _ON_PAPER)
        canvas.line([(x, y), (x + M, y + 2), (x + 2 * M, y)], SYMBOL)


def letter_joint(canvas: Canvas, at: Point, letter: str, *, alive: Alive) -> None:
    """Where a conductor goes on at the same letter elsewhere (our own sign)."""
    x, y = at
    with canvas.symbol(f"goes on at {letter}"):
        canvas.circle(at, 1.7, Stroke(0.35, PLUM if alive else INK, fill=PAPER))
        strong = Letter(1.8, 600)
        canvas.text((x - measure(letter, strong) / 2, y + 0.9), letter, strong)


def bundle_entry(canvas: Canvas, at: Point, *, to_right: bool, stroke: Stroke) -> None:
    """A conductor leaves a bundle at 45 degrees, one module, no dot."""
    x, y = at
    canvas.line([(x, y - M), (x + (M if to_right else -M), y)], stroke)
