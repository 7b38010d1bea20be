"""Who ends a fault first."""

import math

import pytest

from islewright.findings import Question
from islewright.network.order import alive_after, ranked_bars, worse_of
from islewright.network.sheet import RaceBar, RaceRow
from islewright.network.way import Guard

FIRST, MAY, LATER = "first in every case", "may be first", "later"


def bar(earliest: float, latest: float, **more) -> RaceBar:
    return RaceBar(
        role="device", name="B16", current_a=1.0, earliest_s=earliest, latest_s=latest,
        rank=LATER, **more,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("times", "ranks"),
    [
        ([], []),
        ([(0.0, 0.3)], [FIRST]),
        ([(0.0, 0.04), (0.1, 5.0)], [FIRST, LATER]),
        ([(0.1, 5.0), (0.0, 0.04)], [LATER, FIRST]),
        ([(0.0, 0.3), (0.1, 0.2)], [MAY, MAY]),
        ([(0.0, 0.1), (0.0, 0.1)], [MAY, MAY]),
        ([(0.0, 0.1), (0.1, 0.5)], [FIRST, LATER]),
        ([(math.inf, math.inf), (1.0, 3600.0)], [LATER, FIRST]),
        ([(math.inf, math.inf)], [LATER]),
        ([(1.0, math.inf), (math.inf, math.inf)], [MAY, LATER]),
        ([(0.0, 0.3), (0.2, 9.0), (0.4, 1.0)], [MAY, MAY, LATER]),
    ],
)
def test_ranks_follow_from_the_intervals(times, ranks):
    """First in every case: surely open before any other can; later: another surely opens before."""
    assert [b.rank for b in ranked_bars([bar(*t) for t in times])] == ranks


def test_a_device_whose_time_is_not_known_is_never_first_in_every_case():
    """It may be first; that it must be nobody can say."""
    unknown = bar(0.0, 0.01, questions=(Question(field="x", ask="?"),))

    assert ranked_bars([unknown, bar(1.0, 2.0)])[0].rank == MAY


def test_everything_stays_alive_where_nothing_opens():
    """Not one bar opens: the fault stays on."""
    guards = [Guard("device", "B16", "device x", leaves="all but this circuit")]

    assert "stays on" in alive_after(ranked_bars([bar(math.inf, math.inf)]), guards)
    assert alive_after(ranked_bars([bar(0.0, 0.1)]), guards) == "all but this circuit"


def test_the_source_leaves_nothing():
    """A bar beyond the guards is the inverter's: once it has stopped, the island is dark."""
    assert alive_after(ranked_bars([bar(0.0, 0.1)]), []) == "nothing"


def row(current_a: float, left_v: float, touch_v: float, *times: tuple[float, float]) -> RaceRow:
    return RaceRow(
        place="circuit x", kind="L1-PE", end="far", current_a=current_a, limited=True,
        voltage_left_v=left_v, touch_v=touch_v, touch_earth_v=touch_v, allowed_s=0.4,
        bars=tuple(bar(*t) for t in times), alive_after="", state="island",
    )  # fmt: skip


def test_of_two_ways_the_worse_figure_counts_each_time():
    """The later certain time, the smaller current and voltage left, the higher touch voltage."""
    one = row(30.0, 12.0, 4.0, (0.1, 0.2), (1.0, math.inf))
    other = row(28.0, 15.0, 6.0, (0.0, 0.1), (2.0, 9.0))

    for found in (worse_of(one, other), worse_of(other, one)):
        assert (found.current_a, found.voltage_left_v, found.touch_v) == (28.0, 12.0, 6.0)
        assert [(b.earliest_s, b.latest_s) for b in found.bars] == [(0.0, 0.2), (1.0, math.inf)]
