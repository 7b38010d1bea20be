"""Read the tables under `data/`: one CSV file each, read once, every row typed.

NotInTable (LookupError)    the table has no such row; the message names the neighbours
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import NamedTuple, TypeVar, get_type_hints

__all__ = ["CONFIRMED", "NotInTable", "neighbours", "not_listed", "read"]

CONFIRMED = ("two pages", "page", "memory")
"""How far a figure is confirmed: seen in two reprints, in one, in none.

Nearly every page is somebody's reprint of a standard, not the standard itself.
"""

_DATA = Path(__file__).with_name("data")

Row = TypeVar("Row", bound=NamedTuple)


class NotInTable(LookupError):
    """A table has no such row. The message names the rows next to it."""


def _optional(text: str) -> float | None:
    return float(text) if text else None


_READERS: dict[object, Callable[[str], object]] = {
    float: float,
    int: int,
    str: str,
    float | None: _optional,
}


@cache
def read(name: str, row_type: type[Row]) -> tuple[Row, ...]:
    """Read one table.

    Parameters
    ----------
    name : file name under `data/` without ".csv"
    row_type : named tuple whose fields are the columns, in any order; the hint of each
        field (str, int, float, float | None) says how its text is read

    Returns
    -------
    the rows in the file's order; the same tuple on every call

    Raises
    ------
    ValueError : columns and fields differ, or a cell does not fit its field
    """
    text = (_DATA / f"{name}.csv").read_text(encoding="utf-8")
    lines = csv.reader(io.StringIO(text, newline=""))
    columns = next(lines)
    hints = get_type_hints(row_type)
    if set(columns) != set(hints):
        raise ValueError(f"{name}.csv has the columns {columns}, wanted are {sorted(hints)}")
    values = {
        column: cells if hints[column] is str else map(_READERS[hints[column]], cells)
        for column, *cells in zip(columns, *lines, strict=True)
    }
    in_order = [values[field] for field in row_type._fields]
    return tuple(map(row_type._make, zip(*in_order, strict=True)))


def neighbours(value: float, listed: Iterable[float], unit: str) -> str:
    """Name the listed values next to one that is not there: "nearest are 32 A and 40 A"."""
    known = sorted(set(listed))
    below = [x for x in known if x < value]
    above = [x for x in known if x > value]
    names = [f"{x:g} {unit}".strip() for x in (below[-1:] + above[:1])]
    return f"nearest {'are' if len(names) > 1 else 'is'} {' and '.join(names)}"


def not_listed(what: str, value: float, listed: Iterable[float], unit: str) -> NotInTable:
    """Make the exception for a value that is not there; it names the neighbours."""
    found = f"{value:g} {unit}".strip()
    return NotInTable(f"{what}: {found} is not listed; {neighbours(value, listed, unit)}")
