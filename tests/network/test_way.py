"""Ways from a source to a board, and who stands guard on them."""

from islewright.network.state import Mode
from islewright.network.way import (
    cables_to,
    guards_of_circuit,
    guards_upstream,
    is_backed_up,
    source_end,
)
from tests.network.examples import job


def names(way) -> list[str]:
    return [name for name, _ in way]


def test_the_way_in_grid_mode_begins_at_the_supply():
    """Through the closed poles of the islanding switch to the backed-up board."""
    way = cables_to(job("farmhouse"), "backed-up board", Mode.GRID)

    assert names(way) == ["tails", "grid side", "house side"]


def test_the_way_in_island_mode_begins_at_the_inverter():
    """Its own cable, then the one to the board; the main board is not on it."""
    house = job("farmhouse")

    assert names(cables_to(house, "backed-up board", Mode.ISLAND)) == [
        "inverter cable",
        "house side",
    ]
    assert cables_to(house, "main board", Mode.ISLAND) is None
    assert is_backed_up(house, "backed-up board")
    assert not is_backed_up(house, "main board")


def test_the_source_has_no_way_to_itself():
    """No cable lies between a place and itself, which is not the same as being cut off."""
    assert cables_to(job("farmhouse"), "supply", Mode.GRID) == ()


def test_guards_stand_from_the_circuit_to_the_main_fuse():
    """Own device, RCD of the group, device of each cable, main fuse; in grid mode."""
    found = guards_of_circuit(job("farmhouse"), "kitchen ring", Mode.GRID)

    assert [g.branch for g in found] == ["device kitchen ring", "RCD main board/R1", "main fuse"]
    assert [g.leaves for g in found] == ["all but this circuit", "all but R1", "nothing"]


def test_the_inverters_own_device_leaves_nothing_alive():
    """What opens between inverter and house darkens the island."""
    found = guards_upstream(job("farmhouse"), "backed-up board", Mode.ISLAND)

    assert [(g.branch, g.leaves) for g in found] == [("device inverter cable", "nothing")]


def test_a_cable_is_fed_from_its_other_end_in_the_island():
    """The cable to the islanding switch begins at the main board on the grid."""
    house = job("farmhouse")
    cable = house.cables["inverter cable"]

    assert source_end(house, cable, Mode.GRID) == "islanding switch/house"
    assert source_end(house, cable, Mode.ISLAND) == "inverter"
