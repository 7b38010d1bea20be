"""PV is drawn where it feeds in: on the d.c. side, or on a board by an inverter of its own."""

from pathlib import Path

import pytest

from islewright import read_job
from islewright.drawing import phone_form, single_line
from islewright.drawing.phone import phone_canvas
from islewright.drawing.single_line import canvases
from tests.drawing.geometry import collisions
from tests.drawing.houses import sheet
from tests.drawing.test_single_line import MODES, texts

FOLDER = Path("examples/farmhouse")


@pytest.fixture(params=["main board", "backed-up board"])
def coupled(request, tmp_path):
    """The farmhouse with PV that feeds into a board."""
    text = (FOLDER / "farmhouse.yaml").read_text(encoding="utf-8")
    shelf = (FOLDER / "equipment.yaml").read_text(encoding="utf-8")
    at = "    at: barn roof\n"
    text = text.replace(at, f"{at}    connected to: {request.param}\n", 1)
    shelf = shelf.replace("coupling: d.c.", "coupling: a.c.").replace(
        "a.c.-coupled PV at most: none", "a.c.-coupled PV at most: 9.6 kW"
    )
    (tmp_path / "house.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "equipment.yaml").write_text(shelf, encoding="utf-8")
    return read_job(tmp_path / "house.yaml")


@pytest.mark.parametrize("mode", MODES)
def test_pv_that_feeds_into_a_board_is_joined_to_it_by_a_letter(coupled, mode):
    """The same letter stands at the array and at its row of the board, on sheet and phone."""
    for svg in (
        single_line(coupled, sheet(coupled, mode)),
        phone_form(coupled, sheet(coupled, mode)),
    ):
        words = texts(svg)
        assert "PV feeds in" in words
        assert any("a.c. coupled" in word or word.startswith("PV 9.6 kW") for word in words)
    drawn = [*canvases(coupled, sheet(coupled, mode)), phone_canvas(coupled, sheet(coupled, mode))]
    letter = texts(single_line(coupled, sheet(coupled, mode))).count("A")

    assert letter == 2
    assert [c for canvas in drawn for c in collisions(canvas)] == []


def test_pv_on_the_dc_side_is_drawn_at_the_inverter():
    """The farmhouse as it is: no letter, no row in a board."""
    job = read_job(FOLDER / "farmhouse.yaml")

    assert "PV feeds in" not in texts(single_line(job, sheet(job)))
