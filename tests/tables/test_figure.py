"""A figure behaves as a number and keeps its source."""

import copy
import pickle

import pytest

from islewright.tables import Figure


def through_pickle(figure):
    """Send it to another process and back."""
    return pickle.loads(pickle.dumps(figure))  # noqa: S301 - our own bytes


@pytest.fixture
def figure():
    """A capacity as a table gives it."""
    return Figure(27.0, source="IEC 60364-5-52:2009 Table B.52.4", confirmed="page", spread=0.5)


def test_a_figure_counts_like_its_number(figure):
    """Arithmetic gives a plain float, so a source is never inherited."""
    assert figure == 27
    assert type(figure * 0.8) is float
    assert f"{figure:g} A" == "27 A"
    assert str(figure) == "27.0"


@pytest.mark.parametrize("through", [copy.copy, copy.deepcopy, through_pickle])
def test_a_copied_figure_keeps_its_source(figure, through):
    """Copies go to other processes with all they know."""
    twin = through(figure)

    assert (twin, twin.source, twin.confirmed, twin.spread) == (27.0, figure.source, "page", 0.5)


def test_a_figure_does_not_change(figure):
    """One figure is shared by all who look it up."""
    with pytest.raises(AttributeError, match="does not change"):
        figure.spread = 0.0
