"""No figure of a table stands in code, where neither source nor confirmation goes with it."""

from __future__ import annotations

import ast
import csv
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "islewright"
DATA = SOURCE / "tables" / "data"
#: rooms that compute; the figures of drawings and papers are millimetres on a sheet
ROOMS = ("tables", "job", "network", "rules", "findings.py", "units.py")
#: digits that make a figure distinctive: 7.41 and 1.45 do, 0.4, 30 and 2500 do not
DIGITS = 3
#: figures that a table has as well, and why they stand in code
ALLOWED = {("units.py", "181"): "code point of the sign µ"}


def digits(value: float) -> int:
    """Digits of a figure without the noughts at its ends."""
    return len(Decimal(repr(float(value))).normalize().as_tuple().digits)


def table_figures() -> dict[float, str]:
    """Distinctive figures of all tables, each with a file that has it."""
    found: dict[float, str] = {}
    for path in sorted(DATA.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as lines:
            for row in csv.DictReader(lines):
                for column, cell in row.items():
                    if column in ("source", "confirmed", "clause", "edition", "key"):
                        continue
                    try:
                        value = float(cell)
                    except ValueError:
                        continue
                    if digits(value) >= DIGITS:
                        found.setdefault(value, path.stem)
    return found


def literals(path: Path) -> Iterator[float]:
    """Numbers that stand in a module's code; those in words and docstrings are none."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            yield float(node.value)


def modules() -> list[Path]:
    rooms = [SOURCE / room for room in ROOMS]
    return [p for room in rooms for p in ([room] if room.suffix else sorted(room.rglob("*.py")))]


FIGURES = table_figures()


@pytest.mark.parametrize("path", modules(), ids=lambda p: p.relative_to(SOURCE).as_posix())
def test_no_figure_of_a_table_stands_in_code(path):
    """A literal that equals a distinctive figure is either that figure or has its reason."""
    name = path.relative_to(SOURCE).as_posix()
    found = {f"{v:g}": FIGURES[v] for v in literals(path) if v in FIGURES}

    assert {value: table for value, table in found.items() if (name, value) not in ALLOWED} == {}


def test_every_allowed_figure_still_stands_there():
    """A reason without its figure would cover the next one."""
    for name, value in ALLOWED:
        assert float(value) in set(literals(SOURCE / name))


def test_the_search_finds_a_figure(tmp_path):
    """It looks at code, and the tables have figures to look for."""
    file = tmp_path / "rule.py"
    file.write_text('"""R = 7.41."""\nR20 = 7.41\nX = -0.4\n', encoding="utf-8")

    assert [v for v in literals(file) if v in FIGURES] == [7.41]
    assert len(FIGURES) > 300
