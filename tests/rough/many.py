"""Many trials on all cores: `python -m tests.rough.many --trials 200000`.

Prints how they ended and every seed that went wrong; ends with 1 where one did. A seed that
went wrong is tried again alone with `--from SEED --trials 1`. `--summary FILE` leaves the figures.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.rough.trial import Outcome, trial

AT_ONCE = 500
LARGEST_MB = 300


def main() -> int:
    """Run the trials that the words ask for."""
    words = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    words.add_argument("--trials", type=int, default=200_000)
    words.add_argument("--from", type=int, default=0, dest="first")
    words.add_argument("--seconds", type=float, default=7200, help="stop after this time")
    words.add_argument("--cores", type=int, default=os.cpu_count() or 1)
    words.add_argument("--summary", type=Path, help="leave the figures in this file")
    asked = words.parse_args()
    ended: Counter[str] = Counter()
    wrong: list[Outcome] = []
    longest, memory = 0.0, 0.0
    start = time.monotonic()
    batches = range(asked.first, asked.first + asked.trials, AT_ONCE)
    last = asked.first + asked.trials
    with ProcessPoolExecutor(asked.cores) as pool:
        jobs = ((first, min(first + AT_ONCE, last)) for first in batches)
        for counted, slowest, odd, megabytes in _bounded(pool, jobs, start + asked.seconds):
            ended += counted
            wrong += odd
            longest, memory = max(longest, slowest), max(memory, megabytes)
            for one in odd:
                print(f"seed {one.seed}: {one.how}\n{one.wrong}\n", flush=True)
    print(f"{sum(ended.values())} trials in {time.monotonic() - start:.0f} s: {dict(ended)}")
    print(f"longest {longest:.2f} s of computing, most memory {memory:.0f} MB, wrong {len(wrong)}")
    if asked.summary:
        told = summed(ended, wrong) | {"longest_s": round(longest, 3), "memory_mb": round(memory)}
        told["seeds"] = f"{asked.first} and following"
        asked.summary.write_text(json.dumps(told, indent=2) + "\n", encoding="utf-8")
    return 1 if wrong or memory > LARGEST_MB else 0


def summed(ended: Counter[str], wrong: list[Outcome]) -> dict[str, int | str | float]:
    """How many files, and how many of each thing that must not be."""
    return {
        "files": sum(ended.values()),
        "tracebacks": ended["crashed"],
        "false_met": sum(one.wrong.startswith("passes now") for one in wrong),
        "too_slow": sum(one.wrong.startswith("took ") for one in wrong),
        "wrong": len(wrong),
    }


def _bounded(
    pool: ProcessPoolExecutor, jobs: Iterator[tuple[int, int]], until: float
) -> Iterator[tuple[Counter[str], float, list[Outcome], float]]:
    """Hand out batches, a few ahead, until all are done or time is up."""
    waiting = []
    for job in jobs:
        waiting.append(pool.submit(batch, *job))
        while len(waiting) > 2 * (os.cpu_count() or 1):
            yield waiting.pop(0).result()
        if time.monotonic() > until:
            break
    for each in waiting:
        yield each.result()


def batch(first: int, last: int) -> tuple[Counter[str], float, list[Outcome], float]:
    """Some trials in one process: how they ended, the longest, those that went wrong, memory."""
    counted: Counter[str] = Counter()
    slowest, odd = 0.0, []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, last):
            outcome = trial(seed, Path(folder))
            counted[outcome.ended] += 1
            slowest = max(slowest, outcome.took_s)
            if outcome.wrong:
                odd.append(outcome)
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return counted, slowest, odd, megabytes


if __name__ == "__main__":
    sys.exit(main())
