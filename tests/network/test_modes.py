"""Feeding, bypass, PV and what a state's sheet tells, in small houses."""

import pytest

from islewright.network.flow_sheet import flow_sheet
from islewright.network.loads import LoadFlow
from islewright.network.parts import Change
from islewright.network.solve import Network
from islewright.network.state import (
    BYPASS,
    GRID,
    GRID_FEEDING,
    ISLAND,
    ISLAND_PV,
    STATES,
)
from islewright.network.tell import sheet, states_of
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

HOT = 1 + 0.00393 * 50
RATED_A = 4600 / 230
BYPASS_POLES = ("bypass poles: none", "bypass poles: L1 N")


def flow_of(folder, words, state, amps, *exchanged) -> tuple[LoadFlow, Network]:
    """A house in a state, its loads on."""
    job = job_of(folder, words, *exchanged)
    net = Network(parts_of(job))
    return LoadFlow(job, net.solved(state), amps), net


def test_a_feeding_inverter_lifts_its_terminals_by_its_current_times_the_loop(tmp_path):
    """20 A back to the transformer: 0.4 ohm, tails, grid side and the inverter's cable."""
    net = network_of(tmp_path, ONE_PHASE)
    solved = net.solved(GRID_FEEDING)

    cables = 2 * HOT * (core(16, 2) + core(10, 10) + core(6, 5)).real
    rise = RATED_A * (0.4 + cables + 6 * CONTACT)
    there = abs(solved.voltage("inverter", "L1", to=("inverter", "N")))
    assert there - 230 == pytest.approx(rise, rel=0.01)
    assert abs(solved.core_current("cable inverter cable L1")) == pytest.approx(RATED_A, rel=1e-3)
    assert abs(solved.core_current("cable inverter cable N")) == pytest.approx(RATED_A, rel=1e-3)


def test_what_the_inverter_feeds_does_not_come_from_the_street(tmp_path):
    """Load and feed of 20 A each at the same place: the tails carry next to nothing."""
    amps = {"heater": RATED_A}
    without, _ = flow_of(tmp_path, ONE_PHASE, GRID, amps)
    fed, _ = flow_of(tmp_path, ONE_PHASE, GRID_FEEDING, amps)

    assert abs(without.solved.core_current("cable tails L1", x=without.x)) == pytest.approx(
        RATED_A, rel=1e-3
    )
    assert abs(fed.solved.core_current("cable tails L1", x=fed.x)) < 0.5


def test_three_phases_fed_alike_leave_the_neutral_alone(tmp_path):
    """A third of 4.6 kVA on each line, in phase with its line."""
    solved = network_of(tmp_path, THREE_PHASES).solved(GRID_FEEDING)

    for line in ("L1", "L2", "L3"):
        amps = solved.core_current(f"cable inverter cable {line}")
        assert abs(amps) == pytest.approx(RATED_A / 3, rel=1e-3)
        power = solved.voltage("inverter", line) * amps.conjugate()
        assert power.real == pytest.approx(-4600 / 3, rel=0.02)  # against the cable's direction
        assert abs(power.imag) < 20
    assert abs(solved.core_current("cable inverter cable N")) < 1e-3


def test_a_bypass_carries_the_house_past_the_open_poles(tmp_path):
    """All current through the bypass, none through the poles; the inverter stands still."""
    flow, _ = flow_of(tmp_path, ONE_PHASE, BYPASS, {"heater": 10.0}, BYPASS_POLES)
    solved = flow.solved

    assert abs(solved.current("bypass L1", x=flow.x)) == pytest.approx(10.0, rel=1e-3)
    assert abs(solved.current("islanding switch L1", x=flow.x)) == 0
    assert abs(solved.current("inverter L1", x=flow.x)) == 0
    assert abs(solved.current("bond", x=flow.x)) == 0
    assert abs(solved.voltage("island board", "L1", x=flow.x)) > 220


def test_a_bypass_without_neutral_holds_no_load(tmp_path):
    """Constant currents would drive the neutral anywhere; the flow says that it is not held."""
    poles = ("bypass poles: none", "bypass poles: L1 L2 L3")
    bypassed, _ = flow_of(tmp_path, THREE_PHASES, BYPASS, {"heater": 10.0}, poles)
    on_grid, _ = flow_of(tmp_path, THREE_PHASES, GRID, {"heater": 10.0}, poles)

    assert not bypassed.held
    assert on_grid.held


@pytest.mark.parametrize(
    ("exchanged", "names"),
    [
        ((), {"bypass", "island, with PV"}),
        ((BYPASS_POLES,), {"island, with PV"}),
        ((BYPASS_POLES, ("PV array: none", "PV array: {model: roof, at: roof}")), set()),
    ],
)
def test_a_house_has_only_the_states_that_its_parts_allow(tmp_path, exchanged, names):
    """Without bypass and PV their states are left out; all others are there in every house."""
    roof = ("  neutral-earth bond: none\n", "  neutral-earth bond: none\nroof:\n  kind: PV array\n")
    job = job_of(tmp_path, ONE_PHASE, *exchanged, roof)

    assert {s.name for s in STATES} - {s.name for s in states_of(job)} == names


