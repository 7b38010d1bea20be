"""PV with an inverter of its own at a board: what it feeds is not drawn from elsewhere."""

import pytest

from islewright.findings import Question
from islewright.job import BadJob
from islewright.network.build import build
from islewright.network.loads import LoadFlow
from islewright.network.solve import Network
from islewright.network.state import GRID, GRID_FEEDING, ISLAND, ISLAND_PV, STATES
from islewright.network.tell import sheet
from islewright.tables.profile import profile
from tests.network.small import ONE_PHASE, THREE_PHASES, job_of, parts_of

LOAD_A = 10.0
#: 1.15 kW on one line are 5 A at 230 V, and a third of that on each of three
PV_A = 5.0


def roof(board: str = "island board", coupling: str = "a.c.", power: str = "1.15 kW"):
    """What stands otherwise in the files of a house with PV."""
    at = f", connected to: {board}" if board else ""
    sheet = f"roof:\n  kind: PV array\n  power: {power}\n  coupling: {coupling}\n"
    return (
        ("PV array: none", f"PV array: {{model: roof, at: roof{at}}}"),
        ("  neutral-earth bond: none\n", f"  neutral-earth bond: none\n{sheet}"),
    )


def flow_of(folder, words, state, *exchanged) -> LoadFlow:
    job = job_of(folder, words, *exchanged)
    return LoadFlow(job, Network(parts_of(job)).solved(state), {"heater": LOAD_A})


def given_a(flow: LoadFlow, name: str = "cable inverter cable L1") -> complex:
    return flow.solved.core_current(name, x=flow.x)


def test_in_the_island_the_inverter_gives_what_pv_does_not(tmp_path):
    """10 A drawn and 5 A fed in at the same board leave 5 A for the inverter's cable."""
    battery = flow_of(tmp_path, ONE_PHASE, ISLAND, *roof())
    with_pv = flow_of(tmp_path, ONE_PHASE, ISLAND_PV, *roof())

    assert abs(given_a(battery)) == pytest.approx(LOAD_A, rel=1e-4)
    assert abs(given_a(with_pv)) == pytest.approx(LOAD_A - PV_A, rel=5e-4)
    assert abs(given_a(with_pv, "cable house side N")) == pytest.approx(LOAD_A - PV_A, rel=5e-4)


def test_on_the_grid_the_tails_carry_what_inverter_and_pv_do_not_feed(tmp_path):
    """10 A drawn, 20 A fed by the inverter, 5 A by PV: 15 A go out to the street."""
    flow = flow_of(tmp_path, ONE_PHASE, GRID_FEEDING, *roof())
    on_grid = flow_of(tmp_path, ONE_PHASE, GRID, *roof())

    assert given_a(flow, "cable tails L1").real == pytest.approx(LOAD_A - 20 - PV_A, rel=2e-3)
    assert given_a(on_grid, "cable tails L1").real == pytest.approx(LOAD_A, rel=2e-3)


def test_three_lines_share_the_power_each_in_phase_with_its_own(tmp_path):
    """A third on each line: the neutral of the cable carries the load of L1 alone."""
    flow = flow_of(tmp_path, THREE_PHASES, ISLAND_PV, *roof())

    assert abs(given_a(flow)) == pytest.approx(LOAD_A - PV_A / 3, rel=5e-4)
    for line in ("L2", "L3"):
        amps = given_a(flow, f"cable inverter cable {line}")
        power = flow.solved.voltage("inverter", line, x=flow.x) * amps.conjugate()
        assert power.real == pytest.approx(1150 / 3, rel=0.01)  # flows into the inverter
    assert abs(given_a(flow, "cable inverter cable N")) == pytest.approx(LOAD_A, rel=5e-4)


def test_one_emf_at_0_degrees_has_pv_of_its_one_line_in_phase(tmp_path):
    """An inverter on L2 alone: no PV on lines that it does not drive."""
    words = THREE_PHASES | {
        "output": "single-phase", "inverter_at": ", line: L2", "inverter_lines": "L2",
    }  # fmt: skip
    job = job_of(tmp_path, words, *roof())
    solved = Network(parts_of(job)).solved(ISLAND_PV)

    amps = solved.core_current("cable inverter cable L2")
    power = solved.voltage("inverter", "L2") * amps.conjugate()
    assert power.real == pytest.approx(1150 / 3, rel=0.01)
    assert abs(power.imag) < 4
    assert abs(solved.voltage("island board", "L1")) < 1


