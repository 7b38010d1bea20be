"""Where neutral and earth meet, seen from a board."""

import pytest

from islewright.network.build import build
from islewright.network.joints import joints_of, neutral_of
from islewright.network.parts import Branch
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND, Mode
from islewright.tables.profile import profile
from tests.network.examples import job, network

BOND = "the bond in the islanding switch"


@pytest.mark.parametrize(
    ("name", "in_grid"),
    [
        ("cottage", "the operator's transformer"),
        ("terrace", "the operator's transformer"),
        ("farmhouse", "the operator's PEN"),
    ],
)
def test_each_example_is_joined_once_in_each_mode(name, in_grid):
    """At the operator on the grid; at the local bond in the island."""
    net = network(name)
    board = next(b for b in job(name).boards if "backed-up" in b)

    assert joints_of(net, GRID, board) == [in_grid]
    assert len(joints_of(net, ISLAND, board)) == 1
    assert joints_of(net, ISLAND, board)[0].startswith("the bond in")


def test_a_board_that_is_cut_off_still_has_the_operators_joint():
    """The main board lies on the public side of the open poles."""
    assert joints_of(network("farmhouse"), ISLAND, "main board") == ["the operator's PEN"]


def test_a_second_joint_in_a_board_is_found_from_every_neutral_that_reaches_it():
    """A link from N to PE in the backed-up board: two joints in both modes."""
    parts = build(job("farmhouse"), profile("IEC base"))
    ends = (parts.index[f"backed-up board.{c}"] for c in ("N", "PE"))
    parts.branches.append(Branch("wrong link", "", "link", *ends, 1e-3 + 0j, 1e-3 + 0j))
    net = Network(parts)

    assert joints_of(net, GRID, "main board") == ["the operator's PEN", "wrong link"]
    assert joints_of(net, ISLAND, "backed-up board") == [BOND, "wrong link"]


def test_without_the_bond_the_island_is_joined_nowhere():
    """Opened in its own state."""
    state = ISLAND.but("bond open", bond="open")

    assert joints_of(network("farmhouse"), state, "backed-up board") == []


def test_the_neutral_of_a_board_is_protected_at_the_smallest_device_of_its_way():
    """In the island the inverter's own device, on the grid the fuse of the cable."""
    house = job("farmhouse")

    assert neutral_of(house, "backed-up board", Mode.ISLAND) == ("inverter cable", 25.0)
    assert neutral_of(house, "backed-up board", Mode.GRID) == ("grid side", 50.0)