def test_an_island_with_pv_is_the_island_of_the_battery(tmp_path):
    """PV on the inverter's d.c. side changes no conductor of the house."""
    net = network_of(tmp_path, ONE_PHASE)

    assert net.solved(ISLAND_PV).x == pytest.approx(net.solved(ISLAND).x)
    assert "PV" in sheet(job_of(tmp_path, ONE_PHASE), net, ISLAND_PV).fed_by


@pytest.mark.parametrize("state", [GRID, ISLAND], ids=lambda s: s.name)
def test_all_voltages_between_conductors_are_told(tmp_path, state):
    """Three lines, N and PE: ten pairs, and each conductor to true earth."""
    flow, _ = flow_of(tmp_path, THREE_PHASES, state, {})
    told = flow_sheet(flow.job, flow).between("island board")

    assert len(told) == 10 + 5
    for a, b, volts in (("L1", "N", 230), ("L2", "PE", 230), ("L1", "L3", 398.4), ("N", "PE", 0)):
        assert told[a, b] == pytest.approx(volts, rel=2e-3, abs=0.1)


def test_currents_in_bond_split_and_earth_are_told(tmp_path):
    """PEN house on the grid: the electrode takes its share of the neutral's drop, the bond none."""
    flow, _ = flow_of(tmp_path, ONE_PHASE_PEN, GRID, {"cooker": 10.0})
    told = flow_sheet(flow.job, flow).earth_amps

    # star of three earths: transformer 1 ohm, PEN halfway 5 ohm, the house's 20 ohm
    half, whole = 10 * 0.1, 10 * (0.2 + HOT * core(16, 2).real)
    soil = (half / 5 + whole / 20) / (1 + 1 / 5 + 1 / 20)
    assert set(told) == {"bond", "PEN split", "earthing conductor", "earthing terminal link"}
    assert abs(told["bond"]) == 0
    assert abs(told["earthing conductor"]) == pytest.approx((whole - soil) / 20, rel=0.02)
    assert abs(told["PEN split"]) == pytest.approx(abs(told["earthing conductor"]), rel=0.01)


def test_a_second_joint_shows_at_the_clamp_and_at_the_rcd(tmp_path):
    """Island, N on PE behind R1: current in the bond, and R1 sees what does not come back."""
    job = job_of(tmp_path, ONE_PHASE)
    net = Network(parts_of(job))
    joint = Change("join", "joint", "island board/R1.N", "island board.PE", 1e-3)
    told = {}
    for name, changes in (("healthy", ()), ("joined", (joint,))):
        solved = net.solved(ISLAND.but(name, changes=changes))
        told[name] = flow_sheet(job, LoadFlow(job, solved, {"heater": 10.0}))

    assert abs(told["healthy"].earth_amps["bond"]) < 1e-3
    assert told["healthy"].residual_amps["island board/R1"] < 1e-3
    astray = abs(told["joined"].earth_amps["bond"])
    assert astray > 3
    assert told["joined"].residual_amps["island board/R1"] == pytest.approx(astray, rel=1e-3)
    assert told["joined"].residual_amps["island board/R2"] < 1e-3


def test_leakage_of_loads_is_what_their_rcd_sees(tmp_path):
    """3 mA stated at the heater, driven by 230 V: 3 mA through R1 and through its RCBO."""
    leaks = ("loads: {heater: 2.3 kW}", "loads: {heater: {power: 2.3 kW, leakage: 3 mA}}")
    plain = "class 3, size: 2.5 mm2, length: 20 m"
    rcbo = (plain, f"class 3 RCBO 30 mA type A, {plain.partition(', ')[2]}")
    flow, _ = flow_of(tmp_path, ONE_PHASE, GRID, {}, leaks, rcbo)
    told = flow_sheet(flow.job, flow).residual_amps

    assert told["island board/R1"] == pytest.approx(3e-3, rel=0.06)  # 0.1 mA of the cable beside
    assert told["circuit heater"] == pytest.approx(told["island board/R1"], rel=1e-3)
    assert told["island board/R2"] < 1e-3


def test_the_neutral_of_three_phases_carries_the_vector_sum(tmp_path):
    """Only L1 loaded: all of it returns through N, in the opposite sense."""
    flow, _ = flow_of(tmp_path, THREE_PHASES_PEN, ISLAND, {"heater": 10.0})
    told = flow_sheet(flow.job, flow).cable_amps["house side"]

    assert abs(told["L1"]) == pytest.approx(10, rel=1e-3)
    assert told["N"] == pytest.approx(-told["L1"], abs=0.01)
    assert abs(told["L2"]) < 0.01
