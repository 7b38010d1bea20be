"""Forms of supply, inverter, switch and circuit that no example has, against OpenDSS."""

from __future__ import annotations

import pytest

from tests.engines.faults import compare_faults
from tests.engines.house import CASES, compare
from tests.engines.positions import OPEN, Setting
from tests.engines.variants import VARIANTS, make

VOLTS = 1e-6  # of U_0
AMPS = 1e-6  # of the largest current of the case
VOLTS_AFLOAT = 1e-5  # the same, where 1 nS alone holds a conductor
AMPS_AFLOAT = 1e-4
DEAD_OR_OPEN = {"everything open", "dead, bond closed", "dead, bond open", "outage, inverter off"}
#: no earth holds the supply, or no neutral the house, in some of their states
AFLOAT = {"IT supply", "bypass without neutral"}
EVERY = 5


@pytest.mark.parametrize("name", VARIANTS)
def test_every_state_of_another_form_agrees(name, tmp_path):
    """Every state hot and cold: voltages and currents within the bounds of the examples."""
    house = make(VARIANTS[name], tmp_path)
    for state in OPEN:
        for case in CASES:
            found = compare(house, Setting(state=state), case)
            assert found.volts < VOLTS_AFLOAT, (state, case, found)
            if found.largest_a > 1e-3:
                assert found.volts < VOLTS, (state, case, found)
            held = state not in DEAD_OR_OPEN and name not in AFLOAT
            held &= state != "bypass" or "bypass" in name  # without one the house is cut off
            assert found.amps < (AMPS if held else AMPS_AFLOAT), (state, found)


@pytest.mark.parametrize("name", VARIANTS)
def test_faults_in_another_form_agree(name, tmp_path):
    """Each fifth fault, cold, in grid, island and where there is one bypass."""
    house = make(VARIANTS[name], tmp_path)
    states = ["grid", "island, on the battery", *(["bypass"] if "bypass" in name else [])]
    for state in states:
        found = compare_faults(house, Setting(state=state), "cold", every=EVERY)
        assert found.count >= 10
        assert found.volts < (VOLTS_AFLOAT if name in AFLOAT else VOLTS), (state, found)
        assert found.amps < (AMPS_AFLOAT if name in AFLOAT else AMPS), (state, found)
