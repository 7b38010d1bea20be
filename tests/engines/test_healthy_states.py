"""Every state of every example, and the states of a house with a bypass, against OpenDSS."""

from __future__ import annotations

import cmath

import pytest

from tests.engines.elements import Element
from tests.engines.house import CASES, NAMES, House, compare
from tests.engines.netlist import phasor
from tests.engines.positions import OPEN, Setting

VOLTS = 1e-6  # of U_0
AMPS = 1e-6  # of the largest current of the case
AMPS_AFLOAT = 1e-4  # the same, where a conductor floats
#: states in which some conductor floats, so that currents hang on leakage and capacitance
FLOATING = {"dead, bond open", "dead, bond closed", "outage, inverter off"}
#: houses without a bypass are cut off by one; the two lines of a split phase cancel, so that
#: no more than leakage of 0.2 mA is left to compare
CUT_OFF = {"cabin": "bypass"}


def loads_of(house: House) -> list[Element]:
    """What the circuits draw, as currents between line and neutral of the bar they hang on."""
    found = []
    for name, circuit in house.job.circuits.items():
        if any(load.gap("power_w") is not None for load in circuit.loads.values()):
            continue
        watts = sum(float(load.power_w) for load in circuit.loads.values())
        bar = f"{circuit.board}/{circuit.behind}" if circuit.behind else circuit.board
        for line in circuit.lines:
            volt = phasor(house.job, line)
            ampere = watts / len(circuit.lines) / volt.conjugate() * cmath.rect(1, -0.3)
            found.append(
                Element(f"load {name} {line}", f"{bar}.{line}", f"{bar}.N", "amp", ampere=ampere)
            )
    return found


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("state", OPEN)
@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_every_state_without_loads_agrees(house, request, state, case):
    """Every node within 1e-6 of U_0, every current within 1e-6 of the largest.

    With everything open the lines float and only 0.5 µA flow: 1e-4 there.
    """
    found = compare(house, Setting(state=state), case)
    afloat = {"everything open", CUT_OFF.get(request.node.callspec.params["house"])}
    assert found.volts < VOLTS, found
    assert found.amps < (AMPS_AFLOAT if state in afloat else AMPS), found


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("state", ["grid", "grid, inverter feeding", "island, on the battery"])
@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_states_with_loads_agree(house, state, case):
    """Load currents through every contact and core are the same as OpenDSS's."""
    loads = loads_of(house)
    if state.startswith("island"):
        loads = [e for e in loads if not e.a.startswith("main board")]
    found = compare(house, Setting(state=state), case, loads)
    assert found.largest_a > 1
    assert found.volts < VOLTS, found
    assert found.amps < AMPS, found


@pytest.mark.parametrize("state", sorted(FLOATING))
@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_a_dead_house_answers_a_test_current_alike(house, state):
    """10 mA from neutral to earth at the inverter; with the bond open N floats, so 1e-4."""
    probe = [Element("probe", "inverter.PE", "inverter.N", "amp", ampere=1e-2 + 0j)]
    found = compare(house, Setting(state=state), "cold", probe)
    assert found.largest_a > 1e-4
    assert found.volts < VOLTS, found
    assert found.amps < AMPS_AFLOAT, found
