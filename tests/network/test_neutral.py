"""Neutrals that are broken, shared by lines in phase, or on a wrong bar: sums by hand."""

import cmath
import math

import pytest

from islewright.network.loads import LoadFlow
from islewright.network.parts import Change
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND
from tests.network.probe import residual_a
from tests.network.small import ONE_PHASE, THREE_PHASES, job_of, network_of, parts_of

BROKEN = Change("open", "cable house side N")
BOARD = "island board"
ON_EACH_LINE = "".join(
    f"  heater {n}: {{board: island board, behind: R1, lines: L{n}, cores: L{n} N PE, "
    "device: B16 6 kA class 3, size: 2.5 mm2, length: 20 m, use: heating, loads: {h: 2.3 kW}}\n"
    for n in (2, 3)
)
THREE_HEATERS = {"heater": 10.0, "heater 2": 10.0, "heater 3": 10.0}


def resistors(ohms: dict[str, float]) -> tuple[Change, ...]:
    """Loads of the island board from line to neutral."""
    return tuple(
        Change("join", f"load {line}", f"{BOARD}.{line}", f"{BOARD}.N", ohm)
        for line, ohm in ohms.items()
    )


def test_behind_a_broken_neutral_two_phases_lie_in_series(tmp_path):
    """55 and 110 ohm over 380 V: 2.3 A, 126.5 and 253 V, an example of a public forum."""
    net = network_of(tmp_path, THREE_PHASES | {"volts": "219.39"})
    changes = (BROKEN, *resistors({"L1": 55.0, "L2": 110.0}))
    solved = net.solved(GRID.but("neutral broken", changes=changes))

    neutral = (BOARD, "N")
    assert abs(solved.current("load L1")) == pytest.approx(2.3, rel=0.01)
    assert abs(solved.voltage(BOARD, "L1", to=neutral)) == pytest.approx(126.5, rel=0.01)
    assert abs(solved.voltage(BOARD, "L2", to=neutral)) == pytest.approx(253.0, rel=0.01)


@pytest.mark.parametrize("state", [GRID, ISLAND], ids=lambda s: s.name)
def test_behind_a_broken_neutral_the_star_point_goes_to_the_heaviest_load(tmp_path, state):
    """Conductances 1 : 2 : 3 by Millman: 66.4 V, loads at 289.4, 239.4 and 175.7 V."""
    net = network_of(tmp_path, THREE_PHASES)
    changes = (BROKEN, *resistors({"L1": 2400.0, "L2": 1200.0, "L3": 800.0}))
    solved = net.solved(state.but("neutral broken", changes=changes))

    assert abs(solved.voltage(BOARD, "N")) == pytest.approx(66.4, rel=0.01)
    for line, volts in (("L1", 289.4), ("L2", 239.4), ("L3", 175.7)):
        assert abs(solved.voltage(BOARD, line, to=(BOARD, "N"))) == pytest.approx(volts, rel=0.01)


@pytest.mark.parametrize("state", [GRID, ISLAND], ids=lambda s: s.name)
def test_with_a_whole_neutral_the_same_loads_keep_their_voltage(tmp_path, state):
    """The twin of the broken one: nothing moves, the neutral carries the difference."""
    net = network_of(tmp_path, THREE_PHASES)
    changes = resistors({"L1": 2400.0, "L2": 1200.0, "L3": 800.0})
    solved = net.solved(state.but("loads on", changes=changes))

    assert abs(solved.voltage(BOARD, "N")) < 0.2
    turned = (cmath.rect(230 / ohm, math.radians(deg))
              for ohm, deg in ((2400, 0), (1200, -120), (800, 120)))  # fmt: skip
    carried = solved.core_current("cable house side N")
    assert abs(carried) == pytest.approx(abs(sum(turned)), rel=0.01)


def test_a_broken_neutral_of_one_phase_stands_at_full_voltage_behind_the_load(tmp_path):
    """No current flows, and the neutral bar reads 230 V to PE."""
    net = network_of(tmp_path, ONE_PHASE)
    changes = (BROKEN, *resistors({"L1": 23.0}))
    solved = net.solved(ISLAND.but("neutral broken", changes=changes))

    assert abs(solved.voltage(BOARD, "N", to=(BOARD, "PE"))) == pytest.approx(230, rel=1e-3)
    assert abs(solved.voltage(BOARD, "L1", to=(BOARD, "N"))) < 0.01


