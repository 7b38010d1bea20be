"""Earth faults and raised earths of small houses against sums by hand."""

import math

import pytest

from islewright.network.parts import Change
from islewright.network.rise import rises
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND, ISLAND_GRID_BACK
from islewright.tables.profile import profile
from tests.network.probe import earth_faults, fault, loop_ohm
from tests.network.small import (
    CONTACT,
    ONE_PHASE,
    ONE_PHASE_PEN,
    THREE_PHASES,
    THREE_PHASES_PEN,
    core,
    job_of,
    network_of,
    parts_of,
)

MET = "main earthing terminal"
HOT = 1 + 0.00393 * 50  # copper in PVC at 70 °C


def hot(size_mm2: float, length_m: float) -> float:
    """Resistance of a copper core at 70 °C [Ω]."""
    return core(size_mm2, length_m).real * HOT


def test_a_tt_fault_flows_through_both_electrodes(tmp_path):
    """230 V over line 0.2, tails, circuit, R_A 20 and R_B 1: about 11 A; the parts go to 217 V."""
    net = network_of(tmp_path, ONE_PHASE)

    amps, x, solved = fault(net, GRID, "circuit cooker", "L1-PE", case="hot")

    by_hand = 230 / (0.2 + hot(16, 2) + 2 * hot(2.5, 8) + 20 + 1)
    assert abs(amps) == pytest.approx(by_hand, rel=1e-3)
    met = abs(solved.voltage(MET, "PE", x=x))
    assert met == pytest.approx(20 * by_hand, rel=1e-3)


def test_what_people_touch_in_a_tt_house_is_small_to_the_terminal_and_large_to_the_soil(tmp_path):
    """To the earthing terminal I · R_PE, to true earth I · (R_PE + R_A)."""
    job = job_of(tmp_path, ONE_PHASE)
    faults = earth_faults(job, Network(parts_of(job)), GRID)
    at = faults.worst("circuit cooker", "far")

    to_terminal, to_earth = faults.touch_v(at)

    amps = faults.amps[at.column]
    assert to_terminal == pytest.approx(amps * (hot(2.5, 8) + 2 * CONTACT), rel=0.01)
    assert to_earth == pytest.approx(amps * (hot(2.5, 8) + 20), rel=1e-3)
    assert to_earth > 200
    assert to_terminal < 50


def test_a_tn_loop_is_supply_tails_and_circuit(tmp_path):
    """Line, circuit there and back, and the PEN with the electrodes' 21 ohm beside it."""
    net = network_of(tmp_path, ONE_PHASE_PEN)

    loop = loop_ohm(net, GRID, "circuit cooker", "L1-PE", case="hot")

    pen = 0.2 + hot(16, 2)
    by_hand = 0.2 + hot(16, 2) + 2 * hot(2.5, 8) + pen * 21 / (pen + 21)
    assert abs(loop) == pytest.approx(by_hand, rel=3e-3)
    amps, _, _ = fault(net, GRID, "circuit cooker", "L1-PE", case="hot")
    assert abs(amps) == pytest.approx(230 / by_hand, rel=3e-3)


def test_a_fault_between_lines_has_two_lines_in_its_way(tmp_path):
    """L1-L2 is √3 · U_0 over two lines."""
    one = "heater: {board: island board, behind: R1, lines: L1, cores: L1 N PE"
    net = network_of(tmp_path, THREE_PHASES, (one, one.replace("L1", "L1 L2 L3")))

    amps, _, _ = fault(net, GRID, "circuit heater", "L1-L2", case="hot")

    way = 0.2 + hot(16, 2) + hot(10, 10) + hot(10, 5) + hot(2.5, 20)
    assert abs(amps) == pytest.approx(math.sqrt(3) * 230 / (2 * way), rel=5e-3)


def test_touch_voltage_in_a_tn_island_is_the_drop_along_the_protective_conductor(tmp_path):
    """At the limit of 40 A: 40 A · R_PE, far below 50 V."""
    job = job_of(tmp_path, ONE_PHASE)
    faults = earth_faults(job, Network(parts_of(job)), ISLAND)
    at = faults.worst("circuit heater", "far")

    assert faults.amps[at.column] == pytest.approx(40, rel=1e-6)
    assert bool(faults.limited[at.column])
    # from the part to the enclosure's PE bar, where the bond takes the current
    way = hot(2.5, 20) + hot(10, 5)
    to_terminal, _ = faults.touch_v(at)
    assert to_terminal == pytest.approx(40 * way, rel=0.01)


@pytest.mark.parametrize("soil_ohm", [7.0, 72.0, 500.0])
def test_a_line_on_the_soil_lifts_the_island_by_its_electrode(tmp_path, soil_ohm):
    """U_PE = U_0 R_B / (R_B + R_E); 50 V just where R_B / R_E = 50 / (U_0 − 50)."""
    net = network_of(tmp_path, ONE_PHASE)
    lies = Change("join", "on the soil", "island board.L1", "earth", soil_ohm)
    solved = net.solved(ISLAND.but("line on the soil", changes=(lies,)))

    met = abs(solved.voltage(MET, "PE"))

    way = 0.2 + hot(6, 5) + hot(10, 5)
    assert met == pytest.approx(230 * 20 / (20 + soil_ohm + way), rel=2e-3)
    assert (met > 50) == (20 / soil_ohm > 50 / 180)


