"""Each symbol against the description of it (IEC 60617, from memory), by its geometry."""

import xml.etree.ElementTree as ET

import pytest

from islewright.drawing.described import DESCRIBED
from islewright.drawing.svg import Canvas
from islewright.drawing.symbols import SECTIONS
from tests.drawing.test_svg import DRAWN

FILLED = "#16181B"


class Shape:
    """One element: what it is, its points or middle, its look."""

    def __init__(self, element):
        self.kind = element.tag.rpartition("}")[2]
        self.of = element.attrib
        self.wide = float(self.of.get("stroke-width", 0))
        corners = self.of.get("points", "").split()
        self.points = [tuple(map(float, corner.split(","))) for corner in corners]

    def figure(self, key):
        return float(self.of[key])

    @property
    def length(self):
        (x0, y0), (x1, y1) = self.points[0], self.points[-1]
        return ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5


def shapes(name):
    """Elements of a symbol that runs from (10, 10) to the right, its titles taken off."""
    canvas = Canvas(40, 40, "one symbol")
    DRAWN[name](canvas)
    (group,) = (e for e in ET.fromstring(canvas.to_svg()).iter() if e.get("id", "").startswith(
        name.lower().replace(" ", "-")))  # fmt: skip
    return [Shape(e) for e in group.iter() if not e.tag.endswith(("}g", "}title"))]


def only(name, kind):
    return [shape for shape in shapes(name) if shape.kind == kind]


def test_every_symbol_has_a_number_a_description_and_a_section():
    """The three lists name the same symbols, apart from plain contact and boundary."""
    assert set(DESCRIBED) == set(DRAWN)
    assert set(SECTIONS) - set(DESCRIBED) == {"make contact", "boundary"}
    numbers = [d.number for d in DESCRIBED.values() if d.number != "composed"]
    assert len(set(numbers)) == len(numbers)
    assert all(n[0] == "S" and len(n) == 6 and n[1:].isdigit() for n in numbers)


def test_nothing_unseen_is_called_confirmed():
    """All is from memory, until somebody has looked."""
    assert {d.confirmed.partition(",")[0] for d in DESCRIBED.values()} <= {
        "memory",
        "not remembered",
    }


def test_the_circuit_breaker_has_a_cross_at_its_fixed_end():
    """Two strokes cross at right angles in (10, 10), across a line that runs on to the hinge."""
    line, *cross = only("circuit-breaker", "polyline")
    middles = [[sum(axis) / 2 for axis in zip(*stroke.points, strict=True)] for stroke in cross]
    (a, b), (c, d) = cross[0].points, cross[1].points

    assert middles == [[10, 10], [10, 10]]
    assert (b[0] - a[0]) * (d[0] - c[0]) + (b[1] - a[1]) * (d[1] - c[1]) == pytest.approx(0)
    assert line.points[0] == (10, 10)


def test_the_switch_disconnector_has_bar_and_ring_at_its_fixed_end():
    """A bar across the line, and a hollow ring that touches it on the side of the blade."""
    line, bar = only("switch-disconnector", "polyline")
    hinge, ring = only("switch-disconnector", "circle")

    assert {x for x, _ in bar.points} == {10}
    assert sum(y for _, y in bar.points) / 2 == pytest.approx(10)
    assert ring.of["fill"] != FILLED
    assert 10 < ring.figure("cx") <= 10 + ring.figure("r") + bar.wide
    assert hinge.figure("cx") == line.points[-1][0]


def test_the_residual_device_rings_the_line_and_links_to_the_blade():
    """The ellipse is centred on the line, behind the contact; the dashed link joins both."""
    contact, beyond, link = only("residual current device", "polyline")
    (ring,) = only("residual current device", "ellipse")

    assert ring.figure("cy") == 10
    assert beyond.points[0][0] < ring.figure("cx") < beyond.points[-1][0]
    assert link.of["stroke-dasharray"]
    assert contact.points[0][0] < link.points[0][0] < contact.points[-1][0]
    assert link.points[-1] == (ring.figure("cx"), 10 + ring.figure("ry"))


def test_the_fuse_is_a_slim_box_with_the_line_through_it():
    """Three times as long as wide, the line from end to end in its middle."""
    (line,), (box,) = only("fuse", "polyline"), only("fuse", "rect")

    assert box.figure("width") == pytest.approx(3 * box.figure("height"))
    assert line.points[0] == (box.figure("x"), box.figure("y") + box.figure("height") / 2)
    assert line.length == pytest.approx(box.figure("width"))


def test_the_junction_is_a_filled_dot():
    """Nothing else, and no ring."""
    (dot,) = shapes("junction")

    assert (dot.kind, dot.of["fill"]) == ("circle", FILLED)


@pytest.mark.parametrize("name", ["earth", "protective earth"])
def test_earth_is_three_strokes_that_grow_shorter(name):
    """Level, evenly spaced, on one middle; a circle round all of them for protective earth."""
    strokes, circles = only(name, "polyline"), only(name, "circle")
    lengths = [stroke.length for stroke in strokes]
    down = [stroke.points[0][1] for stroke in strokes]

    assert len(lengths) == 3
    assert lengths == sorted(set(lengths), reverse=True)
    assert down[1] - down[0] == down[2] - down[1] > 0
    assert {round(sum(x for x, _ in s.points) / 2, 6) for s in strokes} == {10}
    assert len(circles) == (name == "protective earth")
    for circle in circles:
        middle, reach = (circle.figure("cx"), circle.figure("cy")), circle.figure("r")
        for stroke in strokes:
            assert all(
                (x - middle[0]) ** 2 + (y - middle[1]) ** 2 < reach**2 for x, y in stroke.points
            )


def test_the_transformer_is_two_equal_circles_that_overlap():
    """On the line, centres nearer than two radii and not the same."""
    one, other = shapes("transformer")
    apart = other.figure("cx") - one.figure("cx")

    assert one.figure("r") == other.figure("r")
    assert one.figure("cy") == other.figure("cy") == 10
    assert 0 < apart < 2 * one.figure("r")


def test_the_inverter_parts_ac_from_dc_by_a_diagonal():
    """The wave lies above the diagonal, the full and the dashed stroke below it."""
    (box,), (wave,) = only("inverter", "rect"), only("inverter", "path")
    diagonal, full, dashed = only("inverter", "polyline")
    side = box.figure("width")
    start = [float(n) for n in wave.of["d"][1 : wave.of["d"].index("Q")].split()]

    assert box.figure("height") == side
    assert diagonal.points == [(10, 10 + side), (10 + side, 10)]
    assert sum(start) < 20 + side
    assert all(x + y > 20 + side for x, y in (*full.points, *dashed.points))
    assert "stroke-dasharray" in dashed.of
    assert "stroke-dasharray" not in full.of


def test_the_battery_is_long_thin_and_short_thick_plates_in_turn():
    """Two cells; the long plate first, as the positive one."""
    plates = only("battery", "polyline")
    long, short = plates[::2], plates[1::2]

    assert len(plates) == 4
    assert all(a.length > b.length and a.wide < b.wide for a, b in zip(long, short, strict=True))


def test_the_generator_is_a_circle_with_its_letter():
    """One circle, G in the middle of it."""
    (circle,) = only("generator", "circle")
    (letter,) = only("generator", "text")

    assert circle.figure("r") > 1.5
    assert abs(letter.figure("x") + 0.5 - circle.figure("cx")) < 0.5
    assert abs(letter.figure("y") - 0.9 - circle.figure("cy")) < 0.1
