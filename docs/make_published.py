"""Write docs/published.md: each printed value that is held against ours, and who printed it.

Run `python docs/make_published.py`; a test compares the page with what this would write.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ROOT = HERE.parent
PAGE = HERE / "published.md"
UNITS = {"a": "A", "ma": "mA", "s": "s", "v": "V", "ohm": "Ω", "mm2": "mm²", "m": "m", "c": "°C",
         "w": "W", "va": "VA", "percent": "%"}  # fmt: skip
CONFIRMED = {"two pages": "seen on two pages", "page": "seen on a page", "memory": "from memory"}

HEAD = """# Printed values

Figures that stand in print outside this project, and what this program computes for each from
other inputs, by the very functions that its rules ask. None is read back from a table of its
own. The tolerance is half of the last printed digit, or what the source itself claims; where
ours lies outside it, the value stays listed with the reason and is not counted.

*Confirmed* says how far the printed figure itself was seen: on two pages, on one (nearly always
a reprint, not the standard itself), or only remembered. Those from memory prove less: hold them
against your own copy.

This page is made from `tests/published` (`python docs/make_published.py`).
"""

TABLES = """## Whole tables

Beside these values whole tables are derived and compared cell by cell, in
`tests/published/test_cells.py`:

- Largest loops of breakers, BS 7671 Table 41.3: {breakers} cells with the voltage factor and
  {breakers} of the older table without it. Three of the older ones (B16, C63, D100) were cut in
  print, not rounded.
- Largest loops of gG fuses, BS 7671 Tables 41.2 and 41.4: {fuses} cells lie inside the gates of
  IEC 60269.
- Current-carrying capacity of copper and aluminium in air against the power law of
  IEC 60364-5-52 Annex D: {columns} columns, each cell within half an ampere; the law's figures are
  from memory.
"""


def page() -> str:
    """The whole page as text."""
    printed = _printed()
    counted = [row for row in printed.FOLLOWING if row.kind != "derived"]
    derived = [row for row in printed.FOLLOWING if row.kind == "derived"]
    missed = [row for row in printed.ROWS if row.follows == "no"]
    lines = [HEAD, *_sum(counted), ""]
    for name in sorted({row.formula for row in counted}):
        rows = [row for row in counted if row.formula == name]
        lines += [f"## {_words(name)}", "", _told(printed, name), "", *_table(printed, rows), ""]
    lines += ["## Derived by hand", "",
              "Worked by others in closed form, printed nowhere; reached, and not counted.", "",
              *_table(printed, derived), ""]  # fmt: skip
    lines += ["## Not reproduced", "",
              ("Slips in print, other roundings, other inputs than told. A test holds that ours"
              " still differs."), "", *_missed(printed, missed), ""]  # fmt: skip
    lines += ["## Left out", "", "Worked examples that concern what this program does not do.", "",
              *_rows(("what", "printed", "source", "why"), _left_out()), ""]  # fmt: skip
    lines.append(_cells())
    return "\n".join(lines).rstrip() + "\n"


def _printed() -> Any:
    """The rows and formulas of the tests."""
    if str(ROOT) not in sys.path:
        sys.path.insert(0, str(ROOT))
    from tests.published import test_printed_values

    return test_printed_values


def _sum(counted: list[Any]) -> list[str]:
    how = [f"{sum(row.confirmed == key for row in counted)} {told}"
           for key, told in CONFIRMED.items()]  # fmt: skip
    formulas = len({row.formula for row in counted})
    return [(f"{len(counted)} values count, of {formulas} formulas, at most 15 of each: "
            f"{', '.join(how)}.")]  # fmt: skip


def _words(name: str) -> str:
    """Heading of a formula: its name without the unit."""
    stem, _, unit = name.rpartition("_")
    return (stem if stem and unit in UNITS else name).replace("_", " ").capitalize()


def _input(text: str) -> str:
    """One input as it is said: "time_s=0.4" is "time 0.4 s"."""
    name, _, value = text.partition("=")
    stem, _, unit = name.rpartition("_")
    return f"{stem} {value} {UNITS[unit]}" if stem and unit in UNITS else f"{name} {value}"


def _told(printed: Any, name: str) -> str:
    return " ".join(str(printed.FORMULAS[name].__doc__).split())


def _ours(printed: Any, row: Any) -> str:
    """Ours with one digit more than printed."""
    _, _, decimals = row.printed.partition(".")
    ours = float(printed.FORMULAS[row.formula](**row.arguments))
    return f"{ours:.{len(decimals) + 1}f}"


def _table(printed: Any, rows: list[Any]) -> list[str]:
    head = ("inputs", "printed", "ours", "source", "confirmed")
    return _rows(head, ((*_value(printed, row), _source(row), CONFIRMED[row.confirmed])
                        for row in rows))  # fmt: skip


def _missed(printed: Any, rows: list[Any]) -> list[str]:
    head = ("value", "inputs", "printed", "ours", "why", "source", "confirmed")
    return _rows(head, ((_words(row.formula), *_value(printed, row), row.note, row.source,
                         CONFIRMED[row.confirmed]) for row in rows))  # fmt: skip


def _value(printed: Any, row: Any) -> tuple[str, str, str]:
    unit = "" if row.unit == "-" else f" {row.unit}"
    told = ", ".join(_input(text) for text in row.inputs.split("; "))
    return told, f"{row.printed}{unit}", _ours(printed, row)


def _source(row: Any) -> str:
    return f"{row.source} ({row.note})" if row.note else str(row.source)


def _rows(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> list[str]:
    told = (" | ".join(cell.replace("|", "/") for cell in row) for row in rows)
    return [f"| {' | '.join(head)} |", f"|{'---|' * len(head)}", *(f"| {row} |" for row in told)]


def _beside(name: str) -> list[dict[str, str]]:
    file = ROOT / "tests" / "published" / "beside" / name
    with file.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _left_out() -> Iterator[tuple[str, ...]]:
    for row in _beside("left_out.csv"):
        yield row["what"], row["printed"], row["source"], row["reason"]


def _cells() -> str:
    loops = _beside("zs_max.csv")
    return TABLES.format(
        breakers=sum(row["device"] == "breaker" for row in loops),
        fuses=sum(row["device"] == "fuse" and float(row["rated_a"]) <= 125 for row in loops),
        columns=len(_beside("annex_d.csv")),
    )


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
