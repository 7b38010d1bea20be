"""Take times fairly, and leave the figures where the documentation finds them."""

from __future__ import annotations

import datetime
import json
import os
import platform
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from importlib import metadata
from pathlib import Path
from typing import Any

RESULTS = Path(__file__).parent / "results"
ROOT = Path(__file__).parents[1]


def median_s(work: Callable[[], Any], *, runs: int, before: int = 2) -> float:
    """Median time of a piece of work in one process, after some runs that do not count [s]."""
    for _ in range(before):
        work()
    found = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return statistics.median(found)


def best_and_median_s(
    work: Callable[[Any], Any], each: Sequence[Any], *, before: int = 6
) -> tuple[float, float]:
    """Best and median time of a piece of work, once on each of some things [s].

    The best is what the work takes; what is above it the machine did meanwhile. What the work
    hands over is let go outside the clock.
    """
    for thing in each[:before]:
        work(thing)
    found = []
    for thing in each[before:]:
        start = time.perf_counter()
        kept = work(thing)
        found.append(time.perf_counter() - start)
        del kept
    return min(found), statistics.median(found)


def in_turn_s(
    first: Callable[[], Any], second: Callable[[], Any], *, runs: int
) -> tuple[float, float]:
    """Median times of two pieces of work, run in turn so that both meet the same machine [s]."""
    times: tuple[list[float], list[float]] = ([], [])
    for run in range(runs + 1):
        for work, found in zip((first, second), times, strict=True):
            start = time.perf_counter()
            work()
            if run:  # the first one warms files and caches
                found.append(time.perf_counter() - start)
    return statistics.median(times[0]), statistics.median(times[1])


def machine() -> str:
    """What the figures were taken on."""
    model = platform.processor() or platform.machine()
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        named = [x for x in cpuinfo.read_text("utf-8").splitlines() if x.startswith("model name")]
        model = named[0].partition(":")[2].strip() if named else model
    return f"{os.cpu_count()} cores, {model}, {platform.system()} {platform.release()}"


def python() -> str:
    """Version of Python, and whether it is the system's own: how its makers built it counts."""
    whose = "the system's" if sys.base_prefix == "/usr" else "built apart"
    return f"{platform.python_version()} ({whose})"


def versions(*packages: str) -> dict[str, str]:
    """Versions of Python and of the packages that take part."""
    return {"python": python()} | {p: metadata.version(p) for p in packages}


def leave(name: str, figures: dict[str, float], of: dict[str, str], told: dict[str, Any]) -> Path:
    """Write the results of one benchmark.

    Parameters
    ----------
    figures : key, with its unit in the key, and number
    of : versions
    told : how the figures were taken
    """
    RESULTS.mkdir(exist_ok=True)
    file = RESULTS / f"{name}.json"
    found = {
        "measured": datetime.datetime.now(tz=datetime.UTC).date().isoformat(),
        "machine": machine(),
        "versions": of,
        "figures": {key: _kept(value) for key, value in figures.items()},
        "told": told,
    }
    file.write_text(json.dumps(found, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    return file


def _kept(value: float) -> float:
    """Four digits of what was measured; all of what was counted."""
    return value if isinstance(value, int) else float(f"{value:.4g}")
