"""The set of switch positions: every contact in every state, told by shape."""

from xml.etree import ElementTree as ET

import pytest

from islewright import read_job, study
from islewright.drawing import positions
from islewright.drawing.positions import position_canvases
from tests.drawing.geometry import collisions
from tests.drawing.houses import house, sheet
from tests.drawing.test_single_line import KINDS, MODES, SVG

HOUSES = ("cottage", "farmhouse", "terrace", "bungalow", "cabin", "flat", "workshop")


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_meets_whatever_the_house(kind):
    """Names of states and contacts keep their places."""
    job = house(12, **KINDS[kind])
    sheets = [sheet(job, mode) for mode in MODES * 6]

    assert [c for canvas in position_canvases(job, sheets) for c in collisions(canvas)] == []


@pytest.mark.parametrize("name", HOUSES)
def test_every_state_of_the_examples_is_there(name):
    """Each state has its column, and nothing meets."""
    of = study(read_job(f"examples/{name}/{name}.yaml"))
    canvases = position_canvases(of.job, of.states)
    titles = " ".join(
        title.text for c in canvases for title in ET.fromstring(c.to_svg()).iter(f"{SVG}title")
    )

    assert [c for canvas in canvases for c in collisions(canvas)] == []
    assert [s.name for s in of.states if f"islanding switch, lines, {s.name}" not in titles] == []


def test_open_and_closed_are_told_by_shape():
    """In island mode the blade of the lines slants, in grid mode the line runs through."""
    job = house(12)
    root = ET.fromstring(positions(job, [sheet(job, mode) for mode in MODES])[0])

    def slants(ident):
        group = next(g for g in root.iter(f"{SVG}g") if g.get("id") == ident)
        points = [p.get("points").split() for p in group.iter(f"{SVG}polyline")]
        return any(a.split(",")[1] != b.split(",")[1] for a, b in points)

    assert not slants("islanding-switch-lines-grid-inverter-feeding")
    assert slants("islanding-switch-lines-island-on-the-battery")
