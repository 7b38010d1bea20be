"""Marks of findings: shape tells the status, length tells the figure."""

import math
from xml.etree import ElementTree as ET

import pytest

from islewright.drawing import limit_mark, scale_bar
from islewright.drawing.marks import LIMIT_AT, scale_canvas
from islewright.findings import Finding, Status, at_least, at_most
from tests.drawing.geometry import collisions

SVG = "{http://www.w3.org/2000/svg}"


def finding(verdict):
    return Finding(
        rule="r",
        title="An earth fault opens the device",
        clauses=("c",),
        place="kitchen",
        mode="grid mode",
        state="grid",
        verdict=verdict,
    )


def bars(svg):
    return [
        (float(r.get("x")), float(r.get("width"))) for r in ET.fromstring(svg).iter(f"{SVG}rect")
    ]


def test_the_four_marks_differ_without_colour():
    """With every colour taken away, no two marks are alike."""
    marks = {limit_mark(s).replace("#16181B", "") for s in Status}
    shapes = {m[m.index("</title>") :] for m in marks}

    assert len(shapes) == 4


@pytest.mark.parametrize(
    ("status", "side"), [(Status.MET, -1), (Status.NEAR, -1), (Status.NOT_MET, 1)]
)
def test_the_dot_lies_on_the_side_that_it_means(status, side):
    """Left of the stroke is allowed, right of it is beyond."""
    root = ET.fromstring(limit_mark(status))
    stroke = float(root.find(f"{SVG}polyline").get("points").split(",")[0])
    dot = float(root.find(f"{SVG}circle").get("cx"))

    assert math.copysign(1, dot - stroke) == side


@pytest.mark.parametrize("share", [0.1, 0.5, 0.99, 1.0])
def test_the_bar_is_as_long_as_its_share_of_the_limit(share):
    """40 mm are the limit."""
    found = bars(scale_bar(finding(at_most(share * 2.5, 2.5, "ohm", spread=0))))

    assert found == [(0, pytest.approx(LIMIT_AT * share))]


def test_what_lies_beyond_the_limit_is_a_second_thicker_bar():
    """So that beyond is told by shape."""
    found = bars(scale_bar(finding(at_most(3.0, 2.5, "ohm", spread=0))))

    assert found == [(0, 40), (40, pytest.approx(8))]


def test_at_least_is_drawn_the_other_way_round():
    """Half of what is demanded lies beyond the stroke, twice of it short of the stroke."""
    half, twice = (bars(scale_bar(finding(at_least(v, 10, "A", spread=0)))) for v in (5, 20))

    assert half == [(0, 40), (40, pytest.approx(40))]
    assert twice == [(0, pytest.approx(20))]


def test_a_bar_beyond_the_scale_is_broken_off():
    """Two slanting strokes say that it goes on; its end is no figure."""
    svg = scale_bar(finding(at_most(900, 50, "V", spread=0)))

    assert bars(svg) == [(0, 40), (40, pytest.approx(48))]
    assert svg.count("#FFFFFF") == 2


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_no_number_no_scale(value):
    """An undecided finding has nothing to draw."""
    assert scale_bar(finding(at_most(value, 2.5, "ohm", spread=0))) == ""


@pytest.mark.parametrize("value", [0.0, 0.01, 1.0, 2.4, 2.5, 2.6, 5, 1000])
@pytest.mark.parametrize("spread", [0, 0.2, 30])
def test_nothing_on_the_scale_meets(value, spread):
    """Value and limit are written so that neither covers the other or leaves the scale."""
    canvas = scale_canvas(finding(at_most(value, 2.5, "ohm", spread=spread)))

    assert collisions(canvas) == []
