"""Tables and letters of the terminal."""

import pytest

from islewright.cli import text


def test_figures_never_break_and_words_do():
    """A narrow table wraps its words; the columns of figures keep their width."""
    rows = [["a place with quite a long name indeed", "12 345 V"], ["hall", "230 V"]]
    lines = text.table_lines(["place", "U"], rows, right="U", columns=30)

    assert max(map(len, lines)) <= 30
    assert sum("12 345 V" in line for line in lines) == 1
    assert lines[-1] == "  hall" + " " * (28 - 4 - 5) + "230 V"


def test_a_text_below_a_row_keeps_to_the_width():
    """A note wraps like everything else."""
    lines = text.table_lines(["a"], [["b"], "word " * 30], columns=60)

    assert max(map(len, lines)) <= 60
    assert len(lines) > 4


@pytest.mark.parametrize(
    ("given", "printed"),
    [
        ("0.35 Ω ≤ 1 Ω", "0.35 ohm <= 1 ohm"),
        ("10 mm², 30 °C", "10 mm2, 30 deg C"),
        ("Küche", "Kuche"),
        ("台所", "??"),
    ],
)
def test_letters_that_a_terminal_lacks_are_written_with_those_it_has(given, printed, monkeypatch):
    """No letter stops the print."""

    class Ascii:
        encoding = "ascii"

    monkeypatch.setattr(text.sys, "stdout", Ascii())
    assert text.letters(given) == printed


def test_nothing_steers_the_terminal():
    """Control characters of a file do not reach the screen."""
    assert text.letters("a\x1b[2Jb\x07\nc") == "a?[2Jb?\nc"


@pytest.mark.parametrize(
    ("found", "typed"),
    [("/usr/bin/islewright", "islewright check 'my house.yaml'"),
     (None, ".venv/bin/islewright check 'my house.yaml'")],
)  # fmt: skip
def test_a_command_is_printed_as_it_can_be_typed(monkeypatch, tmp_path, found, typed):
    """Where the shell does not know it, with the path at which it was started."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.argv", [str(tmp_path / ".venv/bin/islewright"), "check"])
    monkeypatch.setattr("shutil.which", lambda _: found)

    assert text.to_type("check", "my house.yaml") == typed
