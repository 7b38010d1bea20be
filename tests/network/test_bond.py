"""Islands without a neutral-earth bond, with one, with two: sums by hand.

Capacitive divider, current divider between two bonds, Millman's theorem.
"""

import math

import pytest

from islewright.network.loads import LoadFlow
from islewright.network.parts import Change
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND
from tests.network.probe import fault
from tests.network.small import (
    CONTACT,
    ONE_PHASE,
    ONE_PHASE_PEN,
    THREE_PHASES,
    core,
    job_of,
    network_of,
    parts_of,
)

NO_BOND = ISLAND.but("island, bond open", bond="open")
OMEGA = 2 * math.pi * 50
SHORT = (("length: 20 m", "length: 1 m"), ("length: 12 m", "length: 1 m"))
#: capacitance of the island's circuits per conductor, 0.1 nF/m over 20 m and 12 m [F]
STRAY = 0.1e-9 * 32


def with_capacitance(folder, line_nf: float, neutral_nf: float, *exchanged) -> Network:
    """A one-phase house with these capacitances to PE at its island board."""
    parts = parts_of(job_of(folder, ONE_PHASE, *exchanged))
    for conductor, nanofarad in (("L1", line_nf), ("N", neutral_nf)):
        ends = (parts.index[f"island board.{c}"] for c in (conductor, "PE"))
        parts.capacity(f"load {conductor}", *ends, nanofarad * 1e-9)
    return Network(parts)


def test_without_a_bond_capacitances_divide_the_voltage(tmp_path):
    """100 nF at the line, 150 nF at the neutral: 138 V and 92 V to PE."""
    solved = with_capacitance(tmp_path, 100, 150, *SHORT).solved(NO_BOND)
    pe = ("island board", "PE")

    assert abs(solved.voltage("island board", "L1", to=pe)) == pytest.approx(138.0, rel=0.01)
    assert abs(solved.voltage("island board", "N", to=pe)) == pytest.approx(92.0, rel=0.01)


@pytest.mark.parametrize("neutral_nf", [10, 150, 900])
def test_the_strays_of_the_circuits_take_part_in_the_divider(tmp_path, neutral_nf):
    """U_LPE = U C_N / (C_L + C_N), with 3.2 nF of the circuits at either side."""
    solved = with_capacitance(tmp_path, 50, neutral_nf).solved(NO_BOND)
    at_line, at_neutral = 50e-9 + STRAY, neutral_nf * 1e-9 + STRAY

    volts = abs(solved.voltage("island board", "L1", to=("island board", "PE")))

    assert volts == pytest.approx(230 * at_neutral / (at_line + at_neutral), rel=2e-4)


def test_without_a_bond_an_earth_fault_draws_milliamperes(tmp_path):
    """100 nF between neutral and PE: 7.23 mA, and the neutral at full voltage."""
    net = with_capacitance(tmp_path, 0, 100, *SHORT)

    amps, x, solved = fault(net, NO_BOND, "circuit heater", "L1-PE")

    assert abs(amps) == pytest.approx(7.23e-3, rel=0.01)
    lifted = solved.voltage("island board", "N", to=("island board", "PE"), x=x)
    assert abs(lifted) == pytest.approx(230, rel=1e-3)


def test_with_the_bond_the_same_fault_draws_the_loop_current(tmp_path):
    """230 V over inverter, its cable, feeder, circuit and the bond, about 260 A."""
    net = with_capacitance(tmp_path, 0, 100)

    amps, x, solved = fault(net, ISLAND, "circuit heater", "L1-PE")

    cables = 2 * (core(6, 5) + core(10, 5) + core(2.5, 20)) - core(6, 5)  # PE stays in the house
    contacts = 1e-3 + 4 * CONTACT  # bond; two devices, R1, the circuit's PE joint
    loop = 0.2 + cables + core(6, 5) + contacts
    assert amps == pytest.approx(230 / loop, rel=2e-3)
    assert abs(solved.voltage("island board", "N", to=("island board", "PE"), x=x)) < 10


