"""The grid terminals of the islanding switch in an outage, against OpenDSS."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from tests.engines.house import CASES, NAMES, House
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting

GRID_SIDE = "islanding switch/grid"
EXTRA_LOW_V = 50.0
OUTAGES = ("island, on the battery", "island, street loaded")


def terminals(house: House, setting: Setting, case: str) -> tuple[dict, dict]:
    """Voltages of the grid terminals and the house's earth: the engine's, OpenDSS's."""
    nodes = [f"{GRID_SIDE}.{c}" for c in (*house.job.phases, "N")] + ["islanding switch.PE"]
    solved = house.solved(setting, case)
    ours = {n: solved.voltage(*n.rsplit(".", 1)) for n in nodes}
    circuit = Circuit(house.elements_in(setting, case), house.hertz)
    theirs = dict(zip(circuit.nodes, circuit.volts(), strict=True))
    return ours, {n: theirs[n] for n in nodes}


def highest(volts: dict) -> float:
    """Largest voltage between two terminals, or a terminal and true earth [V]."""
    every = [*volts.values(), 0j]
    return max(abs(a - b) for a, b in combinations(every, 2))


def apart(ours: dict, theirs: dict) -> float:
    """Largest difference of a terminal's voltage; not a number stays not a number."""
    return float(np.max([abs(ours[n] - theirs[n]) for n in ours]))


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("state", OUTAGES)
@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_grid_terminals_are_dead_with_all_poles_open(house, state, case):
    """Less than a volt between any two of them, and to true earth."""
    ours, theirs = terminals(house, Setting(state=state), case)
    assert highest(theirs) < 1.0
    assert apart(ours, theirs) < 1e-6 * house.u0


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("state", OUTAGES)
@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_grid_terminals_are_live_with_any_one_line_pole_welded(house, state, case):
    """More than 50 V on them, to each other, the house's earth or true earth, as OpenDSS says."""
    for line in house.job.phases:
        setting = Setting(state=state, closed=frozenset({f"islanding switch {line}"}))
        ours, theirs = terminals(house, setting, case)
        assert highest(ours) > EXTRA_LOW_V, line
        assert apart(ours, theirs) < 1e-6 * house.u0, line
        if state == OUTAGES[0]:
            assert abs(ours[f"{GRID_SIDE}.{line}"]) > 0.9 * house.u0
