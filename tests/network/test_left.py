"""Voltage left at each RCD during a fault: an RCD that needs some has that of its own bar."""

import math

import pytest

from islewright.network.follow import race
from islewright.network.race import needs_more
from islewright.network.solve import Network
from islewright.network.state import ISLAND
from islewright.tables.profile import profile
from tests.network.probe import earth_faults
from tests.network.small import CONTACT, DEVICE, ONE_PHASE, RCD, core, job_of, parts_of

LIMIT_A = 40
RESIDUAL = "residual: {trips at: 300 mA, type: A, needs voltage: 22 V}"
#: 100 m to the island board behind a device with a residual part, at the bond's bar
FAR = ONE_PHASE | {"house_side": "100", "rcd": RCD.replace("voltage: none", "voltage: 22 V")}
AT_THE_SWITCH = (
    "length: 100 m}",
    f"length: 100 m, device: {{curve: C, rated current: 40 A, {RESIDUAL}}}}}",
)


def bars(tmp_path, *exchanged, words=FAR):
    job = job_of(tmp_path, words, *exchanged)
    net = Network(parts_of(job))
    rows = race(job, earth_faults(job, net, ISLAND, case="cold"), profile("IEC base"))
    row = next(row for row in rows if row.place == "circuit heater")
    return row, {bar.name: bar for bar in row.bars}


def test_each_rcd_has_the_voltage_of_its_own_bar(tmp_path):
    """By hand: 40 A through what lies behind the bar, line and PE, back to the bond."""
    row, found = bars(tmp_path, AT_THE_SWITCH)
    circuit, cable = core(2.5, 20), core(10, 100)
    # the RCD's contact and the device's, both ways of the circuit, PE to the bond of 1 mohm
    board = 2 * CONTACT + 2 * circuit + CONTACT + cable + 1e-3
    switch = CONTACT + cable + board

    assert row.current_a == pytest.approx(LIMIT_A, rel=1e-4)
    assert found["R1"].volts == pytest.approx(LIMIT_A * abs(board), rel=1e-3)
    assert found["RCD of house side"].volts == pytest.approx(LIMIT_A * abs(switch), rel=1e-3)


def test_an_rcd_near_the_source_trips_where_one_behind_the_long_cable_lacks_voltage(tmp_path):
    """Both need 22 V: about 19 V are left at the board and 27 V at the switch."""
    _, found = bars(tmp_path, AT_THE_SWITCH)

    assert found["R1"].volts < 22 < found["RCD of house side"].volts
    assert math.isinf(found["R1"].latest_s)
    assert found["RCD of house side"].latest_s <= 0.3


def test_an_rcbo_has_the_voltage_of_the_circuits_bar(tmp_path):
    """That which the row tells; devices and inverter need none."""
    rest = ", size: 2.5 mm2, length: 20 m"
    rcbo = (f"device: {DEVICE}{rest}", f"device: B16 RCBO 30 mA type A{rest}")
    row, found = bars(tmp_path, rcbo)

    assert found["its own RCBO"].volts == row.voltage_left_v
    assert math.isnan(found["B16"].volts)
    assert math.isnan(found["inverter"].volts)


def test_a_voltage_that_nobody_knows_is_too_little(tmp_path):
    """NaN is below every need, and nothing is where none is needed."""
    job = job_of(tmp_path, FAR)
    rcd = job.boards["island board"].rcds["R1"]

    assert needs_more(rcd, math.nan)
    assert needs_more(rcd, 21.9)
    assert not needs_more(rcd, 22.0)