def test_a_three_phase_island_without_a_bond_looks_healthy(tmp_path):
    """Filters of 100 nF hold PE at the star point but for the strays of one line: 1.8 V."""
    net = network_of(tmp_path, THREE_PHASES, ("filter to earth: none", "filter to earth: 100 nF"))
    solved = net.solved(NO_BOND)
    pe = ("island board", "PE")
    neutral = abs(solved.voltage("island board", "N", to=pe))

    # Millman: PE hangs on L1 and N by 103.2 nF, on L2 and L3 by 100 nF
    by_hand = 230 * STRAY / (4 * 100e-9 + 2 * STRAY)
    assert neutral == pytest.approx(by_hand, rel=0.01)
    assert 1 < neutral < 20
    for line in ("L1", "L2", "L3"):
        assert abs(solved.voltage("island board", line, to=pe)) == pytest.approx(230, rel=0.02)


def test_a_three_phase_island_without_a_bond_lifts_the_healthy_lines_on_a_fault(tmp_path):
    """The other two lines stand at √3 · 230 V to PE; the currents of all filters add up."""
    net = network_of(tmp_path, THREE_PHASES, ("filter to earth: none", "filter to earth: 100 nF"))

    amps, x, solved = fault(net, NO_BOND, "circuit heater", "L1-PE")

    volts = abs(solved.voltage("island board", "L2", to=("island board", "PE"), x=x))
    assert volts == pytest.approx(math.sqrt(3) * 230, rel=1e-3)
    # L2 and L3 give √3 U_0 each, 60° apart, N gives U_0 between them
    by_hand = OMEGA * 230 * (3 * 100e-9 + 100e-9 + STRAY)
    assert abs(amps) == pytest.approx(by_hand, rel=5e-3)


def test_two_bonds_share_the_neutral_current(tmp_path):
    """10 A, 0.05 ohm either way: I_PE = I_N R_N / (R_N + R_PE), half of it."""
    job = job_of(tmp_path, ONE_PHASE | {"house_side": "27.322"})
    net = Network(parts_of(job))
    second = Change("join", "second bond", "island board.N", "island board.PE")
    solved = net.solved(ISLAND.but("two bonds", changes=(second,)), case="cold")
    flow = LoadFlow(job, solved, {"heater": 10.0})

    neutral = solved.core_current("cable house side N", x=flow.x)
    earth = solved.core_current("cable house side PE", x=flow.x)

    assert abs(earth) == pytest.approx(5.0, rel=0.02)
    beside = core(10, 27.322) + 1e-3 + CONTACT  # with the contacts of both bonds
    share = core(10, 27.322) / (core(10, 27.322) + beside)
    assert abs(earth) == pytest.approx(10 * abs(share), rel=1e-3)
    assert abs(neutral + earth) == pytest.approx(10.0, rel=1e-4)


def test_a_bond_stuck_on_a_pen_supply_moves_neutral_current_into_the_earth_core(tmp_path):
    """Nothing trips, no voltage is odd, the clamp shows amperes."""
    job = job_of(tmp_path, ONE_PHASE_PEN)
    net = Network(parts_of(job))
    stuck = GRID.but("grid, bond stuck", closed=frozenset({"bond"}))
    solved = net.solved(stuck, case="cold")
    flow = LoadFlow(job, solved, {"heater": 10.0})

    earth = abs(solved.core_current("cable grid side PE", x=flow.x))

    own = core(10, 10) + CONTACT  # N core and the switch's pole
    beside = core(10, 10) + 1e-3 + CONTACT  # PE core, bond, the PEN's split
    assert earth == pytest.approx(10 * abs(own / (own + beside)), rel=5e-3)
    assert earth > 4
    healthy = LoadFlow(job, net.solved(GRID, case="cold"), {"heater": 10.0})
    assert abs(healthy.solved.core_current("cable grid side PE", x=healthy.x)) < 1e-3


def test_a_bond_stuck_on_a_tt_supply_hides_from_the_clamp(tmp_path):
    """The ground limits it: U_N / (R_A + R_B), some tens of milliamperes."""
    job = job_of(tmp_path, ONE_PHASE)
    net = Network(parts_of(job))
    stuck = GRID.but("grid, bond stuck", closed=frozenset({"bond"}))
    solved = net.solved(stuck)
    flow = LoadFlow(job, solved, {"heater": 10.0})

    hot = 1 + 0.00393 * 50
    drop = 10 * (0.2 + hot * abs(core(16, 2) + core(10, 10)))
    assert abs(solved.current("bond", x=flow.x)) == pytest.approx(drop / 21, rel=0.02)