@pytest.mark.parametrize(
    ("output", "neutral_a"),
    [("three-phase with neutral", 0.0), ("single-phase on bridged lines", 30.0)],
)
def test_lines_in_phase_add_up_in_the_neutral(tmp_path, output, neutral_a):
    """10 A on each line: none in the neutral of three phases, 30 A where the lines are bridged."""
    job = job_of(tmp_path, THREE_PHASES | {"more": ON_EACH_LINE, "output": output})
    solved = Network(parts_of(job)).solved(ISLAND)
    flow = LoadFlow(job, solved, THREE_HEATERS)

    angles = []
    for line in ("L1", "L2", "L3"):
        amps = solved.core_current(f"cable house side {line}", x=flow.x)
        assert abs(amps) == pytest.approx(10, rel=0.01)
        angles.append(math.degrees(cmath.phase(amps)))
    apart = 0.0 if neutral_a else 120.0
    assert abs(angles[0] - angles[1]) == pytest.approx(apart, abs=0.5)
    neutral = abs(solved.core_current("cable house side N", x=flow.x))
    assert neutral == pytest.approx(neutral_a, abs=0.05)


def test_on_the_grid_bridged_lines_are_apart(tmp_path):
    """The bridge would short the lines of the street; nothing flows in the inverter's cable."""
    net = network_of(tmp_path, THREE_PHASES | {"output": "single-phase on bridged lines"})
    solved = net.solved(GRID)

    assert abs(solved.voltage(BOARD, "L1", to=(BOARD, "L2"))) == pytest.approx(398.4, rel=1e-3)
    assert abs(solved.core_current("cable inverter cable L1")) < 1e-3
    island = net.solved(ISLAND)
    assert abs(island.voltage(BOARD, "L1", to=(BOARD, "L2"))) < 1e-3
    assert abs(island.voltage(BOARD, "L3", to=(BOARD, "N"))) == pytest.approx(230, rel=1e-3)


def test_a_neutral_on_the_next_bar_unbalances_both_rcds(tmp_path):
    """The load's line runs through R1, its neutral through R2: each sees all of it."""
    moved = ("heater: {board: island board,", "heater: {neutral at: R2, board: island board,")
    job = job_of(tmp_path, ONE_PHASE, moved)
    solved = Network(parts_of(job)).solved(ISLAND)
    flow = LoadFlow(job, solved, {"heater": 10.0})
    for rcd in ("R1", "R2"):
        assert residual_a(solved, flow.x, f"RCD {BOARD}/{rcd}") == pytest.approx(10, rel=1e-3)


def test_a_neutral_on_its_own_bar_leaves_the_rcds_in_balance(tmp_path):
    """The twin: only what the cable's capacitance leaks."""
    job = job_of(tmp_path, ONE_PHASE)
    solved = Network(parts_of(job)).solved(ISLAND)
    flow = LoadFlow(job, solved, {"heater": 10.0})
    for rcd in ("R1", "R2"):
        assert residual_a(solved, flow.x, f"RCD {BOARD}/{rcd}") < 1e-3


def test_a_neutral_left_on_the_cut_off_board_returns_through_earth(tmp_path):
    """TT: in the island the load hangs between the line and R_A + R_B; its part to earth rises."""
    net = network_of(tmp_path, ONE_PHASE)
    load = Change("join", "load", f"{BOARD}/R1.L1", "main board.N", 23.0)
    solved = net.solved(ISLAND.but("loaded", changes=(load,)))

    # inverter 0.2; load 23; public neutral 0.2; R_B 1; R_A 20: back to the bond
    amps = 230 / (0.2 + 23 + 0.2 + 1 + 20)
    assert abs(solved.current("load")) == pytest.approx(amps, rel=0.01)
    assert abs(solved.voltage("main earthing terminal", "PE")) == pytest.approx(20 * amps, rel=0.01)
