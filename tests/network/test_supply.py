"""The public supply rebuilt from loops, by hand: the worse of what is stated counts."""

import pytest

from islewright.network.state import GRID
from islewright.network.supply import supply_impedance
from islewright.tables.profile import profile
from tests.network.probe import fault
from tests.network.small import ONE_PHASE, THREE_PHASES, job_of, network_of, parts_of

RULES = profile("IEC base")
MEASURED = "measured: {line-neutral loop: 0.4 ohm, line-earth loop: 21.2 ohm}\n  declared: none"

LOOPS = ("line-neutral loop", "line-earth loop", "line-line loop", "largest fault current")


def stated(measured: str, declared: str) -> tuple[str, str]:
    """More figures in the job file, beside the loops of the small house; no others exist."""
    both = f"line-neutral loop: 0.4 ohm, line-earth loop: 21.2 ohm{measured}"
    return MEASURED, f"measured: {{{_filled(both)}}}\n  declared: {{{_filled(declared)}}}"


def _filled(loops: str) -> str:
    """With `none` for every loop that is not stated."""
    return ", ".join([loops, *(f"{key}: none" for key in LOOPS if key not in loops)])


def impedance(folder, words, exchanged, *, worst: bool):
    job = job_of(folder, words, exchanged)
    return supply_impedance(job, RULES, parts_of(job), worst=worst)


def test_minima_take_the_larger_loop_and_maxima_the_smaller(tmp_path):
    """Measured 0.4, declared 0.6 ohm: 0.6 for minima, resistive; 0.4 for maxima, reactive."""
    both = stated("", "line-neutral loop: 0.6 ohm")
    worst = impedance(tmp_path, ONE_PHASE, both, worst=True)
    best = impedance(tmp_path, ONE_PHASE, both, worst=False)

    assert worst.z_l + worst.z_n == pytest.approx(0.6)
    assert best.z_l + best.z_n == pytest.approx(0.4j)


def test_a_line_line_loop_divides_the_line_neutral_loop(tmp_path):
    """Line-line 0.3 ohm: 0.15 ohm a line, what is left of 0.4 is the neutral."""
    found = impedance(
        tmp_path, THREE_PHASES, stated(", line-line loop: 0.3 ohm", "line-neutral loop: 0.4 ohm"),
        worst=True,
    )  # fmt: skip

    assert found.z_l == pytest.approx(0.15)
    assert found.z_n == pytest.approx(0.25)


@pytest.mark.parametrize(("measured", "declared"), [("2.3 kA", "1.15 kA"), ("1.15 kA", "2.3 kA")])
def test_maxima_take_the_larger_of_both_fault_currents(tmp_path, measured, declared):
    """2.3 kA, whoever states it: 230 V over 0.1 ohm; at the board's bolted fault a little less."""
    both = stated(
        f", largest fault current: {measured}",
        f"line-neutral loop: 0.4 ohm, largest fault current: {declared}",
    )
    best = impedance(tmp_path, ONE_PHASE, both, worst=False)

    assert abs(best.z_l + best.z_n) == pytest.approx(0.1)
    amps, _, _ = fault(network_of(tmp_path, ONE_PHASE, both), GRID, "cable tails", "L1-N")
    assert 2200 < abs(amps) < 2300


def test_the_transformers_electrode_is_what_the_earth_loop_leaves(tmp_path):
    """21.2 ohm less the line's 0.2 and the house's 20: 1 ohm."""
    job = job_of(tmp_path, ONE_PHASE, ("street: {transformer electrode: 1 ohm, ", "street: {"))
    found = supply_impedance(job, RULES, parts_of(job), worst=True)

    assert found.r_b == pytest.approx(1.0)