def test_a_line_on_the_soil_by_the_list_of_mishaps(tmp_path):
    """7 ohm into the soil: 230 · 20 / 27 in the island, R_B of the operator alone on the grid."""
    job = job_of(tmp_path, ONE_PHASE)
    rows = {r.mode: r for r in rises(job, Network(parts_of(job)), profile("IEC base"), {})}

    # TT on the grid: the earthing terminal is not joined to the line's way back
    assert rows["grid mode"].met_v < 1
    assert rows["island mode"].met_v == pytest.approx(230 * 20 / 27.4, rel=0.01)
    assert rows["island mode"].electrode_a == pytest.approx(230 / 27.4, rel=0.01)


def test_an_island_on_a_pen_is_judged_without_the_operators_earth_too(tmp_path):
    """With the PEN its electrodes help; with the PEN gone the house's 20 ohm stand alone."""
    job = job_of(tmp_path, ONE_PHASE_PEN)
    rows = rises(job, Network(parts_of(job)), profile("IEC base"), {})
    told = {r.case: r.met_v for r in rows if r.mode == "island mode"}

    transformer = 0.1 + 1  # behind the other half of the PEN's 0.2 ohm
    public = 0.1 + transformer * 5 / (transformer + 5)
    beside = public * 20 / (public + 20)
    joined = told["a line lies on the soil"]
    assert joined == pytest.approx(230 * beside / (beside + 7.3), rel=0.01)
    alone = told["a line lies on the soil, the operator's earth gone"]
    assert alone == pytest.approx(230 * 20 / 27.4, rel=0.01)
    assert joined < 50 < alone


def test_the_line_on_the_soil_is_one_that_the_island_feeds(tmp_path):
    """A single-phase inverter on L3 of three: L1 is dead, L3 lifts the terminal."""
    job = job_of(
        tmp_path, THREE_PHASES | {"inverter_lines": "L3", "inverter_at": ", line: L3"},
        ("output: three-phase with neutral", "output: single-phase"),
    )  # fmt: skip
    rows = rises(job, Network(parts_of(job)), profile("IEC base"), {})
    told = {r.case: r.met_v for r in rows if r.mode == "island mode"}

    assert told == {"a line lies on the soil": pytest.approx(230 * 20 / 27.4, rel=0.01)}


def test_an_open_pen_puts_the_houses_own_load_on_its_electrode(tmp_path):
    """PEN open at the service, 2.3 kW on: 230 · 20 / (20 + 23 + R_B beside the PEN's 5 ohm)."""
    job = job_of(tmp_path, ONE_PHASE_PEN)
    net = Network(parts_of(job))
    rows = rises(job, net, profile("IEC base"), {"main board": {"L1": 2300.0}})
    row = next(r for r in rows if r.case == "PEN open at the service")

    back = 1 * 5.1 / (1 + 5.1)  # the transformer's electrode, and that of the PEN behind 0.1 ohm
    amps = 230 / (20 + 23 + 0.2 + back)
    assert row.met_v == pytest.approx(20 * amps, rel=5e-3)
    assert row.electrode_a == pytest.approx(amps, rel=5e-3)
    assert row.met_v > 50


def test_islanding_does_not_cure_an_open_pen(tmp_path):
    """Neighbours' 4 kW behind the break return through the PEN's electrodes and the house's."""
    job = job_of(tmp_path, ONE_PHASE_PEN)
    net = Network(parts_of(job))
    rows = {r.case: r for r in rises(job, net, profile("IEC base"), {})}
    row = rows["PEN open in the street, the house an island"]

    both = 20 * 5 / 25  # electrodes of the street's PEN and of the house, side by side
    load = 230**2 / 4000
    assert row.met_v == pytest.approx(230 * both / (both + load + 1 + 0.1), rel=0.01)
    assert "4 kW" in row.because


@pytest.mark.parametrize("line", ["L1", "L2", "L3"])
def test_neighbours_hang_on_the_line_that_is_worst_for_the_house(tmp_path, line):
    """PEN open in the street, the house loads one line: the figure does not hang on which."""
    job = job_of(tmp_path, THREE_PHASES_PEN)
    net = Network(parts_of(job))
    rows = rises(job, net, profile("IEC base"), {"main board": {line: 2300.0}})
    row = next(r for r in rows if r.case == "PEN open in the street")

    load = 230**2 / 6300  # both on the same line is the worst that can be
    both = 20 * 5 / 25
    assert row.met_v == pytest.approx(230 * both / (both + load + 1), rel=0.02)


def test_the_earthing_terminal_of_a_healthy_house_is_at_earth(tmp_path):
    """The twin of all mishaps: less than a twentieth of a volt in grid and island."""
    for words in (ONE_PHASE, ONE_PHASE_PEN):
        net = network_of(tmp_path, words)
        for state in (GRID, ISLAND, ISLAND_GRID_BACK):
            assert abs(net.solved(state).voltage(MET, "PE")) < 0.05
