"""Text for a terminal: its width, its letters, its tables.

Every terminal must be able to print it: what an encoding lacks is written with the
letters that it has (Ω as ohm, ≤ as <=). Does not belong here: what is said.
"""

from __future__ import annotations

import os
import shlex
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

WIDEST, NARROWEST = 100, 60
#: a column of words is not squeezed below this
LEAST_COLUMN = 8
GAP = "  "

_PLAIN = {
    "Ω": "ohm", "≤": "<=", "≥": ">=", "·": "*", "×": "x", "–": "-", "−": "-", "±": "+/-",
    "√": "sqrt ", "²": "2", "³": "3", "°": "deg ", "µ": "u", "μ": "u", "∞": "inf", "Δ": "d",
    "θ": "theta", "φ": "phi", "α": "alpha", "β": "beta", "ρ": "rho", "η": "eta", "λ": "lambda",
    "→": "->", "“": '"', "”": '"', "’": "'", "‘": "'", "…": "...", "∑": "sum ", "Σ": "sum ",
    "∆": "d", "₀": "0", "½": "1/2", "≈": "about ", "|": "|",
}  # fmt: skip


def width() -> int:
    """Columns to write in: those of the terminal, at most a hundred."""
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns))


def letters(text: str) -> str:
    """Give the text in letters that the output has, without anything that moves a cursor."""
    encoding = getattr(sys.stdout, "encoding", None) or "ascii"
    if not text.replace("\n", "").isprintable():
        text = "".join(c if c.isprintable() or c == "\n" else "?" for c in text)
    try:
        text.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return "".join(_letter(c, encoding) for c in text)
    return text


def _letter(one: str, encoding: str) -> str:
    try:
        one.encode(encoding)
    except UnicodeEncodeError:
        bare = unicodedata.normalize("NFKD", one).encode("ascii", "ignore").decode("ascii")
        return _PLAIN.get(one) or bare or "?"
    except LookupError:
        return one if one.isascii() else _PLAIN.get(one, "?")
    return one


def to_type(*words: str) -> str:
    """A command as it can be typed here: with its path where the shell would not find it."""
    name, started = "islewright", Path(sys.argv[0])
    if started.stem == name and shutil.which(name) is None:
        name = str(started)
        if started.is_relative_to(Path.cwd()):
            name = str(started.relative_to(Path.cwd()))
    if os.name == "nt":
        import subprocess  # only for its way of quoting

        return subprocess.list2cmdline([name, *words])
    return shlex.join([name, *words])


def say(text: str = "", *, err: bool = False) -> None:
    """Print a text as it stands."""
    click.echo(letters(text), err=err)


def paragraph(text: str, *, indent: int = 0, hang: int = 0) -> None:
    """Print a text wrapped; lines after the first stand `hang` further right."""
    say(wrapped(text, indent=indent, hang=hang))


def wrapped(text: str, *, indent: int = 0, hang: int = 0, columns: int = 0) -> str:
    """Wrap a text to the terminal."""
    return textwrap.fill(
        letters(text),
        columns or width(),
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_on_hyphens=False,
    )


def heading(text: str) -> None:
    """Print a heading with a blank line before it."""
    say(f"\n{text}")


Row = Sequence[str] | str


def table(head: Sequence[str], rows: Iterable[Row], *, right: str = "", indent: int = 2) -> None:
    """Print a table that fits the terminal.

    Parameters
    ----------
    head : heads of the columns
    rows : cells of each row; a single text is printed below the row before it
    right : heads of the columns that stand to the right, parted by blanks
    """
    for line in table_lines(head, rows, right=right, indent=indent, columns=width()):
        say(line)


def table_lines(
    head: Sequence[str], rows: Iterable[Row], *, right: str = "", indent: int = 2, columns: int
) -> list[str]:
    """Lines of a table; cells of words wrap, figures never do.

    >>> table_lines(["place", "V"], [["hall", "230"]], right="V", columns=60)
    ['  place    V', '  -----  ---', '  hall   230']
    """
    body = [row if isinstance(row, str) else [letters(cell) for cell in row] for row in rows]
    to_right = [name in right.split() for name in head]
    cells = [list(head), *(row for row in body if not isinstance(row, str))]
    natural = [max(len(row[i]) for row in cells) for i in range(len(head))]
    widths = _fitted(natural, to_right, columns - indent - len(GAP) * (len(head) - 1))
    pad = " " * indent
    lines = _row(list(head), widths, to_right)
    lines.append(GAP.join("-" * w for w in widths))
    for row in body:
        if isinstance(row, str):
            lines += wrapped(row, indent=len(GAP), hang=2, columns=columns - indent).splitlines()
        else:
            lines += _row(row, widths, to_right)
    return [(pad + line).rstrip() for line in lines]


def _fitted(natural: Sequence[int], fixed: Sequence[bool], room: int) -> list[int]:
    """Squeeze the widest columns of words until the row fits."""
    widths = list(natural)
    while sum(widths) > room:
        wide = [i for i, w in enumerate(widths) if not fixed[i] and w > LEAST_COLUMN]
        if not wide:
            break
        widths[max(wide, key=lambda i: widths[i])] -= 1
    return widths


def _row(row: Sequence[str], widths: Sequence[int], to_right: Sequence[bool]) -> list[str]:
    cells = [_cell(text, w) for text, w in zip(row, widths, strict=True)]
    lines = []
    for i in range(max(map(len, cells))):
        words = [cell[i] if i < len(cell) else "" for cell in cells]
        sides = zip(words, widths, to_right, strict=True)
        lines.append(GAP.join(w.rjust(n) if side else w.ljust(n) for w, n, side in sides))
    return lines


def _cell(text: str, columns: int) -> list[str]:
    if len(text) <= columns and text == " ".join(text.split()):
        return [text]  # as it would come out; nearly every cell
    return textwrap.wrap(text, max(1, columns), break_on_hyphens=False) or [""]
