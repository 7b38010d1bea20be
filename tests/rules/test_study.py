"""What rules and papers ask of a study."""

from __future__ import annotations

import pytest

from tests.rules.houses import studied

LIMIT = "one-phase inverter.fault current.to earth"


@pytest.mark.parametrize("value", ["unknown", "delete"])
def test_without_the_inverters_limit_no_fault_of_the_island_is_told(value, tmp_path):
    """Rows without limit would show currents that no inverter gives."""
    of = studied("tt", {LIMIT: value}, tmp_path)

    assert of.race == ()
    assert of.zones == ()
    assert [q.field for q in of.race_missing] == [LIMIT]
    assert of.race_missing[0].whom == "the maker"


def test_with_its_limit_every_fault_of_the_island_is_told(tmp_path):
    """Three circuits of the backed-up board and two cables."""
    of = studied("tt", {}, tmp_path)

    assert of.race_missing == ()
    assert [row.place for row in of.race] == [
        "circuit lamps", "circuit sockets", "circuit pump", "cable house side",
        "cable inverter cable",
    ]  # fmt: skip
    assert [row.place for row in of.zones] == ["cable house side", "cable inverter cable"]


@pytest.mark.parametrize(
    "edits",
    [
        {"supply.measured.line-earth loop": "unknown"},
        {"supply.measured.line-neutral loop": "unknown"},
        {"supply.measured.line-line loop": "unknown"},
        {"supply.measured": "unknown"},
    ],
)
def test_a_loop_asked_for_in_vain_leaves_no_network_figure_of_the_grid(edits, tmp_path):
    """The declared one may be the better one."""
    declared = {f"supply.declared.{loop} loop": "0.4 ohm"
                for loop in ("line-neutral", "line-earth", "line-line")}  # fmt: skip
    of = studied("tn-c-s", {**declared, **edits}, tmp_path)

    found = {f.rule: f for f in of.findings if f.mode == "grid mode" and f.place == "heater"}

    for rule in ("supply.hand-and-network", "residual.sees-the-fault", "voltage.drop"):
        assert found[rule].status.value == "undecided", rule
        assert any(q.field.startswith("supply.measured") for q in found[rule].questions)
