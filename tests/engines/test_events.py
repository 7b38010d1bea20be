"""The race of devices and inverter against a fault that is followed step by step in time.

Tolerance: the current at the limit within 0.1 %; a device or the inverter acts inside its
interval of the race, give or take what the limit needs to settle and one step (20 ms).
"""

from __future__ import annotations

import itertools
import math

import pytest

from islewright.network.earth_faults import EarthFaults
from islewright.network.fault import Ports
from islewright.network.follow import race
from islewright.network.state import ISLAND
from islewright.tables.profile import profile
from tests.engines.events import Course, watchers_of
from tests.engines.faults import faults_of
from tests.engines.house import NAMES
from tests.engines.mistakes import BOARD
from tests.engines.variants import OUTPUTS

AMPS = 1e-3  # relative
STEP_S = 0.02
UNTIL_S = 5.0
#: fast and slow, for every device
ENDS = (0.0, 0.5, 1.0)
#: each n-th circuit of the board is followed
EVERY = {"farmhouse": 5, "one line of three": 1}
#: circuits that are followed at least; on one line of three hang no more
LEAST = {"one line of three": 2}
FIRST, LATER = "first in every case", "later"


def rows_of(house):
    """The race's rows for circuits of the backed-up board, all times known but the inverter's."""
    solved = house.network.solved(ISLAND, case="hot")
    faults = EarthFaults(house.job, solved, Ports(solved.layout, 1))
    rows = race(house.job, faults, profile("IEC base"))
    circuits = {f"circuit {n}": n for n, c in house.job.circuits.items() if c.board == BOARD}
    return [
        (circuits[row.place], row) for row in rows
        if row.place in circuits and not any(bar.questions for bar in row.bars[:-1])
    ]  # fmt: skip


def course_of(house, name: str, row) -> Course:
    elements = house.elements["hot"]
    fault = next(
        f for f in faults_of(elements, house.job)
        if (f.name.place, f.name.end, f.name.kind) == (row.place, row.end, row.kind)
    )  # fmt: skip
    return Course(house, fault, watchers_of(house, name))


def chosen(house, request):
    name = request.node.callspec.params["house"]
    found = rows_of(house)[:: EVERY.get(name, 2)]
    assert len(found) >= LEAST.get(name, 3)
    return found


@pytest.mark.parametrize("house", [*NAMES, *OUTPUTS], indirect=True)
def test_whoever_ends_a_fault_is_one_whom_the_race_allows(house, request):
    """All corners of the devices' windows: nobody acts before or after his interval."""
    for name, row in chosen(house, request):
        course = course_of(house, name, row)
        bars = {bar.name: bar for bar in row.bars}
        assert len(course.watchers) == len(row.bars) - 1
        stop = bars["inverter"]
        for *chance, late in itertools.product(ENDS, repeat=len(row.bars)):
            latest = stop.latest_s if late or stop.latest_s < stop.earliest_s else stop.earliest_s
            event = course.run(list(chance), latest, restarts=False, until_s=UNTIL_S)
            if event.who == "nobody":
                assert min(bar.latest_s for bar in row.bars) > UNTIL_S - STEP_S
                continue
            bar = bars[event.who]
            assert bar.rank != LATER, (row, event)
            assert bar.earliest_s - STEP_S <= event.at_s <= bar.latest_s + STEP_S, (row, event)
            assert all(b.rank != FIRST or b is bar for b in row.bars), (row, event)


@pytest.mark.parametrize("house", [*NAMES, *OUTPUTS], indirect=True)
def test_the_limit_settles_at_the_current_of_the_race(house, request):
    """Nobody opens for 0.3 s: the fault current and what each device sees are the race's."""
    for name, row in chosen(house, request):
        course = course_of(house, name, row)
        slow = [math.inf] * len(course.watchers)
        event = course.run(slow, math.inf, restarts=False, until_s=0.3)
        assert event.who == "nobody"
        assert event.amps == pytest.approx(row.current_a, rel=AMPS), row


@pytest.mark.parametrize("house", [*NAMES, *OUTPUTS], indirect=True)
def test_a_restart_on_a_fault_runs_the_same_race_again(house, request):
    """Slow devices: an inverter surely before them starts again and again on the same fault."""
    for name, row in chosen(house, request):
        course = course_of(house, name, row)
        stop, others = row.bars[-1], row.bars[:-1]
        if math.isinf(stop.latest_s):
            continue
        once = course.run([1.0] * len(others), stop.latest_s, restarts=False, until_s=9.0)
        again = course.run([1.0] * len(others), stop.latest_s, restarts=True, until_s=9.0)
        if once.who == "inverter":
            assert (again.who, again.starts > 2) == ("nobody", True)
            assert again.amps == pytest.approx(once.amps, rel=AMPS)
        else:
            assert again == once
