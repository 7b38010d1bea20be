"""Chapter: the rated current of residual current devices (IEC 60364-5-53, 536)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from islewright.findings import Arithmetic, Question, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.job.model import Cable, Circuit, Job
from islewright.job.once import once_a_job
from islewright.network.places import canonical
from islewright.network.state import Mode
from islewright.network.watched import watchers
from islewright.rules.demand import spread_of
from islewright.rules.inflow import sum_told, worst_at
from islewright.rules.registry import Here, attempt, first_way, rule, undecided
from islewright.rules.study import Study


@rule(
    "residual.rated-current",
    over="RCDs",
    modes=[Mode.GRID, Mode.ISLAND],
    title="An RCD of a board must carry what the devices before or behind it let through",
    clauses=[
        "IEC 60364-5-53:2019, 536.4.3 (from memory)",
        "BS 7671:2018, 536.4.3.2 (from memory)",
    ],
)
def rated_current(study: Study, here: Here) -> Verdict | None:
    """min(what feeds the board, Σ I_n behind it) ≤ I_n of the RCD, on the line with most

    An RCD has no overload release of its own: devices before it or behind it must keep the
    current down. A demand factor does not count, since no device enforces it.
    """
    watcher = watchers(study.job, here.mode)[here.name]
    if not watcher.board:
        return None  # a residual part opens with the device that it belongs to
    name = watcher.guard.branch.rpartition("/")[2]
    rated = float(study.job.boards[watcher.board].rcds[name].rating_a)
    ways = [attempt(partial(_by_what_feeds, study, watcher.board, name, rated, here.mode))]
    if asks := _asked(study.job).get(watcher.board):
        ways.append(undecided(Unknown(*asks)))
    elif _bounded(study.job, watcher.board, name):
        ways.append(attempt(partial(_by_what_is_behind, study.job, watcher.board, name, rated)))
    return first_way(sorted(ways, key=lambda way: math.inf if math.isnan(way.value) else way.value))


def _by_what_feeds(study: Study, board: str, name: str, rated: float, mode: Mode) -> Verdict:
    line, flow = worst_at(study, board, mode, 1.0)
    spread = spread_of(study.profile, "maker", flow.made)

    def told() -> list[str]:
        return [*sum_told(flow), f"on {line}; {name}: {rated:g} A"]

    return _carries(flow.amps, spread, name, rated, told)


def _bounded(job: Job, board: str, name: str) -> bool:
    """Whether each part behind an RCD has a device; one that is not known may be none."""
    parts = _behind(job).get((board, name), ())
    return all(part.gap("device") is not None or part.device is not None for part in parts)


def _by_what_is_behind(job: Job, board: str, name: str, rated: float) -> Verdict:
    """Rated currents of the devices behind it; one that is not known is asked for."""
    by_line = _rated_behind(job, board, name)
    totals = {line: sum(amps) for line, amps in by_line.items()}
    line = max(totals, key=totals.__getitem__)
    total = totals[line]

    def told() -> list[str]:
        terms = " + ".join(f"{amps:g} A" for amps in by_line[line])
        return [f"Σ I_n behind {name} on {line} = {terms} = {total:g} A", f"{name}: {rated:g} A"]

    return _carries(total, 0.0, name, rated, told)


def _carries(amps: float, spread: float, name: str, rated: float, told: Arithmetic) -> Verdict:
    return at_most(
        amps,
        rated,
        "A",
        spread=spread,
        because=told,
        remedies=[
            lambda: f"Fit an RCD of at least {math.ceil(amps + spread)} A in place of {name}.",
            lambda: f"Move circuits from {name} to another RCD, down to {rated:g} A of devices.",
        ],
        means="No device protects this RCD against overload." if amps > rated else "",
        confirmed="memory",
    )


def _rated_behind(job: Job, board: str, name: str) -> dict[str, list[float]]:
    """Rated currents of the devices behind an RCD, by line [A]."""
    found: dict[str, list[float]] = {line: [] for line in job.phases}
    for part in _behind(job).get((board, name), ()):
        lines = job.lines_of(part) if isinstance(part, Circuit) else part.cores
        for line, amps in found.items():
            if line in lines and part.device is not None:
                amps.append(float(part.device.i_n_a))
    return found


@once_a_job
def _behind(job: Job) -> dict[tuple[str, str], list[Circuit | Cable]]:
    """Circuits and cables behind each RCD, by board and name, as far as that is known."""
    found: dict[tuple[str, str], list[Circuit | Cable]] = {}
    for board, part in _parts(job):
        if part.has("behind"):
            found.setdefault((board, str(part.behind)), []).append(part)
    return found


@once_a_job
def _asked(job: Job) -> dict[str, list[Question]]:
    """Boards with parts of which nobody knows behind which RCD they lie, and what to ask."""
    found: dict[str, list[Question]] = {}
    for board, part in _parts(job):
        if part.gap("behind") is not None:
            found.setdefault(board, []).append(part.question("behind"))
    return found


def _parts(job: Job) -> Iterator[tuple[str, Circuit | Cable]]:
    """Circuits and cables, each with the board or terminal where it begins."""
    for circuit in job.circuits.values():
        yield circuit.board, circuit
    for cable in job.cables.values():
        yield canonical(cable.from_), cable
