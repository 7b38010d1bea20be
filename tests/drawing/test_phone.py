"""The single line for a phone: readable at 400 px, complete, nothing meets."""

from xml.etree import ElementTree as ET

import pytest

from islewright import read_job
from islewright import study as studied
from islewright.drawing.phone import RIM, WIDTH, phone_canvas, phone_form
from islewright.drawing.phone_sheets import seen_form_canvas, states_canvas
from islewright.papers import seen_by
from islewright.papers.states import told_states
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
    """Capitals of 1.8 mm on 88.9 mm, the rim counted, are 8 px on 400 px."""
    root = ET.fromstring(phone_form(house(12), sheet(house(12))))
    smallest = min(float(t.get("font-size")) for t in root.iter(f"{SVG}text")) * 0.689

    assert smallest * 400 / (WIDTH + 2 * RIM) >= 8


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


def test_device_and_cable_on_both_sides_of_the_switch_stand_there():
    """The cottage: a delayed RCD and B32 towards the grid, the cable to the backed-up board."""
    job = read_job("examples/cottage/cottage.yaml")
    words = texts(phone_form(job, sheet(job)))

    assert "M1, 100 mA S, type A; B32, 3 × 10 mm², 3 m" in words
    assert "3 × 10 mm², 1.5 m" in words


def test_the_state_says_what_feeds_and_what_stays_alive():
    """As on the sheet: fed by, dead in this state, always alive."""
    job = house(12)
    words = texts(phone_form(job, sheet(job)))

    assert [name for name in ("Fed by", "Dead in this state", "Always alive")
            if name not in words] == []  # fmt: skip


@pytest.mark.parametrize("mode", MODES)
def test_a_generator_stands_behind_an_open_contact(mode):
    """In no state of the sheets does it feed; its board, its size and its interlock are told."""
    job = read_job("examples/cabin/cabin.yaml")
    told = phone_form(job, sheet(job, mode))

    assert "inlet 32 A, open" in texts(told)
    assert "portable generator 4 kVA: change-over switch" in texts(told)
    assert collisions(phone_canvas(job, sheet(job, mode))) == []


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_meets_where_every_state_is_told(kind):
    """One strip and its words below the other, whatever the house."""
    job = house(12, **KINDS[kind])

    assert collisions(states_canvas(job, [sheet(job, mode) for mode in MODES])) == []


@pytest.mark.parametrize("name", ["bungalow", "cabin", "cottage", "farmhouse", "workshop"])
def test_states_and_residual_devices_of_the_examples_are_clear_on_a_phone(name):
    """Every state and every stretch stands there, in letters of 8 px at 400 px."""
    of = studied(read_job(f"examples/{name}/{name}.yaml"))
    states, stretches = told_states(of), seen_by.stretches(of)
    canvases = (states_canvas(of.job, states), seen_form_canvas(stretches))
    words = [set(texts(canvas.to_svg())) for canvas in canvases]

    for canvas in canvases:
        sizes = [float(t.get("font-size")) for t in
                 ET.fromstring(canvas.to_svg()).iter(f"{SVG}text")]  # fmt: skip
        assert collisions(canvas) == []
        assert min(sizes) * 0.689 * 400 / (WIDTH + 2 * RIM) >= 8
    assert {state.system for state in states} <= words[0]
    assert {stretch.name for stretch in stretches} <= words[1]
