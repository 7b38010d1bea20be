"""Times of devices as intervals, and the currents at which they surely open."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from islewright.tables import NotInTable, device
from islewright.tables.gates import Gate, Gates

BREAKERS = [(curve, i_n) for curve in "BCD" for i_n in (6, 16, 32, 63, 125)]


@pytest.mark.parametrize(
    ("curve", "i_n_a", "multiple", "earliest", "latest"),
    [
        ("B", 16, 0.5, math.inf, math.inf),
        ("B", 16, 1.13, math.inf, math.inf),
        ("B", 16, 1.3, 1, math.inf),
        ("B", 16, 1.45, 1, 3600),
        ("B", 16, 1.8, 1, 3600),
        ("B", 100, 1.8, 1, 7200),
        ("B", 16, 2.55, 1, 60),
        ("B", 40, 2.55, 1, 120),
        ("B", 16, 2.7, 0.1, 60),
        ("B", 16, 3, 0.1, 60),
        ("B", 16, 4, 0, 60),
        ("B", 16, 5, 0, 0.1),
        ("B", 16, 50, 0, 0.1),
        ("C", 10, 5, 0.1, 60),
        ("C", 10, 9.9, 0, 60),
        ("C", 10, 10, 0, 0.1),
        ("D", 20, 10, 0.1, 60),
        ("D", 20, 19, 0, 60),
        ("D", 20, 20, 0, 0.1),
    ],
)
def test_a_breakers_time_lies_between_the_gates(curve, i_n_a, multiple, earliest, latest):
    """The gate above bounds the earliest time, the gate below the latest."""
    assert device.mcb_time_s(curve, i_n_a, multiple * i_n_a) == (earliest, latest)


@pytest.mark.parametrize(
    ("curve", "i_n_a", "multiple", "latest"),
    [("B", 16, 4, 45), ("B", 63, 4, 90), ("C", 16, 7, 15), ("D", 6, 12, 8), ("D", 16, 12, 4)],
)
def test_the_edition_of_2015_narrows_the_band(curve, i_n_a, multiple, latest):
    """Only that edition bounds test d from above, so only who asks for it gets it."""
    current = multiple * i_n_a

    assert device.mcb_time_s(curve, i_n_a, current, edition="2015")[1] == latest
    assert device.mcb_time_s(curve, i_n_a, current)[1] >= latest


@given(
    breaker=st.sampled_from(BREAKERS),
    pair=st.tuples(st.floats(0, 60), st.floats(0, 60)).map(sorted),
)
def test_more_current_never_opens_a_breaker_later(breaker, pair):
    """Both ends of the interval fall with the current, and stay in order."""
    curve, i_n = breaker
    (early_1, late_1), (early_2, late_2) = (device.mcb_time_s(curve, i_n, x * i_n) for x in pair)

    assert early_1 >= early_2
    assert late_1 >= late_2
    assert early_1 <= late_1


@settings(deadline=None)
@given(st.lists(st.floats(-5, 3000), max_size=30))
def test_many_currents_give_what_each_gives(currents):
    """The array functions and the scalar ones are one table."""
    flow = np.array(currents)
    for many, one in (
        (device.mcb_times("C", 16, flow), lambda i: device.mcb_time_s("C", 16, i)),
        (device.fuse_gg_times(63, flow), lambda i: device.fuse_gg_time_s(63, i)),
        (device.rcd_times(0.03, "general", flow), lambda i: device.rcd_time_s(0.03, "general", i)),
    ):
        wanted = np.array([one(i) for i in currents]).reshape(-1, 2)
        np.testing.assert_array_equal(np.stack(many, axis=-1).reshape(-1, 2), wanted)


@pytest.mark.parametrize("bad", [math.nan, -1.0])
def test_a_current_that_is_none_has_no_time(bad):
    """Not a number stays not a number, so no comparison can be met by it."""
    times = [*device.mcb_time_s("B", 16, bad), *device.rcd_time_s(0.03, "S", bad)]
    times += [float(t[0]) for t in device.fuse_gg_times(63, np.array([bad]))]

    assert all(math.isnan(t) for t in times)


@pytest.mark.parametrize(("curve", "i_n_a"), BREAKERS)
@pytest.mark.parametrize("within_s", [0.1, 0.2, 0.4, 0.8, 1, 5, 60, 120, 3600, 7200])
def test_a_breaker_has_opened_in_time_at_its_opening_current(curve, i_n_a, within_s):
    """Opening current and opening time are one statement."""
    current = device.mcb_opening_current_a(curve, i_n_a, within_s)

    assert device.mcb_time_s(curve, i_n_a, current)[1] <= within_s
    assert device.mcb_time_s(curve, i_n_a, math.nextafter(current, 0))[1] > within_s


@pytest.mark.parametrize(("curve", "multiple"), [("B", 5), ("C", 10), ("D", 20)])
@pytest.mark.parametrize("within_s", [0.1, 0.4, 5])
def test_for_the_times_of_the_standard_the_upper_end_of_the_band_counts(curve, multiple, within_s):
    """5, 10 and 20 times the rated current."""
    assert device.mcb_opening_current_a(curve, 16, within_s) == multiple * 16
    assert device.mcb_band_a(curve, 16)[1] == multiple * 16


@pytest.mark.parametrize("i_n_a", device.ratings_a("gG"))
@pytest.mark.parametrize("within_s", [0.1, 0.4, 5, 7200])
def test_a_fuse_has_melted_in_time_at_its_opening_current(i_n_a, within_s):
    """Opening current and melting time are one statement."""
    current = device.fuse_gg_opening_current_a(i_n_a, within_s)

    assert device.fuse_gg_time_s(i_n_a, current)[1] <= within_s
    assert device.fuse_gg_time_s(i_n_a, math.nextafter(current, 0))[1] > within_s


@pytest.mark.parametrize("i_n_a", [r for r in device.ratings_a("gG") if r not in (8, 12)])
@pytest.mark.parametrize("within_s", [0.4, 5])
def test_a_british_fuse_opens_within_the_gates_of_all(i_n_a, within_s):
    """Two standards, one fuse: the printed currents lie at or below those of the gates."""
    if i_n_a > 63 and within_s < 5:
        with pytest.raises(NotInTable, match=r"no current is listed for 0\.4 s"):
            device.fuse_gg_opening_current_a(i_n_a, within_s, standard="BS 88-2")
        return
    printed = device.fuse_gg_opening_current_a(i_n_a, within_s, standard="BS 88-2")
    earliest, latest = device.fuse_gg_time_s(i_n_a, printed)

    assert printed <= device.fuse_gg_opening_current_a(i_n_a, within_s)
    assert earliest <= within_s <= latest
    assert 0 < printed.spread < 0.05 * printed


def test_a_fuse_two_ratings_up_holds_where_the_smaller_has_melted():
    """Selectivity 1 to 1.6: what melts one in 0.1 s, the one two steps up stands."""
    ratings = [r for r in device.ratings_a("gG") if r >= 16]
    for small, large in zip(ratings, ratings[2:], strict=False):
        melts = device.fuse_gg_opening_current_a(small, 0.1)
        assert device.fuse_gg_time_s(large, melts)[0] >= 0.1


@pytest.mark.parametrize(
    ("i_dn_a", "kind", "multiple", "earliest", "latest"),
    [
        (0.03, "general", 0.5, math.inf, math.inf),
        (0.03, "general", 0.9, 0, math.inf),
        (0.03, "general", 1, 0, 0.3),
        (0.03, "general", 2, 0, 0.15),
        (0.03, "general", 5, 0, 0.15),
        (0.03, "general", 8.4, 0, 0.04),
        (0.1, "general", 5, 0, 0.04),
        (0.3, "S", 0.5, math.inf, math.inf),
        (0.3, "S", 0.9, 0.13, math.inf),
        (0.3, "S", 1, 0.13, 0.5),
        (0.3, "S", 2, 0.06, 0.2),
        (0.3, "S", 5, 0.05, 0.15),
        (0.3, "S", 100, 0.04, 0.15),
        (0.3, "S", 2000, 0, 0.15),
    ],
)
def test_an_rcds_time_hangs_on_the_multiple(i_dn_a, kind, multiple, earliest, latest):
    """Up to half the rating it holds; up to 30 mA the last gate may be 0.25 A."""
    assert device.rcd_time_s(i_dn_a, kind, multiple * i_dn_a) == (earliest, latest)


@pytest.mark.parametrize(
    ("i_dn_a", "kind", "within_s", "current_a"),
    [
        (0.03, "general", 0.4, 0.03),
        (0.03, "general", 0.3, 0.03),
        (0.03, "general", 0.2, 0.06),
        (0.03, "general", 0.04, 0.25),
        (0.3, "general", 0.04, 1.5),
        (0.1, "S", 5, 0.1),
        (0.1, "S", 0.4, 0.2),
        (0.1, "S", 0.15, 0.5),
    ],
)
def test_an_rcd_opens_in_time_from_this_residual_current(i_dn_a, kind, within_s, current_a):
    """The multiple grows as the time shrinks."""
    assert device.rcd_opening_current_a(i_dn_a, kind, within_s) == pytest.approx(current_a)


def test_the_delayed_rcd_waits_for_the_one_behind_it():
    """At 1, 2 and 5 times 300 mA the S device still holds when a 30 mA device has opened."""
    for current in (0.3, 0.6, 1.5):
        assert (
            device.rcd_time_s(0.3, "S", current)[0]
            >= device.rcd_time_s(0.03, "general", current)[1]
        )


def test_conventional_currents_are_those_of_the_standards():
    """I_2: 1.45 I_n for breakers, 1.6 I_n for fuses from 16 A on."""
    assert device.mcb_conventional_a(16) == pytest.approx(23.2)
    assert device.fuse_conventional_a(63) == pytest.approx(100.8)
    assert device.fuse_conventional_a(10) == pytest.approx(19)


def test_let_through_energy_hangs_on_class_rating_and_capacity():
    """A limiting class lets less through, a larger rating more."""
    small = device.mcb_let_through_a2s("B", 16, 6000)

    assert small == 35000
    assert small < device.mcb_let_through_a2s("B", 20, 6000)
    assert small < device.mcb_let_through_a2s("C", 16, 6000)
    assert small < device.mcb_let_through_a2s("B", 16, 6000, energy_class=2)


def test_ratings_stand_in_order():
    """For the messages that name the nearest."""
    for ratings in (
        device.ratings_a(),
        device.ratings_a("gG"),
        device.breaking_capacities_a(),
        device.rcd_ratings_a(),
    ):
        assert list(ratings) == sorted(set(ratings))
    assert 32 in device.ratings_a()
    assert 33 not in device.ratings_a()


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: device.mcb_time_s("E", 16, 20), r"B, C and D"),
        (lambda: device.mcb_time_s("B", 160, 20), r"nearest is 125 A"),
        (lambda: device.mcb_time_s("B", 0, 20), r"nearest is 2 A"),
        (lambda: device.mcb_band_a("K", 16), r"B, C and D"),
        (lambda: device.mcb_opening_current_a("B", 16, 0.05), r"shortest time is 0.1 s, at 80 A"),
        (lambda: device.fuse_gg_time_s(35, 100), r"32 A and 40 A"),
        (lambda: device.fuse_gg_opening_current_a(16, 0.01), r"shortest time is 0.1 s"),
        (lambda: device.fuse_gg_opening_current_a(16, 0.4, standard="X"), r"BS 88-2"),
        (
            lambda: device.fuse_gg_opening_current_a(12, 0.4, standard="BS 88-2"),
            r"10 A and 16 A",
        ),
        (lambda: device.rcd_time_s(0.03, "fast", 0.03), r"general and S"),
        (lambda: device.rcd_time_s(0, "S", 0.03), r"nearest is 0.006 A"),
        (lambda: device.rcd_opening_current_a(0.03, "S", 0.04), r"shortest time is 0.15 s"),
        (lambda: device.mcb_let_through_a2s("D", 16, 6000), r"B and C up to 32 A"),
        (lambda: device.ratings_a("relay"), r"breaker and gG"),
    ],
)
def test_what_the_standards_do_not_say_is_not_answered(call, message):
    """Beyond the gates there is no time, only a message."""
    with pytest.raises(NotInTable, match=message):
        call()


def test_gates_that_do_not_fall_are_refused():
    """A slip in a data file shows when the device is first asked for."""
    wrong = [Gate(10, 1.0, "", "page"), Gate(20, 2.0, "", "page")]

    with pytest.raises(ValueError, match="do not fall"):
        Gates(earliest=[], latest=wrong)
