"""Cases of every house, one after the other, from the command line."""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeVar

from tests.rough import houses

C = TypeVar("C")


def swept(cases_of: Callable[[str], Iterable[C]], tried: Callable[[C, Path], tuple[str, str]],
          told: Callable[[C], str]) -> int:  # fmt: skip
    """Try the cases of the houses that are named, of all where none is; 1 where one went wrong.

    Parameters
    ----------
    tried : how a case ended, and what went wrong, "" where nothing did
    told : which case it was
    """
    ended: Counter[str] = Counter()
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for house in sys.argv[1:] or houses.names():
            for case in cases_of(house):
                how, odd = tried(case, Path(folder))
                ended[how] += 1
                if odd:
                    wrong += 1
                    print(f"{told(case)}\n{odd}\n", flush=True)
    print(f"{sum(ended.values())} cases: {dict(ended)}, wrong {wrong}")
    return int(wrong > 0)
