"""What the rules of the island say where the inverter drives one line of three."""

from __future__ import annotations

import pytest

from islewright.rules import runner
from tests.rules.houses import finding_at, studied

ON_L2 = {
    "three-phase inverter.output": "single-phase",
    "equipment.inverter.line": "L2",
    "cables.inverter cable.cores": "L2 N PE",
}
COOKER_BACKED_UP = {
    "circuits.cooker.board": "backed-up board",
    "circuits.cooker.behind": "R2",
}


@pytest.fixture(autouse=True)
def _crashes_fail(monkeypatch):
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)


def island_rules_at(of, place):
    return {f.rule for f in of.findings if (f.place, f.mode) == (place, "island mode")}


def test_of_a_dead_circuit_only_its_line_is_told(tmp_path):
    """Sockets on L1 and pump on L3: nothing else of the island can be judged there."""
    of = studied("tn-c-s", ON_L2, tmp_path)

    for name in ("sockets", "pump"):
        assert island_rules_at(of, name) == {"source.line-alive"}
    assert "shock.island-disconnection" in island_rules_at(of, "lamps")


def test_on_the_grid_the_same_circuit_is_judged_as_ever(tmp_path):
    """The line is dead in the island only; what an inverter on one line feeds into it differs."""
    before, after = (
        {
            (f.rule, f.place): f.status
            for f in studied("tn-c-s", edits, tmp_path).findings
            if f.mode == "grid mode" and not f.rule.startswith("sources.")
        }
        for edits in ({}, ON_L2)
    )

    assert after == before


def test_a_circuit_with_one_fed_line_of_three_is_judged_on_that_line(tmp_path):
    """A fault of the cooker's dead lines draws nothing and says nothing."""
    edits = ON_L2 | COOKER_BACKED_UP
    edits |= {"three-phase inverter.rated power": "9 kVA", "circuits.cooker.loads.cooker": "3 kW"}
    of = studied("tn-c-s", edits, tmp_path)

    shock = finding_at(of, "shock.island-disconnection", "cooker", "island mode")
    drop = finding_at(of, "voltage.drop", "cooker", "island mode")

    assert shock.status.value == "met", shock.because
    assert any("I = 30.0 A" in line for line in shock.because)  # the inverter's limit
    assert drop.status.value == "met", drop.because


def test_a_cable_with_one_fed_line_is_judged_on_that_line(tmp_path):
    """The house side carries L1 L2 L3; its faults on L2 alone count."""
    of = studied("tn-c-s", ON_L2, tmp_path)

    found = finding_at(of, "shock.island-disconnection-cable", "cable house side", "island mode")

    assert found.status.value == "met", found.because
    assert [row.current_a for row in of.race if row.place == found.place] == [pytest.approx(30)]


def test_the_race_follows_no_fault_of_a_dead_line(tmp_path):
    """Lamps, and the two cables of the island."""
    of = studied("tn-c-s", ON_L2, tmp_path)

    assert [(row.place, row.kind) for row in of.race] == [
        ("circuit lamps", "L2-PE"),
        ("cable house side", "L2-PE"),
        ("cable inverter cable", "L2-PE"),
    ]


def test_a_motor_on_a_dead_line_starts_nothing(tmp_path):
    """The pump lies on L3: no start, and so no finding of one."""
    of = studied("tn-c-s", ON_L2, tmp_path)

    assert finding_at(of, "source.motor-start", "house", "island mode") is None


def test_of_a_load_on_three_lines_what_lies_on_fed_ones_counts(tmp_path):
    """0.5 x (200 + 6900 / 3) = 1250 VA."""
    of = studied("tn-c-s", ON_L2 | COOKER_BACKED_UP, tmp_path)

    found = finding_at(of, "source.continuous", "house", "island mode")

    assert found.value == pytest.approx(1250)


def test_a_shared_neutral_carries_what_fed_circuits_return(tmp_path):
    """The lamps' 200 W come back through the core of the sockets, which lie dead themselves."""
    of = studied("tn-c-s", ON_L2 | {"circuits.lamps.neutral with": "sockets"}, tmp_path)

    found = finding_at(of, "neutral.shared-current", "sockets", "island mode")

    assert found.value == pytest.approx(200 / 230)


def test_where_the_line_is_not_known_nothing_is_left_out(tmp_path):
    """A circuit that may be dead is undecided, not gone."""
    usual = studied("tn-c-s", {}, tmp_path)
    of = studied("tn-c-s", {"three-phase inverter.output": "single-phase"}, tmp_path)

    for name in ("sockets", "pump", "lamps"):
        assert island_rules_at(of, name) == island_rules_at(usual, name)
        shock = finding_at(of, "shock.island-disconnection", name, "island mode")
        assert shock.status.value == "undecided"
        assert "equipment.inverter.line" in [q.field for q in shock.questions]


def test_without_a_cable_to_the_inverter_the_house_stays_undecided(tmp_path):
    """What an island feeds that nobody drew passes nothing; the cable is asked for."""
    of = studied("tn-c-s", {"cables.inverter cable": "delete"}, tmp_path)

    for rule in ("source.continuous", "source.per-phase", "source.motor-start",
                 "source.phase-start", "source.grid-terminals-dead",
                 "earthing.island-means"):  # fmt: skip
        found = finding_at(of, rule, "house", "island mode")
        assert found.status.value == "undecided", rule
        assert "Which cable joins inverter and islanding switch?" in [
            q.ask for q in found.questions
        ]
    wanted = finding_at(of, "source.line-alive", "lamps", "island mode")
    assert wanted.status.value == "undecided"
