"""The inverter's limit in closed form, against a scan of every factor."""

import numpy as np
import pytest

from islewright.network.fault import Faults, Ports
from islewright.network.limit import (
    ALL_TOGETHER,
    EACH_BY_ITSELF,
    largest_factor,
    limit_scale,
    pole_currents,
)
from islewright.network.state import ISLAND, ISLAND_GRID_BACK
from tests.network.examples import NAMES, network

LIMIT = 30.0
STEPS = np.linspace(0, 1, 20_001)


def scanned(a: np.ndarray, b: np.ndarray, limit: float) -> float:
    """The largest step at which no pole of one fault is over the limit; 0 where none is."""
    flow = np.abs(a[:, None] * STEPS + b[:, None]).max(axis=0)
    borne = STEPS[flow <= limit * (1 + 1e-9)]
    return float(borne.max()) if len(borne) else 0.0


def drawn(seed: int, rest: float) -> tuple[np.ndarray, np.ndarray]:
    """Currents of three poles in 200 faults: per factor, and what other sources add."""
    figures = np.random.default_rng(seed).normal(size=(2, 200, 3, 2)) @ [1, 1j]
    return figures[0] * 80, figures[1] * rest


@pytest.mark.parametrize("rest", [0.0, 5.0, 25.0])
def test_the_closed_form_is_the_largest_factor_of_a_scan(rest):
    """Within a step of the scan, with the inverter alone and with another source beside it."""
    a, b = drawn(7, rest)

    found = largest_factor(a, b, np.full(200, LIMIT))

    assert found == pytest.approx(
        [scanned(*pair, LIMIT) for pair in zip(a, b, strict=True)], abs=1e-4
    )


def test_what_no_factor_can_hold_is_switched_off():
    """Another source drives more than the limit through a pole: the inverter gives nothing."""
    a, b = np.array([[1 + 0j, 1j]]), np.array([[0j, 2 * LIMIT + 0j]])

    assert largest_factor(a, b, np.array([LIMIT])).tolist() == [0.0]


def test_a_pole_without_current_leaves_the_factor_alone():
    """Nothing flows, nothing is limited."""
    nothing = np.zeros((1, 3), dtype=complex)

    assert largest_factor(nothing, nothing, np.array([LIMIT])).tolist() == [1.0]


@pytest.mark.parametrize("state", [ISLAND, ISLAND_GRID_BACK], ids=lambda s: s.name)
@pytest.mark.parametrize("how", [ALL_TOGETHER, EACH_BY_ITSELF])
@pytest.mark.parametrize("name", NAMES)
def test_no_pole_of_an_example_gives_more_than_its_limit(name, how, state):
    """In every fault of the island; where it is reached, one pole stands at it."""
    net = network(name)
    solved = net.solved(state)
    for count in (1, 2):
        faults = Faults(solved, Ports(solved.layout, count))
        scale = limit_scale(faults, LIMIT, how)
        flow = np.abs(np.einsum("fke,fe->fk", pole_currents(faults), scale)).max(axis=1, initial=0)
        held = (scale < 1).any(axis=1)

        assert (flow <= LIMIT * (1 + 1e-9)).all()
        assert flow[held] == pytest.approx(LIMIT)
