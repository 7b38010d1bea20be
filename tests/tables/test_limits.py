"""Times, voltages and drops that a standard allows."""

import math

import pytest

from islewright.tables import NotInTable, limits


@pytest.mark.parametrize(
    ("system", "u0_v", "circuit", "time_s"),
    [
        ("TN", 120, "final", 0.8),
        ("TN", 120.5, "final", 0.4),
        ("TN", 230, "final", 0.4),
        ("TN", 277, "final", 0.2),
        ("TN", 500, "final", 0.1),
        ("TT", 120, "final", 0.3),
        ("TT", 230, "final", 0.2),
        ("TT", 400, "final", 0.07),
        ("TT", 401, "final", 0.04),
        ("TN", 230, "distribution", 5),
        ("TT", 230, "distribution", 1),
    ],
)
def test_the_time_hangs_on_system_voltage_and_circuit(system, u0_v, circuit, time_s):
    """Table 41.1, its bounds included upwards."""
    assert limits.disconnection_time_s(system, u0_v, circuit=circuit) == time_s


def test_direct_current_takes_the_newer_edition():
    """TN, 120 to 230 V d.c.: 1 s since 2017, 5 s before."""
    assert limits.disconnection_time_s("TN", 230, supply="dc") == 1


def test_touch_voltages_are_lower_in_special_places():
    """50 V and 25 V a.c."""
    assert limits.touch_voltage_v() == 50
    assert limits.touch_voltage_v("special") == 25
    assert limits.touch_voltage_v(supply="dc") == 120


def test_a_touch_voltage_may_last_as_long_as_the_next_row_says():
    """Up to the conventional limit for good; between rows the shorter time."""
    assert limits.touch_time_s(50) == math.inf
    assert limits.touch_time_s(51) == limits.touch_time_s(75) == 0.6
    assert limits.touch_time_s(50, place="wet") == 0.48
    assert limits.touch_time_s(220).spread == pytest.approx(0.01)


def test_a_private_supply_may_drop_more_and_a_little_with_length():
    """0.005 % for each metre beyond 100 m, half a per cent at most."""
    assert limits.drop_limit_percent("lighting") == 3
    assert limits.drop_limit_percent("other", length_m=500) == 5
    assert limits.drop_limit_percent("other", supply="private") == 8
    assert limits.drop_limit_percent("lighting", supply="private", length_m=140) == 6.2
    assert limits.drop_limit_percent("lighting", supply="private", length_m=900) == 6.5


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: limits.disconnection_time_s("TN", 50), r"above 50 V"),
        (lambda: limits.disconnection_time_s("IT", 230), r"TN and TT"),
        (lambda: limits.touch_voltage_v("bath"), r"normal and special"),
        (lambda: limits.touch_time_s(600), r"nearest is 500 V"),
        (lambda: limits.touch_time_s(60, place="damp"), r"dry and wet"),
        (lambda: limits.body_impedance_ohm(60), r"50 V and 100 V"),
        (lambda: limits.drop_limit_percent("heating"), r"lighting and other"),
    ],
)
def test_what_is_not_listed_names_what_is(call, message):
    """No row, no figure."""
    with pytest.raises(NotInTable, match=message):
        call()
