"""What is not known never looks like a figure on the screen."""

import json

import pytest


@pytest.fixture
def without(tmp_path, root):
    """Give a function that writes the cottage with a line of its files left out."""

    def without(line, instead=""):
        for file in ("cottage.yaml", "equipment.yaml"):
            text = (root / "examples/cottage" / file).read_text(encoding="utf-8")
            (tmp_path / file).write_text(text.replace(line, instead), encoding="utf-8")
        return tmp_path / "cottage.yaml"

    return without


def test_without_the_inverters_limit_the_race_has_no_row(run, without):
    """The maker's silence about the fault current is a question, not a current."""
    path = without("    to earth: 40 A\n")
    done = run("race", path)
    answer = json.loads(run("race", path, "--json").stdout)

    assert "not known" in done.output
    assert "fault current.to earth" in " ".join(done.output.split())
    assert answer["rows"] == []
    assert answer["missing"]


def test_without_the_inverters_limit_a_fault_in_the_island_is_a_question(run, without):
    """The fault asked for alone is refused a figure too."""
    path = without("    to earth: 40 A\n")
    answer = json.loads(run("state", path, "island", "--fault", "boiler", "--json").stdout)

    assert answer["fault"] is None
    assert answer["missing"]
    assert "not known" in run("state", path, "island", "--fault", "boiler").output


def test_without_a_demand_factor_the_loads_are_off_and_it_says_so(run, without):
    """Voltages are still shown, as those of a house that draws nothing."""
    path = without("    demand factor: 0.5\n")
    done = run("state", path, "grid")
    answer = json.loads(run("state", path, "grid", "--json").stdout)

    assert "Loads are off" in done.output
    assert "loads on" not in done.output
    assert answer["loads_on"] is False
    assert answer["missing"]


def test_a_revision_that_nobody_knows_is_printed_as_not_known(run, without):
    """Neither check nor pack stops at it."""
    path = without("  revision: 1\n", "  revision: unknown\n  note: unknown\n")
    path.write_text(
        path.read_text(encoding="utf-8").replace("  note: invented house\n", ""), encoding="utf-8"
    )

    assert "Cottage by the lake, revision not known" in run("check", path).output
    assert json.loads(run("check", path, "--json").stdout)["job"]["revision"] is None
    assert run("pack", path, "--to", path.with_suffix(".pdf")).exit_code == 0


def test_a_cable_whose_device_stands_at_an_unknown_end_is_in_the_pack(run, without):
    """The schedule says so; which end it is settles what the device protects."""
    path = without("    to: islanding switch/grid\n",
                   "    to: islanding switch/grid\n    device at: unknown\n")  # fmt: skip
    done = run("pack", path, "--to", path.with_suffix(".pdf"))

    assert done.exit_code == 0


def test_without_the_coupling_of_pv_the_states_in_which_it_feeds_are_not_known(run, root, tmp_path):
    """It may feed in somewhere in the house; the island on the battery is told as ever."""
    for file in ("terrace.yaml", "equipment.yaml"):
        text = (root / "examples/terrace" / file).read_text(encoding="utf-8")
        (tmp_path / file).write_text(text.replace("  coupling: d.c.\n", ""), encoding="utf-8")
    path = tmp_path / "terrace.yaml"
    told = {
        state: json.loads(run("state", path, state, "--json").stdout)
        for state in ("island, with PV", "island, on the battery")
    }

    assert told["island, with PV"]["volts"] == {}
    assert any(field.endswith("coupling") for field in told["island, with PV"]["missing"])
    assert told["island, on the battery"]["volts"]
    assert "not known" in run("state", path, "island, with PV").output
