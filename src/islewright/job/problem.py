"""What is wrong in a file that was to be read, and where.

BadJob (Exception)    the file cannot be taken as a job; holds every problem found
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

_LONGEST = 60
_LONGEST_PATH = 120  # its last key is what the reader looks for


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing in one file that cannot be taken as it stands.

    `line` and `column` begin at 1; both are 0 where the whole file is meant. `path` names
    the field, such as `circuits.kitchen.length`. `found` is the text that stood there,
    empty where something is missing; `why` says what is wrong with it, `allowed` what
    would be right.
    """

    file: str
    line: int
    column: int
    path: str
    found: str
    allowed: str
    why: str = ""

    def __str__(self) -> str:
        """One line: place, path, what was found, what is allowed."""
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        where = f"{place}: {_clean(self.path, _LONGEST_PATH)}: " if self.path else f"{place}: "
        if not self.found and not self.why:
            return f"{where}{self.allowed}"
        found = f'found "{_clean(self.found)}"' if self.found else "found nothing"
        why = f", {self.why}" if self.why else ""
        return f"{where}{found}{why}; {self.allowed}"


class BadJob(Exception):
    """A file cannot be read as a job; nothing of it was taken.

    Attributes
    ----------
    problems : all that was found, in the order of the files
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(str(self))

    def __str__(self) -> str:
        """Every problem on a line of its own, then what was done."""
        many = len(self.problems)
        closing = f"{many} problem{'s' if many != 1 else ''}; nothing was read."
        return "\n".join([*map(str, self.problems), closing])


def _clean(text: str, longest: int = _LONGEST) -> str:
    """Shorten, and make visible what could move a terminal's cursor."""
    if not text.isprintable():
        text = text.encode("unicode_escape").decode("ascii")
    return text if len(text) <= longest else f"{text[: longest - 3]}..."


def nearest(word: str, known: Sequence[str], *, most: int = 8) -> str:
    """Say which known word was probably meant, or which ones there are."""
    from difflib import get_close_matches  # only for a message

    if not known:
        return "there is none"
    folded = {name.casefold(): name for name in known}
    close = get_close_matches(
        word.casefold()[:100], folded, n=2, cutoff=0.6 if len(word) > 3 else 0.5
    )
    close = close or [name for name in folded if len(word) > 2 and word.casefold() in name][:2]
    if close:
        return "nearest is " + " or ".join(f"`{folded[name]}`" for name in close)
    if len(known) == 1:
        return f"there is only `{known[0]}`"
    listed = ", ".join(f"`{name}`" for name in known[:most])
    return f"allowed are {listed}{' and others' if len(known) > most else ''}"
