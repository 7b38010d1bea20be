"""Every fault of the examples in grid and island states against OpenDSS."""

from __future__ import annotations

import pytest

from tests.engines.elements import assumed
from tests.engines.faults import compare_bolted, compare_faults
from tests.engines.house import CASES, NAMES
from tests.engines.positions import Setting

VOLTS = 1e-6  # of U_0
AMPS = 1e-6  # of the largest current of the case
FACTOR = {"hot": "loop.c_min", "cold": "loop.c_max"}
STATES = ("grid", "island, on the battery")
MORE = ("grid, inverter feeding", "island, public supply back", "island, street loaded")
#: faults that OpenDSS solves once more as merged nodes: all of the small houses
BOLTED_EVERY = {"farmhouse": 3}


def setting_of(state: str, case: str) -> Setting:
    """A state with its EMFs at the factor for minima or maxima."""
    return Setting(state=state, factor=assumed(FACTOR[case]))


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("state", [*STATES, *MORE])
@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_every_fault_through_a_joint_agrees(house, state, case):
    """Fault current, all voltages and all currents of every fault, through 0.1 mΩ."""
    found = compare_faults(house, setting_of(state, case), case)
    assert found.count >= 4 * len(house.job.circuits)
    assert found.volts < VOLTS, found
    assert found.amps < AMPS, found


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_bolted_faults_agree(house, request, state, case):
    """Fault current and voltages where OpenDSS has one node for the two that touch."""
    name = request.node.callspec.params["house"]
    found = compare_bolted(house, setting_of(state, case), case, every=BOLTED_EVERY.get(name, 1))
    assert found.count > 20
    assert found.volts < VOLTS, found
    assert found.amps < AMPS, found
