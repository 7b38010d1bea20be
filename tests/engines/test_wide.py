"""The stored wide run belongs to the cases of today, lies within its bounds; a sample of it."""

from __future__ import annotations

import json

import pytest

from tests.engines.faults import compare_faults
from tests.engines.house import NAMES
from tests.engines.wide import (
    ALIVE,
    MISTAKEN,
    PARTS,
    STORED,
    VOLTS_AFLOAT,
    Tally,
    compare,
    every_third,
    floats,
    plan,
)

#: of the mistakes at every third place, each n-th is solved here
EVERY = {"farmhouse": 29}
FEW = 11
#: of the faults beside such a mistake, each n-th; a prime, so that all kinds and ends take part
FAULTS = 13


@pytest.fixture
def name(request) -> str:
    return request.node.callspec.params["house"]


def stored() -> dict:
    return json.loads(STORED.read_text(encoding="utf-8"))


def test_the_stored_run_lies_within_its_bounds():
    """Nothing wrong in any part; every part has cases; the worst is below what is promised."""
    found = stored()
    bounds = found["bounds"]
    assert max(bounds["volts"], bounds["amps"]) <= 1e-6
    assert found["faults in mistakes"]["held"]["cases"] > 50 * found["mistakes"]["held"]["cases"]
    for part in PARTS:
        assert found[part]["wrong"] == 0
        held, floating = found[part]["held"], found[part]["floating"]
        assert held["cases"] >= 7 * 8
        assert 0 < held["volts"] < bounds["volts"]
        assert 0 < held["amps"] < bounds["amps"]
        volts = bounds["floating volts, mistakes" if part in MISTAKEN else "volts"]
        assert 0 < floating["volts"] < volts
        assert 0 < floating["amps"] < bounds["floating amps"]
    arbitrated = found["faults in mistakes"]["arbitrated"]
    assert 0 < arbitrated["volts"] < bounds["arbitrated volts"]
    assert arbitrated["cases"] < found["faults in mistakes"]["floating"]["cases"] / 100


@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_the_stored_run_has_the_cases_of_today(house, name):
    """At least 20 kinds of mistake in every house, as many cases as would be solved now."""
    today = plan(house)
    assert today["kinds"] >= 20
    assert stored()["plan"][name] == today


def test_every_state_with_a_source_is_in_the_run_of_faults():
    """Dead states apart, and the one with every contact open."""
    assert len(ALIVE) == 7
    assert {"grid", "island, on the battery", "island, public supply back", "bypass"} <= set(ALIVE)


@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_a_sample_of_the_mistakes_agrees(house, name):
    """Each n-th mistake of the wide run, solved anew on both sides."""
    tally = Tally(VOLTS_AFLOAT)
    settings = list(every_third(house).items())[:: EVERY.get(name, FEW)]
    for key, setting in settings:
        floating = floats(house.elements_in(setting, "hot"))
        tally.take(compare(house, setting, "hot"), str(key), floating=floating)
    assert tally.held.count + tally.afloat.count == len(settings) >= 8
    assert not tally.wrong


@pytest.mark.parametrize("house", NAMES, indirect=True)
def test_a_sample_of_faults_beside_the_mistakes_agrees(house, name):
    """Each n-th mistake, others than above, with each n-th fault."""
    tally = Tally(VOLTS_AFLOAT)
    settings = list(every_third(house).items())[3 :: EVERY.get(name, FEW)]
    for key, setting in settings:
        floating = floats(house.elements_in(setting, "cold"))
        found = compare_faults(house, setting, "cold", every=FAULTS)
        tally.take(found, str(key), floating=floating, count=found.count)
    assert tally.held.count + tally.afloat.count >= 4 * len(settings) >= 32
    assert not tally.wrong
