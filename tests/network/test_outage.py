"""An outage is not absence: the public supply's terminals, poles open and welded."""

import pytest

from islewright.network.isolate import isolations
from islewright.network.solve import Network
from islewright.network.state import (
    ALL_OPEN,
    DEAD_BOND_OPEN,
    ISLAND,
    ISLAND_GRID_BACK,
    ISLAND_STREET,
    OUTAGE,
)
from islewright.network.tell import place_volts
from tests.network.small import (
    ONE_PHASE,
    ONE_PHASE_PEN,
    THREE_PHASES,
    THREE_PHASES_PEN,
    core,
    job_of,
    network_of,
    parts_of,
)

FORMS = {
    "one phase TT": ONE_PHASE, "one phase PEN": ONE_PHASE_PEN,
    "three phases TT": THREE_PHASES, "three phases PEN": THREE_PHASES_PEN,
}  # fmt: skip
WELDED = frozenset({"islanding switch L1"})


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("state", [ISLAND, ISLAND_STREET], ids=lambda s: s.name)
def test_with_all_poles_open_the_incomer_is_dead(form, state, tmp_path):
    """Less than a tenth of a volt at every line of the grid side, the house alive behind it."""
    volts = place_volts(network_of(tmp_path, FORMS[form]).solved(state))

    for place in ("islanding switch/grid", "supply", "street", "main board"):
        assert volts[place] < 0.1
    assert volts["island board"] == pytest.approx(230, rel=0.01)


@pytest.mark.parametrize("form", FORMS)
def test_one_welded_pole_makes_the_incomer_live(form, tmp_path):
    """The street open at the transformer: full voltage to earth, hardly any current."""
    net = network_of(tmp_path, FORMS[form])
    solved = net.solved(ISLAND.but("pole welded", closed=WELDED))

    assert abs(solved.voltage("supply", "L1")) == pytest.approx(230, rel=0.01)
    assert abs(solved.voltage("street", "L1")) == pytest.approx(230, rel=0.01)
    assert abs(solved.current("islanding switch L1")) < 0.1


def test_a_welded_pole_on_a_loaded_street_lifts_a_tt_house(tmp_path):
    """The street's load takes the line to R_B; what comes back through R_A lifts every part."""
    net = network_of(tmp_path, ONE_PHASE)
    solved = net.solved(ISLAND_STREET.but("pole welded", closed=WELDED), case="cold")

    # inverter, its cable, grid side, tails; 0.4 ohm line and neutral as reactance; street load
    way = 0.2 + core(6, 5) + core(10, 10) + core(16, 2) + 0.1j + 0.5 + 0.1j + 1 + 20
    met = abs(solved.voltage("main earthing terminal", "PE"))
    assert met == pytest.approx(230 * 20 / abs(way), rel=2e-3)
    assert met > 200
    assert abs(solved.voltage("supply", "N")) < 20


def test_a_welded_neutral_pole_alone_brings_no_line_to_the_incomer(tmp_path):
    """The neutral comes through, no line does."""
    net = network_of(tmp_path, ONE_PHASE)
    solved = net.solved(ISLAND.but("neutral welded", closed=frozenset({"islanding switch N"})))

    assert place_volts(solved)["supply"] < 1


def test_when_the_public_supply_is_back_the_open_pole_bears_both(tmp_path):
    """In phase nothing across one pole, but √3 · U_0 between a line here and another there."""
    net = network_of(tmp_path, THREE_PHASES)
    solved = net.solved(ISLAND_GRID_BACK)
    grid, house = "islanding switch/grid", "islanding switch/house"

    assert abs(solved.voltage(grid, "L1", to=(house, "L1"))) < 0.5
    assert abs(solved.voltage(grid, "L1", to=(house, "L2"))) == pytest.approx(398.4, rel=2e-3)
    assert abs(solved.current("islanding switch L1")) == 0


@pytest.mark.parametrize("state", [OUTAGE, DEAD_BOND_OPEN], ids=lambda s: s.name)
def test_without_any_source_everything_is_dead(state, tmp_path):
    """Public supply out, inverter off."""
    volts = place_volts(network_of(tmp_path, THREE_PHASES).solved(state))

    assert max(volts.values()) < 1e-6


def test_with_the_main_fuse_out_the_service_stays_alive(tmp_path):
    """Everything open: the house is dead up to the fuse."""
    volts = place_volts(network_of(tmp_path, ONE_PHASE).solved(ALL_OPEN))

    assert volts["service"] == pytest.approx(230, rel=1e-3)
    assert volts["supply"] < 0.1
    assert volts["island board"] < 0.1


@pytest.fixture
def opened(tmp_path):
    """What each isolator leaves alive, by isolator and inverter."""
    job = job_of(tmp_path, ONE_PHASE)
    rows = isolations(job, Network(parts_of(job)))
    return {(row.isolator, row.inverter): row for row in rows}


def test_the_main_fuse_alone_does_not_make_the_house_dead(opened):
    """The inverter starts an island as soon as the fuse is out; stopped first, nothing lives."""
    running = opened["main fuse", "left running"]

    assert {"island board", "islanding switch/house", "inverter"} <= set(running.alive)
    assert {"supply", "main board", "islanding switch/grid"} <= set(running.dead)
    assert opened["main fuse", "stopped first"].alive == ()


def test_the_islanding_switch_alone_leaves_the_public_side_alive(opened):
    """And the house too while the inverter runs."""
    assert "main board" in opened["islanding switch", "left running"].alive
    assert "island board" in opened["islanding switch", "left running"].alive
    assert "island board" in opened["islanding switch", "stopped first"].dead


def test_the_inverters_breaker_leaves_the_house_on_the_grid(opened):
    """Only the inverter is cut off, and its own terminals may live."""
    row = opened["C32 of the inverter cable", "left running"]

    assert {"supply", "main board", "island board", "inverter"} <= set(row.alive)
    assert opened["C32 of the inverter cable", "stopped first"].dead == ("inverter",)


def test_a_bypass_left_closed_lets_the_island_feed_the_street(tmp_path):
    """Nothing interlocks them here: the incomer is alive in an outage until the inverter stops."""
    job = job_of(tmp_path, ONE_PHASE, ("bypass poles: none", "bypass poles: L1 N"))
    rows = {(r.isolator, r.inverter): r for r in isolations(job, Network(parts_of(job)))}
    case = "bypass left closed in an outage"

    assert {"supply", "main board", "island board"} <= set(rows[case, "left running"].alive)
    assert rows[case, "stopped first"].alive == ()


def test_a_house_without_bypass_has_no_row_for_one(opened):
    """The twin: nothing to leave closed."""
    assert not any("bypass" in isolator for isolator, _ in opened)
