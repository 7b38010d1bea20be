"""Wiring mistakes, healthy and with faults, against OpenDSS."""

from __future__ import annotations

import numpy as np
import pytest

from tests.engines.arbiter import volts_of
from tests.engines.faults import compare_faults
from tests.engines.house import compare
from tests.engines.mistakes import circuit_of, mistakes_of
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting

VOLTS = 1e-6  # of U_0
AMPS = 1e-6  # of the largest current of the case
#: where a conductor is held by 1 nS alone, double precision itself leaves this of U_0; the
#: arbiter's extended precision finds both solvers off by as much
VOLTS_AFLOAT = 1e-5
AFLOAT = {
    "line and earth swapped at a cable",
    "earth broken at a circuit",
    "neutral broken at a circuit",
    "earthing terminal not linked",
    "electrode not connected",
}
SEEN_V = 1e-6
#: with faults: each n-th of the house, a different one for each mistake
EVERY = {"cottage": 5, "terrace": 17, "farmhouse": 41, "workshop": 31}
#: houses with RCD groups and a bond, which the mistakes are about
NAMES = tuple(EVERY)


@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_every_mistake_agrees(house):
    """Heaters on: voltages within 1e-6 of U_0, currents within 1e-6 of the largest."""
    settings = mistakes_of(house)
    assert len(settings) > 30
    found = {key: compare(house, setting, "hot") for key, setting in settings.items()}
    assert not {key: d for key, d in found.items() if not agrees(key, d)}


def agrees(key: tuple[str, str], found) -> bool:
    """Within the bounds; a comparison with "not a number" is never within."""
    return found.volts < (VOLTS_AFLOAT if key[0] in AFLOAT else VOLTS) and found.amps < AMPS


@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_faults_in_a_house_with_a_mistake_agree(house, request):
    """Some faults of each mistake, cold: fault current, voltages, currents."""
    every = EVERY[request.node.callspec.params["house"]]
    wrong = {}
    for key, setting in mistakes_of(house).items():
        found = compare_faults(house, setting, "cold", every=every)
        if not agrees(key, found):
            wrong[key] = found
    assert not wrong


@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_every_mistake_shows(house):
    """A mistake moves voltages in one state at least; else the comparison compares nothing."""
    shift: dict[str, float] = {}
    for (name, state), setting in mistakes_of(house).items():
        heaters = tuple(c for c in setting.changes if c.name.startswith("heater"))
        before = house.solved(Setting(state=state, changes=heaters), "hot")
        after = house.solved(setting, "hot")
        nodes = [*before.parts.nodes, *circuit_nodes(house)]
        seen = (abs(volts(after, n) - volts(before, n)) for n in nodes)
        shift[name] = max(shift.get(name, 0.0), *seen)
    assert not [name for name, most in shift.items() if most < SEEN_V]


def circuit_nodes(house) -> list[str]:
    """Far end of the circuit that has the mistakes."""
    name = circuit_of(house)
    return [f"circuit {name}/far.{c}" for c in house.job.circuits[name].cores]


def volts(solved, node: str) -> complex:
    return solved.voltage(*node.rsplit(".", 1))


@pytest.mark.parametrize("house", ["cottage", "terrace"], indirect=True)
def test_extended_precision_decides_where_a_conductor_floats(house):
    """Both solvers lie within 1e-5 of U_0 of a solution in extended precision."""
    for key, setting in mistakes_of(house).items():
        if key[0] not in AFLOAT:
            continue
        elements = house.elements_in(setting, "hot")
        exact = volts_of(elements, house.hertz)
        circuit = Circuit(elements, house.hertz)
        theirs = dict(zip(circuit.nodes, circuit.volts(), strict=True))
        solved = house.solved(setting, "hot")
        bound = VOLTS_AFLOAT * house.u0
        assert np.max([abs(theirs[n] - exact[n]) for n in theirs]) < bound, key
        assert np.max([abs(volts(solved, n) - exact[n]) for n in theirs]) < bound, key
