"""Where an RCD sees: told by shape, complete, nothing meets."""

from xml.etree import ElementTree as ET

import pytest

from islewright import read_job, study
from islewright.drawing.seen import Lane, Stretch, seen, seen_canvas
from islewright.papers import seen_by
from tests.drawing.geometry import collisions

SVG = "{http://www.w3.org/2000/svg}"
HOUSES = ("cottage", "farmhouse", "terrace")


@pytest.fixture(scope="module", params=HOUSES)
def rows(request):
    return seen_by.stretches(study(read_job(f"examples/{request.param}/{request.param}.yaml")))


def test_nothing_meets(rows):
    """No text meets another, a ring or a line."""
    assert collisions(seen_canvas(rows)) == []


def test_long_names_and_words_keep_their_places():
    """Whatever the job calls them."""
    lane = Lane(seen=False, fed=True, words="no RCD: " + "a device of a very long name " * 3)
    known = Lane(seen=None, fed=True, words="not known: " + "why " * 40)
    rows = [Stretch(name="x" * 60, detail="y" * 60, depth=n % 3, lanes=(lane, known))
            for n in range(30)]  # fmt: skip

    assert collisions(seen_canvas(rows)) == []


def test_seen_and_not_seen_are_told_by_shape():
    """A ring and a heavy line where a device sees; neither where none does."""

    def shapes(value):
        lane = Lane(seen=value, fed=True, words="")
        root = ET.fromstring(seen([Stretch(name="a", detail="", depth=0, lanes=(lane, lane))]))
        widths = {float(p.get("stroke-width")) for p in root.iter(f"{SVG}polyline")}
        return len(list(root.iter(f"{SVG}ellipse"))), 0.8 in widths

    assert shapes(True) == (2, True)
    assert shapes(False) == (0, False)
    assert shapes(None) == (0, False)


def test_every_circuit_and_cable_is_a_stretch():
    """The freezer of the farmhouse is on no RCD; every other backed-up circuit is seen."""
    of = study(read_job("examples/farmhouse/farmhouse.yaml"))
    rows = seen_by.stretches(of)
    freezer = next(row for row in rows if row.name.endswith("freezer"))

    assert [lane.seen for lane in freezer.lanes] == [False, False]
    assert "22 freezer" in seen_by.told(of)["blind"]
    assert [c for c in of.job.cables if c not in [row.name for row in rows]] == []
