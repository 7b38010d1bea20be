"""Every figure of every example lost, one at a time: `python -m tests.rough.gaps`.

Deleted, blank, unknown, and spoilt. Prints what passes that did not before and what crashed,
and ends with 1 where something did. A sample is a test; chance does the same in `tamper`.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from tests.rough import houses
from tests.rough.sweep import swept
from tests.rough.tamper import HOWS, Tampered, without
from tests.rough.trial import tried


def cases_of(house: str) -> Iterator[Tampered]:
    """Each figure of both files, lost in each way."""
    for file, place in houses.figures(house):
        for how in HOWS:
            yield without(house, file, place, how)


def outcome_of(case: Tampered, folder: Path) -> tuple[str, str]:
    """How a case ended, and what went wrong."""
    outcome = tried(case, folder)
    return outcome.ended, outcome.wrong


if __name__ == "__main__":
    sys.exit(swept(cases_of, outcome_of, lambda case: f"{case.house}: {case.how}"))
