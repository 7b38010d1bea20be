"""What holds for every data file: its source, how far it is confirmed, and its order."""

import csv
import math
from importlib.resources import files

import pytest

from islewright.tables import rows

DATA = files("islewright.tables") / "data"
NAMES = sorted(path.name.removesuffix(".csv") for path in DATA.iterdir())
NOT_KEYS = {"source", "confirmed", "standing", "factor", "current_a", "time_s", "value"}


def cells(name):
    """All rows of one file as dictionaries of text."""
    text = (DATA / f"{name}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def test_there_are_data_files():
    """The checks below run over something."""
    assert len(NAMES) >= 25
    assert sum(len(cells(name)) for name in NAMES) > 1200


@pytest.mark.parametrize("name", NAMES)
def test_every_row_names_its_source_and_how_far_it_is_confirmed(name):
    """A figure without a source is not a figure."""
    for row in cells(name):
        assert row["source"].strip()
        assert row["confirmed"] in rows.CONFIRMED
        if row["source"].endswith("from memory"):
            assert row["confirmed"] == "memory"


@pytest.mark.parametrize("name", NAMES)
def test_no_cell_has_blanks_at_its_ends(name):
    """Keys are compared as they stand."""
    for row in cells(name):
        assert all(cell == cell.strip() for cell in row.values())


@pytest.mark.parametrize("name", [n for n in NAMES if not n.startswith("profile_")])
def test_figures_are_bare_numbers(name):
    """A column whose name carries a unit holds numbers, or nothing where it has no bound."""
    units = ("_a", "_v", "_s", "_c", "_mm2", "_ohm", "_x_in", "_x_idn", "_per_km", "_a2s", "_h")
    for row in cells(name):
        for column, cell in row.items():
            if column.endswith((*units, "_percent", "factor")) and cell:
                assert not math.isnan(float(cell))


@pytest.mark.parametrize("name", NAMES)
def test_no_row_stands_twice(name):
    """Two rows with one key would make the answer hang on their order."""
    seen = [
        tuple(v for k, v in row.items() if k not in NOT_KEYS - {"standing"}) for row in cells(name)
    ]
    values = [tuple(row.values()) for row in cells(name)]

    assert len(set(values)) == len(values)
    if name in {"ampacity", "factor_ambient", "factor_grouping", "conductor_resistance"}:
        assert len(set(seen)) == len(seen)


def test_a_file_whose_columns_differ_from_its_row_is_refused():
    """A renamed column is a mistake of ours, found at the first read."""

    class Wrong(rows.NamedTuple):
        size: float

    with pytest.raises(ValueError, match=r"fuse_gate\.csv has the columns"):
        rows.read("fuse_gate", Wrong)


def test_neighbours_are_those_on_either_side():
    """The message helps to find the value that was meant."""
    assert rows.neighbours(33, [16, 40, 32, 25], "A") == "nearest are 32 A and 40 A"
    assert rows.neighbours(200, [16, 40], "A") == "nearest is 40 A"
    assert rows.neighbours(1, [16, 40], "") == "nearest is 16"


def test_a_row_that_lacks_a_cell_is_refused(monkeypatch, tmp_path):
    """A cell too few or too many shifts figures; nothing of such a table is taken."""

    class Pair(rows.NamedTuple):
        name: str
        figure: float

    monkeypatch.setattr(rows, "_DATA", tmp_path)
    for name, cells in (("short", "b"), ("long", "b,2,3")):
        (tmp_path / f"{name}.csv").write_text(f"name,figure\na,1\n{cells}\n", encoding="utf-8")
        with pytest.raises(ValueError, match=r"shorter|longer"):
            rows.read(name, Pair)
    (tmp_path / "whole.csv").write_text("figure,name\n1,a\n2,b\n", encoding="utf-8")
    assert rows.read("whole", Pair) == (Pair("a", 1.0), Pair("b", 2.0))
    (tmp_path / "bare.csv").write_text("figure,name\n", encoding="utf-8")
    assert rows.read("bare", Pair) == ()
