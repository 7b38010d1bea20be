"""The strip of the neutral and the strip of the two modes."""

from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from islewright.drawing import neutral_earth, two_modes
from islewright.drawing.ink import PLUM
from islewright.drawing.strips import modes_canvas, neutral_canvas
from islewright.job import read_job
from tests.drawing.geometry import collisions
from tests.drawing.houses import house, sheet
from tests.drawing.test_single_line import KINDS, MODES, texts


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("kind", KINDS)
def test_nothing_on_the_neutral_strip_meets(kind, mode):
    """Whatever system, bond and switch a house has."""
    job = house(20, **KINDS[kind])

    assert collisions(neutral_canvas(job, sheet(job, mode))) == []


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_on_the_strip_of_modes_meets(kind):
    """Both modes side by side."""
    job = house(20, **KINDS[kind])

    assert collisions(modes_canvas(job, [sheet(job, m) for m in MODES])) == []


@pytest.mark.parametrize(("mode", "bond"), [("grid mode", "open"), ("island mode", "closed")])
def test_the_neutral_strip_says_what_the_bond_does(mode, bond):
    """In words beside its shape."""
    job = house(12)
    words = texts(neutral_earth(job, sheet(job, mode)))

    assert f"bond {bond}" in words
    assert "PEN splits at main board; electrode 18 Ω" in words


def test_the_strip_of_modes_shows_each_mode_once():
    """First grid mode, then island mode, whatever the order of the sheets."""
    job = house(12)
    words = texts(two_modes(job, [sheet(job, m) for m in reversed(MODES)]))

    assert words.index("Grid mode") < words.index("Island mode")
    assert words.count("Grid mode") == words.count("Island mode") == 1
    assert words.count("dead") == 1
    assert words.count("alive") == 3


def test_both_strips_are_170_mm_wide():
    """So that they stand in the text column of a page."""
    job = house(12)
    for svg in (neutral_earth(job, sheet(job)), two_modes(job, [sheet(job)])):
        assert ET.fromstring(svg).get("width") == "170mm"


def test_an_inlet_is_not_told_as_a_circuit_without_a_residual_current_device():
    """Only circuits count: the cabin's are all behind R2 and R3, its inlet brings power in."""
    job = read_job("examples/cabin/cabin.yaml")
    words = texts(neutral_earth(job, sheet(job)))

    assert "R2, R3" in words


@pytest.mark.parametrize("kind", KINDS)
def test_the_strip_of_modes_shows_the_public_supply_alive_before_an_open_main_fuse(kind):
    """Whoever draws the fuse leaves its upper contact alive."""
    job = house(20, **KINDS[kind])
    shown = sheet(job, "grid mode")
    shut = {name: on for name, on in shown.closed.items() if not name.startswith("main fuse")}
    dead = dict.fromkeys(shown.alive, False) | {"service": True}
    drawn = replace(shown, closed=shut | {"main fuse": False}, alive=dead)
    canvas = modes_canvas(job, [drawn])

    assert "fuse open" in texts(canvas.to_svg())
    assert PLUM in canvas.to_svg()
    assert collisions(canvas) == []
