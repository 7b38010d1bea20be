"""Ring final circuits: what a tester reads at their points, by hand."""

import pytest

from islewright.network.impedance import circuit_way
from islewright.network.state import GRID
from tests.network.probe import loop_ohm
from tests.network.small import ONE_PHASE, core, job_of, network_of

RING = (
    "  ring: {{board: main board, behind: M1, lines: L1, cores: L1 N PE, device: B32 6 kA class 3, "
    "size: 2.5 mm2, earth: 1.5 mm2, use: sockets, loads: none, "
    "ring: {{first leg: {0} m, second leg: {1} m{2}}}}}\n"
)


def with_ring(folder, first: float, second: float, more: str = ""):
    """A one-phase house with a ring on its main board."""
    words = ONE_PHASE | {"more": RING.format(first, second, more)}
    text = ("loads: none, ", "loads: {sockets: unknown}, ")
    return network_of(folder, words, text), job_of(folder, words, text).circuits["ring"]


def own_ohm(net, kind: str) -> complex:
    """Loop of the ring alone: at its far point less just behind its device."""
    near, far = (loop_ohm(net, GRID, "circuit ring", kind, end=end) for end in ("near", "far"))
    return far - near


def test_an_equal_ring_reads_a_quarter_of_both_ends(tmp_path):
    """Line and neutral of 60 m end to end: (r_1 + r_n) / 4 at the far point."""
    net, circuit = with_ring(tmp_path, 30, 30)
    end_to_end = core(2.5, 60)

    assert own_ohm(net, "L1-N") == pytest.approx((end_to_end + end_to_end) / 4, rel=1e-4)
    assert circuit_way(circuit, "L1").cold == pytest.approx(end_to_end / 4)


def test_a_ring_with_a_thinner_earth_reads_a_quarter_of_line_and_earth(tmp_path):
    """2.5 mm² line, 1.5 mm² PE: (r_1 + r_2) / 4."""
    net, _ = with_ring(tmp_path, 30, 30)

    assert own_ohm(net, "L1-PE") == pytest.approx((core(2.5, 60) + core(1.5, 60)) / 4, rel=1e-4)


@pytest.mark.parametrize("first", [5, 20, 45])
def test_unequal_legs_lie_side_by_side(tmp_path, first):
    """r_a r_b / (r_a + r_b), less than the quarter of the equal ring."""
    net, _ = with_ring(tmp_path, first, 60 - first)
    a, b = core(2.5, first), core(2.5, 60 - first)

    assert own_ohm(net, "L1-N") == pytest.approx(2 * a * b / (a + b), rel=1e-4)
    assert abs(own_ohm(net, "L1-N")) < abs(core(2.5, 60)) / 2


def test_a_spur_adds_its_whole_length(tmp_path):
    """10 m of 1.5 mm² beyond the far point; its PE is the ring's."""
    net, _ = with_ring(tmp_path, 30, 30, ", longest spur: 10 m, spur size: 1.5 mm2")

    ring = (core(2.5, 60) + core(1.5, 60)) / 4
    assert own_ohm(net, "L1-PE") == pytest.approx(ring + 2 * core(1.5, 10), rel=1e-4)


def test_a_ring_is_a_quarter_of_the_same_cable_laid_as_a_radial(tmp_path):
    """The same 60 m from one end only: four times as much."""
    net, _ = with_ring(tmp_path, 30, 30)
    radial = "size: 2.5 mm2, length: 8 m", "size: 2.5 mm2, length: 60 m"
    other = network_of(tmp_path, ONE_PHASE, radial)
    near, far = (loop_ohm(other, GRID, "circuit cooker", "L1-N", end=e) for e in ("near", "far"))

    assert (far - near) / own_ohm(net, "L1-N") == pytest.approx(4, rel=1e-3)
