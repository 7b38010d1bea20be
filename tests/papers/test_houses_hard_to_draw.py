"""Houses that cannot be drawn well still give readable pages: many circuits, odd names."""

import io
import re
from pathlib import Path

import pypdf
import pytest

from islewright import read_job, study
from islewright.drawing import letters
from islewright.drawing.letters import STAND_IN
from islewright.drawing.phone import phone_canvas
from islewright.drawing.seen import seen_canvas
from islewright.drawing.single_line import canvases
from islewright.papers import pack, seen_by, typeset
from islewright.papers.states import governing
from tests.drawing.geometry import collisions

FOLDER = Path("examples/farmhouse")
HEBREW = ("מטבח", "סלון", "מרתף", "חצר")
ARABIC = ("المطبخ", "غرفة النوم", "الحديقة")
CHINESE = ("厨房", "客厅")


def long_names(name, n):
    """Sixty letters, every one of them different from the others."""
    return f"{name} in the old part of the house behind the kitchen and larder"[:57] + f" {n:02}"


def one_word(name, n):
    """A single word of sixty letters, with no place to break."""
    return (f"x{n:02}" + "abcdefghij" * 6)[:60]


def nameless(name, n):
    """Nobody gave a name: a letter and a number."""
    return f"c{n}"


def right_to_left(name, n):
    """Letters that run from the right, and some that the fonts lack."""
    words = (*HEBREW, *ARABIC, *CHINESE)
    return f"{words[n % len(words)]} {n}"


def mixed(name, n):
    """Both directions in one name, with brackets and figures between them."""
    return f"{HEBREW[n % 4]} L{n} (old) 2.5"


def as_it_is(name, n):
    """The names of the farmhouse."""
    return name


NAMES = [long_names, one_word, nameless, right_to_left, mixed]


def renamed(folder, how, times=1):
    """The farmhouse with other names, or with each circuit several times."""
    text = (FOLDER / "farmhouse.yaml").read_text(encoding="utf-8")
    head, circuits = text.split("\ncircuits:\n")
    first, *blocks = re.split(r"(?m)^(?=  [a-z][^\n]*:\n    )", circuits)
    written = []
    for turn in range(times):
        for number, block in enumerate(blocks, 1):
            name = re.match(r"  ([^\n]*?):\n", block)[1]
            new = how(name, number) + (f" {turn}" if turn else "")
            written.append(block.replace(f"  {name}:\n", f'  "{new}":\n', 1))
    text = f"{head}\ncircuits:\n{first}{''.join(written[:80])}"
    (folder / "house.yaml").write_text(text, encoding="utf-8")
    shelf = (FOLDER / "equipment.yaml").read_text(encoding="utf-8")
    (folder / "equipment.yaml").write_text(shelf, encoding="utf-8")
    return study(read_job(folder / "house.yaml"))


def printed(of):
    import datetime

    pdf = typeset.set_pdf(pack.pages(of), datetime.date(2026, 3, 2))
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return [" ".join(page.extract_text().split()) for page in pages]


@pytest.mark.parametrize("how", NAMES)
def test_any_names_give_a_pack(how, tmp_path):
    """It is set, its cover is one page, every circuit stands in the schedule by its number."""
    of = renamed(tmp_path, how)
    texts = printed(of)
    schedule = " ".join(t for t in texts if "Circuits and cables" in t[:120])

    assert "Surveyed by" in texts[0]
    assert "Single line" in texts[1][:120]
    for number in range(1, len(of.job.circuits) + 1):
        assert f" {number} " in schedule


def test_names_in_letters_that_the_fonts_lack_are_written_by_sound(tmp_path):
    """Hebrew, Arabic and Chinese are told apart on paper, and the cover owns up to it."""
    texts = printed(renamed(tmp_path, right_to_left))
    schedule = " ".join(t for t in texts if "Circuits and cables" in t[:120])

    assert "Some names are written by their sound" in texts[0]
    assert all(word in schedule for word in ("mtvh", "almtbkh", "ChuFang"))
    assert "??" not in " ".join(texts)


@pytest.mark.parametrize("name", [*HEBREW, *ARABIC, *CHINESE, "Кухня", "Küche", "a〈b〉"])
def test_a_drawing_has_only_letters_that_can_be_measured(name):
    """What is drawn is in both families; Cyrillic and accents stay as they are."""
    drawn = letters.drawable(name)

    assert drawn
    assert STAND_IN not in drawn
    assert all(letters.has(c, condensed=narrow) for c in drawn for narrow in (True, False))
    if name[0] in "КK":
        assert drawn == name


@pytest.mark.parametrize("how", NAMES)
def test_no_name_makes_a_drawing_meet_itself(how, tmp_path):
    """Sheet, phone form and the drawing of the RCDs stay clear, whatever the names."""
    of = renamed(tmp_path, how)
    found = []
    for sheet in governing(of):
        for canvas in (*canvases(of.job, sheet), phone_canvas(of.job, sheet)):
            found += collisions(canvas)
    found += collisions(seen_canvas(seen_by.stretches(of)))

    assert found == []


def test_eighty_circuits_are_drawn_and_printed(tmp_path):
    """More than a sheet holds: the drawing takes further sheets, no circuit is lost."""
    of = renamed(tmp_path, as_it_is, times=2)
    sheets = canvases(of.job, governing(of)[0])
    texts = printed(of)

    assert len(of.job.circuits) == 80
    assert [c for canvas in sheets for c in collisions(canvas)] == []
    assert "Surveyed by" in texts[0]
    schedule = " ".join(texts)
    assert [n for n in of.job.circuits if n not in schedule] == []
