"""Every figure of every example lost, one at a time: `python -m tests.rough.gaps`.

Deleted, blank, unknown, and spoilt. Prints what passes that did not before and what crashed,
and ends with 1 where something did. A sample is a test; chance does the same in `tamper`.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.rough import houses
from tests.rough.tamper import HOWS, Tampered, without
from tests.rough.trial import tried


def cases_of(house: str) -> Iterator[Tampered]:
    """Each figure of both files, lost in each way."""
    for file, place in houses.figures(house):
        for how in HOWS:
            yield without(house, file, place, how)


def main() -> int:
    wanted = sys.argv[1:] or houses.names()
    ended: Counter[str] = Counter()
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for house in wanted:
            for case in cases_of(house):
                outcome = tried(case, Path(folder))
                ended[outcome.ended] += 1
                if outcome.wrong:
                    wrong += 1
                    print(f"{outcome.how}\n{outcome.wrong}\n", flush=True)
    print(f"{sum(ended.values())} cases: {dict(ended)}, wrong {wrong}")
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main())
