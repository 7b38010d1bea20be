"""The single line for a phone: readable at 400 px, complete, nothing meets."""

from xml.etree import ElementTree as ET

import pytest

from islewright import read_job
from islewright.drawing.phone import WIDTH, phone_canvas, phone_form
from tests.drawing.geometry import collisions
from tests.drawing.houses import house, sheet
from tests.drawing.test_single_line import KINDS, MODES, SVG, texts


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("circuits", [6, 40, 80])
def test_nothing_meets(circuits, kind, mode):
    """Whatever the house: no text meets another, a symbol or a line."""
    job = house(circuits, **KINDS[kind])
    other = sheet(job, MODES[mode == MODES[0]])

    assert collisions(phone_canvas(job, sheet(job, mode), beside=other)) == []


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("name", ["cottage", "farmhouse", "terrace"])
def test_the_examples_are_clear(name, mode):
    """The houses that come with the program."""
    job = read_job(f"examples/{name}/{name}.yaml")
    canvas = phone_canvas(job, sheet(job, mode))

    assert collisions(canvas) == []


def test_the_smallest_letters_are_eight_pixels_at_400():
    """Capitals of 1.8 mm on 87.5 mm are 8 px on 400 px."""
    root = ET.fromstring(phone_form(house(12), sheet(house(12))))
    smallest = min(float(t.get("font-size")) for t in root.iter(f"{SVG}text")) * 0.689

    assert smallest * 400 / WIDTH >= 8


def test_every_circuit_stands_there_once():
    """All rows of all boards, one below the other."""
    job = house(40, boards=3)
    ids = [g.find(f"{SVG}title").text for g in
           ET.fromstring(phone_form(job, sheet(job))).iter(f"{SVG}g")
           if g.find(f"{SVG}title") is not None]  # fmt: skip

    assert [n for n, name in enumerate(job.circuits, 1) if ids.count(f"{n} {name}") != 1] == []


def test_every_board_begins_at_a_letter_of_the_head():
    """A letter stands where the conductor leaves and where it arrives."""
    job = house(40, boards=3)
    words = texts(phone_form(job, sheet(job)))

    assert sum(words.count(letter) == 2 for letter in "ABC") == 3
