"""The inverse by parts is the inverse."""

import numpy as np
import pytest

from islewright.network.condense import Response
from islewright.network.solve import Solved
from islewright.network.state import GRID, STATES
from tests.network.examples import NAMES, network


def opened(solved: Solved) -> np.ndarray:
    return solved.layout.nodes + np.flatnonzero(~solved.closed)


def dense(solved: Solved) -> np.ndarray:
    """The whole matrix of a state, inverted as it is."""
    matrix, at = solved.layout.matrix.copy(), opened(solved)
    matrix[at, :], matrix[:, at] = 0, 0
    matrix[at, at] = 1
    return np.linalg.inv(matrix)


@pytest.mark.parametrize("case", ["hot", "cold"])
@pytest.mark.parametrize("state", STATES, ids=lambda s: s.name)
@pytest.mark.parametrize("name", NAMES)
def test_every_state_has_the_same_voltages_either_way(name, state, case):
    """Response to each EMF and source currents, against the dense inverse."""
    solved = network(name).solved(state, case=case)
    whole = dense(solved)

    at = solved.layout.nodes + np.flatnonzero([b.emf != 0 for b in solved.parts.branches])
    largest = np.abs(whole[:, at]).max()
    assert np.abs(solved.inverse[:, at] - whole[:, at]).max() <= 1e-9 * largest


@pytest.mark.parametrize("state", STATES, ids=lambda s: s.name)
@pytest.mark.parametrize("name", NAMES)
def test_single_columns_are_those_of_the_whole(name, state):
    """And what bounds the condition without them bounds it from above."""
    solved = network(name).solved(state)
    response = Response(solved.layout.condensed, opened(solved))
    each = np.arange(len(solved.inverse))

    columns, bound = response.columns(each), response.largest_column()

    whole = response.whole
    assert np.abs(columns - whole).max() <= 1e-9 * np.abs(whole).max()
    assert np.abs(whole).sum(axis=0).max() <= bound * (1 + 1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_a_contact_within_a_bar_can_be_opened(name):
    """Its bar is not taken out beforehand then, and the answer holds."""
    net = network(name)
    inner = {int(i) for bars in net.shape.bars for i in bars.ravel()}
    pole = next(b.name for i, b in enumerate(net.parts.branches) if net.shape.nodes + i in inner)
    state = GRID.but("one pole open", opened=frozenset({pole}))
    solved = net.solved(state)

    assert not net.layout("hot").condensed.reaches(opened(solved))
    assert np.allclose(
        solved.inverse, dense(solved), rtol=0, atol=1e-9 * np.abs(solved.inverse).max()
    )
    assert abs(solved.current(pole)) < 1e-12


@pytest.mark.parametrize("name", NAMES)
def test_bars_do_not_touch_each_other(name):
    """No element lies between two bars: each can be inverted by itself."""
    layout = network(name).layout("hot")
    bars = [bar for size in layout.shape.bars for bar in size]

    assert len(bars) > 2
    for i, bar in enumerate(bars):
        for other in bars[i + 1 :]:
            assert not layout.matrix[np.ix_(bar, other)].any()
