"""A second solver: stored answers of ngspice, and ngspice itself where it is present."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tests.engines import spice
from tests.engines.faults import OurFaults, faults_of
from tests.engines.house import GROUPED
from tests.engines.spice_cases import STORED, cases, fault_at, solve

VOLTS = 1e-6  # of U_0


def stored() -> dict:
    return json.loads(STORED.read_text(encoding="utf-8"))


@pytest.fixture
def name(request) -> str:
    return request.node.callspec.params["house"]


def test_stored_answers_say_where_they_come_from():
    """The file names its program with version, and the command that makes it."""
    found = stored()
    assert found["program"].startswith("ngspice-")
    assert "spice_cases" in found["made by"]


@pytest.mark.parametrize("house", GROUPED, indirect=True)
def test_stored_answers_belong_to_the_netlists_of_today(house, name):
    """A netlist that differs from the one solved makes its answer stale: fail, solve again."""
    kept = {
        case: row["netlist"] for case, row in stored()["cases"].items() if case.startswith(name)
    }
    today = {
        case: spice.digest(spice.netlist(elements, house.hertz, case))
        for case, (elements, _, _) in cases(house, name).items()
    }
    assert kept == today


@pytest.mark.parametrize("house", GROUPED, indirect=True)
def test_the_engine_agrees_with_the_stored_answers(house, name):
    """Every node of every case within 1e-6 of U_0."""
    kept, a = stored()["cases"], fault_at(house)[0]
    for case, (elements, setting, temperature) in cases(house, name).items():
        theirs = {n: complex(*v) for n, v in kept[case]["volts"].items()}
        assert np.isfinite(list(theirs.values())).all()
        solved = house.solved(setting, temperature)
        x, nodes = solved.x, list(theirs)
        if elements[-1].name == "fault":
            ours = OurFaults(house, setting, temperature, elements[-1].ohm.real)
            fault = next(f for f in faults_of(elements, house.job) if f.pairs[0] == (a, f.exposed))
            x = ours.answer(fault)[1]
            nodes = [n for n in theirs if n in solved.parts.index]
        off = np.max([abs(solved.voltage(*n.rsplit(".", 1), x=x) - theirs[n]) for n in nodes])
        assert off < VOLTS * house.u0, case


@pytest.mark.skipif(not spice.present(), reason="ngspice is not on this machine")
@pytest.mark.parametrize("house", GROUPED, indirect=True)
def test_ngspice_still_gives_the_stored_answers(house, name):
    """The program of this machine, run on the netlists of today."""
    kept = stored()["cases"]
    for case, row in solve(house, name).items():
        assert row["netlist"] == kept[case]["netlist"]
        assert row["volts"].keys() == kept[case]["volts"].keys()
        new, old = (np.array(list(r["volts"].values())) for r in (row, kept[case]))
        assert np.abs(new - old).max() < VOLTS * house.u0 / 10, case