def test_pv_at_a_board_that_the_island_does_not_feed_is_off_in_it(tmp_path):
    """Without a voltage it cannot feed; on the grid it does."""
    island = flow_of(tmp_path, ONE_PHASE, ISLAND_PV, *roof("main board"))
    grid = flow_of(tmp_path, ONE_PHASE, GRID_FEEDING, *roof("main board"))

    assert abs(given_a(island)) == pytest.approx(LOAD_A, rel=1e-4)
    assert abs(island.solved.voltage("main board", "L1", x=island.x)) < 1
    assert given_a(grid, "cable tails L1").real == pytest.approx(LOAD_A - 20 - PV_A, rel=2e-3)


def test_pv_feeds_no_line_that_no_cable_brings_to_its_board(tmp_path):
    """Two of three lines reach the island board: two thirds of the power, the third line dead."""
    rest = "N PE, size: 10 mm2, length: 5 m}"
    short = (f"cores: L1 L2 L3 {rest}", f"cores: L1 L2 {rest}")
    job = job_of(tmp_path, THREE_PHASES, short, *roof())
    net = Network(parts_of(job))

    for state in (GRID_FEEDING, ISLAND_PV):
        solved = net.solved(state)
        assert abs(solved.core_current("cable house side L2")) == pytest.approx(PV_A / 3, rel=1e-3)
        assert abs(solved.voltage("island board", "L3")) < 1


@pytest.mark.parametrize("state", STATES, ids=lambda s: s.name)
def test_pv_at_the_inverters_dc_side_changes_nothing(tmp_path, state):
    """Nor does PV at a board in a state in which it is off."""
    bare = Network(parts_of(job_of(tmp_path, ONE_PHASE))).solved(state)
    at_dc = Network(parts_of(job_of(tmp_path, ONE_PHASE, *roof(coupling="d.c.")))).solved(state)
    at_ac = Network(parts_of(job_of(tmp_path, ONE_PHASE, *roof()))).solved(state)

    assert at_dc.x == pytest.approx(bare.x)
    same = at_ac.x == pytest.approx(bare.x)
    assert same is (state not in (GRID_FEEDING, ISLAND_PV))


@pytest.mark.parametrize(
    ("exchanged", "field"),
    [
        (roof(board=""), "equipment.PV array.connected to"),
        (roof(power="unknown"), "power"),
        (roof(coupling="unknown"), "coupling"),
    ],
)
def test_what_is_not_stated_of_pv_is_asked(tmp_path, exchanged, field):
    """Nothing is fed in, and the network says what is missing to do so."""
    parts = build(job_of(tmp_path, ONE_PHASE, *exchanged), profile("IEC base"))
    asked: tuple[Question, ...] = parts.missing["PV"]

    assert [q.field.endswith(field) for q in asked] == [True]
    assert [f for f in parts.feeds if f.group != "inverter"] == []


def test_the_sheet_of_a_state_names_pv_beside_the_inverter(tmp_path):
    """Where it has an inverter of its own; at the d.c. side it is one source with the battery."""
    told = {}
    for coupling in ("a.c.", "d.c."):
        job = job_of(tmp_path, ONE_PHASE, *roof(coupling=coupling))
        net = Network(parts_of(job))
        told[coupling] = [sheet(job, net, s).fed_by for s in (GRID_FEEDING, ISLAND_PV, ISLAND)]

    assert told == {
        "a.c.": ["the public supply and the inverter and the PV array",
                 "the inverter and the PV array", "the inverter"],
        "d.c.": ["the public supply and the inverter",
                 "the inverter on battery and PV", "the inverter"],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("exchanged", "why"),
    [
        (roof("ireland board"), "nearest is `island board`"),
        ((("inverter, at: hall", "inverter, at: hall, connected to: island board"),), "only a PV"),
    ],
)
def test_only_pv_is_connected_to_a_board_and_to_one_that_is_there(tmp_path, exchanged, why):
    """A misspelt board, or the key at the inverter, is an error with its place in the file."""
    with pytest.raises(BadJob, match="connected to") as refused:
        job_of(tmp_path, ONE_PHASE, *exchanged)

    (problem,) = refused.value.problems
    assert problem.path.endswith("connected to")
    assert why in f"{problem.why} {problem.allowed}"
