"""What a fault leaves behind, worked out for all at once, against each one by itself."""

import numpy as np
import pytest

from islewright.network.earth_faults import EarthFaults
from islewright.network.fault import Ports
from islewright.network.state import GRID, ISLAND
from tests.network.examples import NAMES, job, network
from tests.rules.houses import studied


@pytest.mark.parametrize("state", [GRID, ISLAND], ids=lambda s: s.name)
@pytest.mark.parametrize("name", NAMES)
def test_figures_of_all_faults_are_those_of_each_alone(name, state):
    """Touch voltages, residual and pole currents, from the one fault's whole solution."""
    solved = network(name).solved(state)
    faults = EarthFaults(job(name), solved, Ports(solved.layout, 1))
    met = solved.at("main earthing terminal", "PE")
    groups = {b.group for b in solved.parts.branches if b.group.startswith(("RCD ", "device "))}
    places = sorted({(n.place, n.end) for n in faults.ports.names})
    for place, end in places[::3]:
        for at in faults.at(place, end):
            x, port = faults.x[:, at.column], faults.port_amps[at.column]
            ports = faults.ports
            part = ports.pe_weights[at.row] @ x[ports.nodes[at.row]] + ports.pe_local[at.row] @ port
            assert faults.touch_v(at) == pytest.approx((abs(part - x[met]), abs(part)))
            sight = faults.sight(at)
            k = sight.column[at.column]
            for group in groups:
                poles = x[solved.layout.shape.poles[group]]
                assert sight.residual_a(group)[k] == pytest.approx(abs(poles.sum()))
                assert sight.pole_a(group)[k] == pytest.approx(np.abs(poles).max())


@pytest.mark.parametrize("name", NAMES)
def test_what_a_circuit_draws_from_its_bars_is_what_its_own_rcd_sees(name):
    """Residual current of a circuit = sum of its live conductors = what returns by PE or earth."""
    solved = network(name).solved(GRID)
    faults = EarthFaults(job(name), solved, Ports(solved.layout, 1))
    for stub in solved.parts.stubs:
        at = faults.worst(f"circuit {stub.circuit}", "far")
        if at is not None:
            sight = faults.sight(at)
            seen = sight.own_residual_a[sight.column[at.column]]
            assert seen == pytest.approx(faults.amps[at.column], rel=1e-3)


def test_the_worst_fault_is_the_one_with_the_smallest_current():
    """Of the three lines of a three-phase circuit."""
    solved = network("farmhouse").solved(GRID)
    faults = EarthFaults(job("farmhouse"), solved, Ports(solved.layout, 1))
    every = faults.at("circuit cooker", "far")

    assert len(every) == 3
    assert faults.amps[faults.worst("circuit cooker", "far").column] == min(
        faults.amps[at.column] for at in every
    )
    assert faults.worst("circuit of another house", "far") is None


def test_where_it_is_not_stated_the_phases_are_limited_both_ways(tmp_path):
    """Each way gives the figures that it gives where it is stated."""
    limits = "three-phase inverter.limits"
    unknown, each, together = (
        studied("tn-c-s", {limits: word}, tmp_path).island_faults
        for word in ("unknown", "each phase by itself", "all together")
    )

    assert each.other is None
    assert together.other is None
    assert unknown.other is not None
    assert not np.allclose(together.x, each.x)
    np.testing.assert_allclose(unknown.x, together.x)
    np.testing.assert_allclose(unknown.other.x, each.x)
    for found in (unknown, unknown.other):
        assert found.amps.max() == pytest.approx(30.0, rel=1e-5)  # capacities add a hair


def test_one_phase_limits_but_one_way(tmp_path):
    """Nothing hangs on it, so nothing need be asked."""
    of = studied("tt", {"one-phase inverter.limits": "unknown"}, tmp_path)

    assert of.island_faults.other is None
