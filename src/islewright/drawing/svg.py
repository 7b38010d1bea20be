"""A small writer of SVG that remembers where everything lies.

Every text, every symbol and every stroke leaves a box, so that a test can prove that
nothing meets. Lengths are millimetres from the upper left corner; the same calls give the
same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from xml.etree import ElementTree as ET

from islewright.drawing import letters
from islewright.drawing.ink import Letter, Stroke

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """Where something lies on the sheet [mm]; `what` names it in a test's message."""

    what: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box, *, by: float = 0.0) -> bool:
        """Whether both cover a common area, more than `by` [mm] deep."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > by
            and min(self.bottom, other.bottom) - max(self.top, other.top) > by
        )

    def within(self, width: float, height: float) -> bool:
        """Whether it lies on a sheet of this size."""
        return self.left >= 0 and self.top >= 0 and self.right <= width and self.bottom <= height


@dataclass(slots=True)
class Geometry:
    """What lies where: texts, symbols, and strokes outside of symbols."""

    texts: list[Box] = field(default_factory=list)
    symbols: list[Box] = field(default_factory=list)
    strokes: list[Box] = field(default_factory=list)


class Canvas:
    """One drawing.

    Parameters
    ----------
    width, height : size of the drawing [mm]
    title : what it shows, read out by screen readers
    prefix : begins every id, so that two drawings can stand in one page
    rim : white left around the drawing where it is shown by itself [mm]
    """

    def __init__(
        self, width: float, height: float, title: str, *, prefix: str = "", rim: float = 0.0
    ) -> None:
        self.width, self.height = width, height
        self.geometry = Geometry()
        self._prefix = prefix
        self._ids: dict[str, int] = {}
        self._root = ET.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "width": f"{_n(width + 2 * rim)}mm",
                "height": f"{_n(height + 2 * rim)}mm",
                "viewBox": f"{_n(-rim)} {_n(-rim)} {_n(width + 2 * rim)} {_n(height + 2 * rim)}",
                "role": "img",
            },
        )
        ET.SubElement(self._root, "title").text = letters.clean(title)
        self._into = self._root
        self._symbol: list[Box] | None = None
        self._ground = False

    # ------------------------------------------------------------------ grouping
    @contextmanager
    def group(self, name: str, title: str = "") -> Iterator[None]:
        """Everything drawn inside belongs together; gets an id, and a title where given."""
        outer = self._into
        self._into = ET.SubElement(outer, "g", {"id": self._id(name)})
        if title:
            ET.SubElement(self._into, "title").text = letters.clean(title)
        try:
            yield
        finally:
            self._into = outer

    @contextmanager
    def symbol(self, kind: str, title: str = "") -> Iterator[None]:
        """Everything drawn inside is one symbol and leaves one box."""
        if self._symbol is not None:  # part of a larger symbol
            yield
            return
        self._symbol = []
        try:
            with self.group(kind, title or kind):
                yield
        finally:
            parts, self._symbol = self._symbol, None
        if parts:
            self.geometry.symbols.append(_around(title or kind, parts))

    @contextmanager
    def ground(self, name: str, title: str = "") -> Iterator[None]:
        """Everything drawn inside lies beneath: a text on it brings its own paper."""
        self._ground = True
        try:
            with self.group(name, title):
                yield
        finally:
            self._ground = False

    # ------------------------------------------------------------------ shapes
    def line(self, points: Sequence[Point], stroke: Stroke) -> None:
        """Straight strokes through the points."""
        path = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        cap = "round" if stroke.dash and stroke.dash[0] < 0.5 else "butt"
        extra = {} if cap == "butt" else {"stroke-linecap": cap}
        self._add("polyline", {"points": path, **_look(stroke), **extra})
        for (x0, y0), (x1, y1) in pairwise(points):
            self._note("stroke", (x0, x1), (y0, y1), stroke.width / 2)

    def circle(self, at: Point, radius: float, stroke: Stroke) -> None:
        """A circle."""
        x, y = at
        self._add("circle", {"cx": _n(x), "cy": _n(y), "r": _n(radius), **_look(stroke)})
        self._note("circle", (x - radius, x + radius), (y - radius, y + radius), stroke.width / 2)

    def ellipse(self, at: Point, radii: Point, stroke: Stroke) -> None:
        """An upright ellipse."""
        (x, y), (rx, ry) = at, radii
        shape = {"cx": _n(x), "cy": _n(y), "rx": _n(rx), "ry": _n(ry)}
        self._add("ellipse", {**shape, **_look(stroke)})
        self._note("ellipse", (x - rx, x + rx), (y - ry, y + ry), stroke.width / 2)

    def rect(self, corner: Point, size: Point, stroke: Stroke) -> None:
        """A rectangle from its upper left corner."""
        (x, y), (w, h) = corner, size
        shape = {"x": _n(x), "y": _n(y), "width": _n(w), "height": _n(h)}
        self._add("rect", {**shape, **_look(stroke)})
        for xs, ys in (
            ((x, x + w), (y, y)),
            ((x, x + w), (y + h, y + h)),
            ((x, x), (y, y + h)),
            ((x + w, x + w), (y, y + h)),
        ):
            self._note("edge", xs, ys, stroke.width / 2)

    def path(self, curve: str, around: tuple[Point, Point], stroke: Stroke) -> None:
        """A curve in SVG's own path letters; `around` are two corners of its box."""
        self._add("path", {"d": curve, **_look(stroke)})
        (x0, y0), (x1, y1) = around
        self._note("curve", (x0, x1), (y0, y1), stroke.width / 2)

    def lines(self, strokes: Iterable[Sequence[Point]], stroke: Stroke) -> None:
        """Many straight strokes of one look, such as a grid; leaves no boxes."""
        curve = "".join("M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points) for points in strokes)
        if curve:
            self._add("path", {"d": curve, **_look(stroke)})

    # ------------------------------------------------------------------ text
    def text(
        self, at: Point, text: str, letter: Letter, *, end: bool = False, turned: bool = False
    ) -> float:
        """One line of text on its base line; returns its width [mm].

        `end` sets it to the left of the point; `turned` lets it read upwards.
        """
        text = letters.drawable(text)
        if not text:
            return 0.0
        wide = measure(text, letter)
        x, y = at
        family = "Fira Sans Condensed, Fira Sans" if letter.condensed else "Fira Sans"
        shape = {
            "x": _n(x),
            "y": _n(y),
            "font-family": family,
            "font-size": _n(letter.size),
            "fill": letter.colour,
        }
        if letter.condensed:
            shape["font-stretch"] = "condensed"
        if letter.weight != 400:
            shape["font-weight"] = str(letter.weight)
        if end:
            shape["text-anchor"] = "end"
        if turned:
            shape["transform"] = f"rotate(-90 {_n(x)} {_n(y)})"
        self._add("text", shape).text = text
        self._text_box(text, (x - wide if end else x, y), wide, letter, turned=turned)
        return wide

    def paper(self, box: Box) -> None:
        """White below a text that stands on the ground of a chart; leaves no box."""
        size = {"width": _n(box.right - box.left), "height": _n(box.bottom - box.top)}
        self._add("rect", {"x": _n(box.left), "y": _n(box.top), **size, "fill": "#FFFFFF"})

    def _text_box(self, text: str, at: Point, wide: float, letter: Letter, *, turned: bool) -> None:
        (x, y), up, down = at, letter.capital, letters.descent(text) * letter.size
        if self._symbol is not None:  # letters inside a symbol are part of it
            self._symbol.append(Box(text, x, y - up, x + wide, y))
        elif turned:
            self.geometry.texts.append(Box(text, x - up, y - wide, x + down, y))
        else:
            self.geometry.texts.append(Box(text, x, y - up, x + wide, y + down))

    # ------------------------------------------------------------------ the end
    def to_svg(self) -> str:
        """The drawing as one line of SVG."""
        return ET.tostring(self._root, encoding="unicode")

    def _add(self, tag: str, shape: dict[str, str]) -> ET.Element:
        return ET.SubElement(self._into, tag, shape)

    def _note(self, what: str, xs: Point, ys: Point, half: float) -> None:
        if self._ground:
            return
        box = Box(what, min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half)
        (self.geometry.strokes if self._symbol is None else self._symbol).append(box)

    def _id(self, name: str) -> str:
        slug = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "part"
        slug = f"{self._prefix}{slug}"
        number = self._ids[slug] = self._ids.get(slug, 0) + 1
        return slug if number == 1 else f"{slug}.{number}"


def measure(text: str, letter: Letter) -> float:
    """How wide a text runs in this lettering [mm]."""
    return letters.width(
        letters.drawable(text), letter.size, weight=letter.weight, condensed=letter.condensed
    )


def wrap(text: str, letter: Letter, wide: float, *, lines: int) -> list[str]:
    """Break a text into at most so many lines; what is left over ends in an ellipsis.

    A single word that is wider than the column is cut, too: nothing may leave its place.
    """
    words = letters.drawable(text).split(" ")
    rows: list[str] = []
    while words:
        row = words.pop(0)
        while words and measure(f"{row} {words[0]}", letter) <= wide:
            row = f"{row} {words.pop(0)}"
        if len(rows) == lines - 1 and words:
            return [*rows, _cut(row, letter, wide, rest=True)]
        rows.append(_cut(row, letter, wide, rest=False))
    return rows


def _cut(row: str, letter: Letter, wide: float, *, rest: bool) -> str:
    """Shorten to the width, with an ellipsis where something is missing; at a word if it can."""
    if not rest and measure(row, letter) <= wide:
        return row
    while " " in row and measure(f"{row} …", letter) > wide:
        row = row.rpartition(" ")[0]
    while len(row) > 1 and measure(f"{row}…", letter) > wide:
        row = row[:-1]
    return f"{row} …" if measure(f"{row} …", letter) <= wide else f"{row}…"


def _around(what: str, parts: list[Box]) -> Box:
    return Box(
        what,
        min(p.left for p in parts),
        min(p.top for p in parts),
        max(p.right for p in parts),
        max(p.bottom for p in parts),
    )


def _look(stroke: Stroke) -> dict[str, str]:
    look = {"fill": stroke.fill, "stroke": stroke.colour, "stroke-width": _n(stroke.width)}
    if stroke.dash:
        look["stroke-dasharray"] = " ".join(map(_n, stroke.dash))
    return look


def _n(number: float) -> str:
    """Three decimals, no tail of zeros, no negative nought: the same on every machine."""
    text = f"{number:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
