"""The largest currents by hand are those of the network, or a little more."""

from __future__ import annotations

from pathlib import Path

import pytest

from islewright.job import read_job
from islewright.network.state import GRID
from islewright.rules.prospective import largest_at, source_fault_a
from islewright.rules.study import study

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.mark.parametrize("name", ["cottage", "terrace", "farmhouse"])
@pytest.mark.parametrize("lines", [1, 3])
def test_the_sum_by_hand_is_the_networks_current(name, lines):
    """Cold, at c_max, without loads: within 3 %, and never less by more than rounding."""
    of = study(read_job(EXAMPLES / name / f"{name}.yaml"))
    if lines > len(of.job.phases):
        return
    solved = of.net.solved(GRID, case="cold", factor=float(of.profile.number("loop.c_max")))
    own = source_fault_a(of.job)[0]
    for board in of.job.boards:
        by_hand = largest_at(of, board, lines).amps - own

        network = _network_a(solved, board, lines)

        assert network * 0.999 <= by_hand <= network * 1.03


def _network_a(solved, board, lines):
    """One line to neutral, or three lines at once by the loops between two of them."""
    a, b = solved.at(board, "L1"), solved.at(board, "L2" if lines > 1 else "N")
    inverse, x = solved.inverse, solved.x
    loop = inverse[a, a] + inverse[b, b] - inverse[a, b] - inverse[b, a]
    amps = abs((x[a] - x[b]) / loop)
    return amps * 2 / 3**0.5 if lines > 1 else amps
