"""Where the time of a verification goes: reading, building, solving, faults, rules.

Clocks of their own stand around what builds and solves, wherever a rule asks for it first; what
is left of the time from the job to the findings is the rules'. The clocks cost a little.
"""

from __future__ import annotations

import functools
import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cached_property
from importlib import import_module
from typing import Any

from work import EXAMPLE

PARTS = ("reading", "building", "solving", "faults", "rules")


class Clock:
    """Time of each part by itself; a part that asks another for something waits meanwhile."""

    def __init__(self) -> None:
        self.spent = dict.fromkeys(PARTS, 0.0)
        self._within = ["rules"]
        self._since = time.perf_counter()

    def turn(self, part: str | None) -> None:
        """Begin a part (`None`: end the one that runs)."""
        now = time.perf_counter()
        self.spent[self._within[-1]] += now - self._since
        self._since = now
        if part is None:
            self._within.pop()
        else:
            self._within.append(part)

    def around(self, work: Callable[..., Any], part: str) -> Callable[..., Any]:
        """The same work with the clock turned to its part."""

        @functools.wraps(work)
        def timed(*given: Any, **named: Any) -> Any:
            self.turn(part)
            try:
                return work(*given, **named)
            finally:
                self.turn(None)

        return timed


def split_ms(runs: int) -> dict[str, float]:
    """Medians of the parts of one verification of the demo [ms]."""
    found = [_once() for _ in range(runs + 3)][3:]
    return {
        part: round(1e3 * statistics.median([spent[part] for spent in found]), 2) for part in PARTS
    }


def _once() -> dict[str, float]:
    from islewright.job.read import read_job
    from islewright.rules.study import study

    with _clocks() as clock:
        clock.turn("reading")
        job = read_job(EXAMPLE)
        clock.turn(None)
        _ = study(job).findings
        clock.turn("rules")
    return clock.spent


@contextmanager
def _clocks() -> Iterator[Clock]:
    """A clock around each piece of the network's work, taken away again."""
    from islewright.network import condense, earth_faults, fault, layout, shape, solve

    study = import_module("islewright.rules.study")  # the room gives a function of that name
    clock, before = Clock(), []
    for owner, name, part in (
        (study, "build", "building"),
        (shape.Shape, "__init__", "building"),
        (layout.Layout, "__init__", "building"),
        (layout.Layout, "condensed", "building"),
        (layout.Layout, "terminals", "building"),
        (solve.Solved, "__init__", "solving"),
        (condense.Response, "whole", "solving"),
        (condense.Response, "columns", "solving"),
        (solve.Solved, "x", "solving"),
        (fault.Ports, "__init__", "faults"),
        (fault.Faults, "__init__", "faults"),
        (fault.Faults, "by_emf", "faults"),
        (fault.Faults, "current", "faults"),
        (fault.Faults, "unknowns", "faults"),
        (earth_faults.EarthFaults, "__init__", "faults"),
    ):
        own = vars(owner)[name]
        before.append((owner, name, own))
        if isinstance(own, cached_property):
            timed: Any = cached_property(clock.around(own.func, part))
            timed.__set_name__(owner, name)
        else:
            timed = clock.around(own, part)
        setattr(owner, name, timed)
    try:
        yield clock
    finally:
        for owner, name, own in before:
            setattr(owner, name, own)
