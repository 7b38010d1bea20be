"""The only two places that compare a value with its limit."""

from __future__ import annotations

import math

import pytest

from islewright.findings import Status, at_least, at_most

NAN, INF = math.nan, math.inf


@pytest.mark.parametrize(
    ("value", "spread", "status"),
    [
        (9.0, 0.5, Status.MET),
        (9.5, 0.5, Status.MET),  # value + spread is the limit itself
        (10.0, 0.0, Status.MET),
        (9.5, 0.50001, Status.NEAR),
        (10.0, 1e-9, Status.NEAR),
        (10.0001, 0.0, Status.NOT_MET),
        (10.0001, 5.0, Status.NOT_MET),  # a wide spread never saves what is beyond
        (-3.0, 1.0, Status.MET),
    ],
)
def test_at_most_takes_the_spread_against_the_limit(value, spread, status):
    """Met up to value + spread = limit, near up to value = limit, else not met."""
    assert at_most(value, 10.0, "A", spread=spread).status is status


@pytest.mark.parametrize(
    ("value", "spread", "status"),
    [
        (11.0, 0.5, Status.MET),
        (10.5, 0.5, Status.MET),
        (10.0, 0.0, Status.MET),
        (10.5, 0.50001, Status.NEAR),
        (9.9999, 0.0, Status.NOT_MET),
        (9.9999, 5.0, Status.NOT_MET),
    ],
)
def test_at_least_is_its_mirror(value, spread, status):
    """The spread counts towards the limit from the other side."""
    assert at_least(value, 10.0, "A", spread=spread).status is status


@pytest.mark.parametrize("compare", [at_most, at_least])
@pytest.mark.parametrize(
    ("value", "limit", "spread"),
    [
        (NAN, 10.0, 0.0),
        (1.0, NAN, 0.0),
        (1.0, 10.0, NAN),
        (INF, 10.0, 0.0),
        (-INF, 10.0, 0.0),
        (1.0, INF, 0.0),
        (1.0, -INF, 0.0),
        (1.0, 10.0, INF),
        (1.0, 10.0, -0.1),
        (NAN, NAN, NAN),
    ],
)
def test_what_is_not_finite_is_undecided(compare, value, limit, spread):
    """A NaN must never be met, nor a limit of infinity, nor a spread that helps."""
    assert compare(value, limit, "A", spread=spread).status is Status.UNDECIDED


def test_the_spread_must_be_given():
    """No comparison has a silent spread of zero."""
    with pytest.raises(TypeError, match="spread"):
        at_most(1.0, 2.0, "A")
    with pytest.raises(TypeError, match="spread"):
        at_least(1.0, 2.0, "A")


def test_a_verdict_keeps_what_it_was_made_from():
    """Value, limit, unit, side and arithmetic stay with the verdict."""
    verdict = at_least(3.0, 2.0, "V", spread=0.5, because=["a line"], confirmed="page")

    assert (verdict.value, verdict.limit, verdict.unit, verdict.spread) == (3.0, 2.0, "V", 0.5)
    assert verdict.at_least
    assert verdict.because == ["a line"]
    assert verdict.confirmed == "page"
