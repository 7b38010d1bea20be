"""The writer: widths as the font has them, boxes where the ink is, names made safe."""

from xml.etree import ElementTree as ET

import pytest

from islewright.drawing import letters, symbols
from islewright.drawing.ink import NAME, NOTE, THIN, Stroke
from islewright.drawing.svg import Canvas, measure, wrap
from islewright.drawing.symbols import SECTIONS, Frame
from tests.drawing.geometry import collisions


@pytest.mark.parametrize("condensed", [True, False])
@pytest.mark.parametrize("letter", "AWgi0×²Ω–")
def test_widths_are_those_of_a_general_font_library(letter, condensed):
    """Our short reader and a whole font library agree on every advance."""
    import ziafont

    font = ziafont.Font(str(letters.face_file(400, condensed=condensed)))

    ours = letters.width(letter, 1000, condensed=condensed)
    assert ours == pytest.approx(font.glyph(letter).advance(), abs=0.5)


def test_capitals_are_as_high_as_the_letter_says():
    """1.8 mm capitals need a type of 7.4 pt."""
    assert NOTE.size / 25.4 * 72 == pytest.approx(7.4, abs=0.05)


def test_a_missing_letter_counts_as_a_full_square():
    """Whatever stands in for it cannot be wider than we left room for."""
    assert not letters.has("מ")
    assert letters.width("מ", 2.0) == 2.0


@pytest.mark.parametrize(
    ("text", "kept"),
    [("a\nb", "a b"), ("a\x00b", "ab"), ("\u202eabc", "abc"), ("Ωm²", "Ωm²"), ("\ud800x", "x")],
)
def test_cleaning_keeps_letters_and_drops_what_acts(text, kept):
    """Controls and marks of direction do not reach a drawing."""
    assert letters.clean(text) == kept


def test_wrapping_never_exceeds_the_column():
    """Words are broken over lines, and cut only where they must be."""
    for text in ("Kitchen worktop, one socket by the window", "W" * 80, "a b c", ""):
        for wide in (6.0, 12.0, 25.0):
            rows = wrap(text, NOTE, wide, lines=2)
            assert len(rows) <= 2
            assert all(measure(row, NOTE) <= wide for row in rows)


def test_wrapping_loses_no_word_without_an_ellipsis():
    """A name that was cut says so."""
    text = "Kitchen worktop, one socket by the window"

    whole = wrap(text, NOTE, 30, lines=2)
    cut = wrap(text, NOTE, 15, lines=2)

    assert " ".join(whole) == text
    assert cut[-1].endswith("…")


def test_the_proof_of_collisions_can_fail():
    """Two texts on one another, a text on a symbol, on a stroke, off the sheet: all found."""
    canvas = Canvas(40, 20, "bad")
    canvas.text((5, 5), "one", NAME)
    canvas.text((6, 5.5), "two", NAME)
    symbols.junction(canvas, (5.5, 4.5))
    canvas.text((38, 15), "leaves", NAME)
    canvas.line([(0, 14.5), (40, 14.5)], THIN)

    found = "; ".join(collisions(canvas))

    assert "'one' meets 'two'" in found
    assert "'one' meets the symbol 'junction'" in found
    assert "'leaves' is crossed by a stroke" in found
    assert "'leaves' leaves the sheet" in found


DRAWN = {
    "circuit-breaker": lambda c: symbols.breaker(c, Frame(10, 10), THIN),
    "switch-disconnector": lambda c: symbols.switch_disconnector(
        c, Frame(10, 10), THIN, closed=True
    ),
    "residual current device": lambda c: symbols.residual_device(c, Frame(10, 10), THIN),
    "fuse": lambda c: symbols.fuse(c, Frame(10, 10), THIN),
    "junction": lambda c: symbols.junction(c, (10, 10)),
    "earth": lambda c: symbols.earth(c, (10, 10)),
    "protective earth": lambda c: symbols.earth(c, (10, 10), protective=True),
    "transformer": lambda c: symbols.transformer(c, Frame(10, 10)),
    "inverter": lambda c: symbols.inverter(c, (10, 10)),
    "battery": lambda c: symbols.battery(c, Frame(10, 10)),
    "generator": lambda c: symbols.generator(c, (12, 10)),
    "PV generator": lambda c: symbols.pv_generator(c, (10, 10)),
}


@pytest.mark.parametrize("name", DRAWN)
def test_every_symbol_says_its_name_and_has_its_section(name):
    """One box, one title, one row in the list of sections; nothing stays outside the box."""
    canvas = Canvas(40, 40, "one symbol")
    DRAWN[name](canvas)

    assert [box.what for box in canvas.geometry.symbols] == [name]
    assert canvas.geometry.strokes == []
    assert "from memory" in SECTIONS[name][1] or "our own" in SECTIONS[name][1]


def test_no_two_symbols_look_alike():
    """Told apart by shape: with titles and ids taken off, each drawing is its own."""
    shapes = set()
    for draw in DRAWN.values():
        canvas = Canvas(40, 40, "")
        draw(canvas)
        shapes.add(
            tuple(
                (e.tag, *sorted((k, v) for k, v in e.attrib.items() if k != "id"))
                for e in ET.fromstring(canvas.to_svg()).iter()
            )
        )

    assert len(shapes) == len(DRAWN)


@pytest.mark.parametrize("down", [False, True])
def test_open_closed_and_not_known_are_three_shapes(down):
    """A lifted blade at 20 degrees with a gap; one line through; dots and a question mark."""

    def points(closed):
        canvas = Canvas(40, 40, "")
        symbols.switch_disconnector(
            canvas, Frame(20, 20, down=down), Stroke(0.8), closed=closed, length=10
        )
        return canvas.to_svg().count("<text"), canvas.geometry.symbols[0]

    (_, closed), (_, opened), (asked, _) = (points(p) for p in (True, False, None))
    lift = (opened.right - closed.right) if down else (closed.top - opened.top)

    assert lift == pytest.approx(10 * 0.342 - 1.4, abs=0.4)
    assert asked == 1
