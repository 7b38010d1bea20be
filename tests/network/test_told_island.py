"""What an island is called that no bond earths, or that no cable feeds."""

import pytest

from islewright.network.race import system_of
from islewright.network.solve import Network
from islewright.network.state import GRID, GRID_FEEDING, ISLAND, ISLAND_GRID_BACK
from islewright.network.tell import DEAD_BELOW_V, sheet
from islewright.rules.study import study
from tests.network.small import ONE_PHASE, job_of, parts_of

BOND = "{at: house, closed: in island mode, contact resistance: 1 mohm}"
AT_THE_GRID = (BOND, BOND.replace("house", "grid"))
CABLE = (
    "  inverter cable: {from: islanding switch/inverter, to: inverter/output, cores: L1 N PE, "
    "size: 6 mm2, length: 5 m, device: C32 6 kA class 3}\n"
)
NO_CABLE = (CABLE, "")
IN_THE_INVERTER = (
    "0.2 ohm\n  neutral-earth bond: none",
    "0.2 ohm\n  neutral-earth bond: {at: inverter, closed: in island mode}",
)


@pytest.mark.parametrize(
    ("exchanged", "system", "where"),
    [
        ([], "TN-S", "bond"),
        ([(BOND, "none")], "IT", "nowhere"),
        ([AT_THE_GRID], "IT", "nowhere"),
        ([AT_THE_GRID, IN_THE_INVERTER], "TN-S", "inverter bond"),
    ],
)
def test_a_bond_beyond_the_open_neutral_pole_earths_no_island(tmp_path, exchanged, system, where):
    """It reads as an island without a bond: no place joins its neutral to earth."""
    job = job_of(tmp_path, ONE_PHASE, *exchanged)
    told = sheet(job, Network(parts_of(job)), ISLAND)

    assert system_of(job, ISLAND) == told.system == system
    if where == "nowhere":
        assert "island board: nowhere" in told.neutral_earthed_at or (
            told.neutral_earthed_at == "nowhere"
        )
    else:
        assert "island board: nowhere" not in told.neutral_earthed_at
        assert told.neutral_earthed_at != "nowhere"


def test_a_bond_at_the_grid_side_serves_an_island_whose_neutral_runs_through(tmp_path):
    """With the neutral left continuous the island has the supply's system, bond or none."""
    through = ("switched poles: L1 N", "switched poles: L1")
    assert system_of(job_of(tmp_path, ONE_PHASE, AT_THE_GRID, through), ISLAND) == "TT"


def test_an_inverter_that_no_cable_reaches_feeds_nothing(tmp_path):
    """No state names it as a source, no island has a system, and every board is dead."""
    job = job_of(tmp_path, ONE_PHASE, NO_CABLE)
    net = Network(parts_of(job))
    island = sheet(job, net, ISLAND)

    assert island.fed_by == "nothing, as no cable reaches the inverter"
    assert island.system == "none, as nothing is fed"
    assert all(island.volts[board] < DEAD_BELOW_V for board in job.boards)
    assert max(sheet(job, net, GRID_FEEDING).volts.values()) < 240  # no current without a way
    for state, fed_by in (
        (GRID, "the public supply"),
        (GRID_FEEDING, "the public supply"),
        (ISLAND_GRID_BACK, "the public supply"),
    ):
        assert sheet(job, net, state).fed_by == fed_by


def test_the_race_of_an_inverter_that_no_cable_reaches_is_empty_with_the_reason(tmp_path):
    """What is missing is a cable, and the question says so."""
    of = study(job_of(tmp_path, ONE_PHASE, NO_CABLE))

    assert of.race == ()
    (question,) = of.race_missing
    assert question.field == "cables"
    assert "None does" in question.ask
    assert study(job_of(tmp_path, ONE_PHASE)).race_missing == ()
