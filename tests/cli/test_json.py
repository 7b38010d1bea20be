"""The JSON form is a promise: its keys are pinned here and described in docs/json.md."""

import re

import pytest

from islewright import read_job, study
from islewright.network.state import ISLAND
from tests.cli.conftest import EXAMPLES

HEAD = {"form", "islewright", "job", "profile", "edition", "input_hash"}
FINDING = {
    "rule", "title", "clauses", "place", "mode", "state", "status", "value", "limit", "unit",
    "spread", "margin", "at_least", "because", "means", "remedies", "questions", "confirmed",
    "profile",
}  # fmt: skip
ROW = {
    "place", "end", "kind", "state", "limited", "current_a", "voltage_left_v", "touch_v",
    "touch_earth_v", "allowed_s", "devices", "alive_after",
}  # fmt: skip
DEVICE = {
    "role", "name", "current_a", "volts", "known", "opens", "earliest_s", "latest_s", "rank",
    "questions",
}  # fmt: skip
STATE = {
    "name", "mode", "fed_by", "system", "neutral_earthed_at", "bond", "means_of_earthing",
    "always_alive", "closed", "alive",
}  # fmt: skip


@pytest.mark.parametrize("example", EXAMPLES)
def test_a_check_says_what_the_library_says(ask, examples, example):
    """Findings, counts and questions are those of the study."""
    answer = ask("check", examples[example])
    result = study(read_job(examples[example]))

    assert set(answer) == HEAD | {
        "verdict", "counts", "findings", "questions", "assumptions", "not_covered",
    }  # fmt: skip
    assert answer["input_hash"] == result.job.input_hash
    assert answer["counts"] == {status.value: n for status, n in result.counts.items()}
    assert answer["findings"] == [finding.to_dict() for finding in result.findings]
    assert {key for finding in answer["findings"] for key in finding} == FINDING
    for question in answer["questions"]:
        assert set(question) == {"field", "ask", "how", "whom", "findings_count"}
    assert len(answer["questions"]) == len(result.questions)
    for assumption in answer["assumptions"]:
        assert set(assumption) == {"what", "value", "why"}


def test_an_explanation_holds_the_finding_and_its_text(ask, examples):
    """Each finding of the place, as in the check, with what is printed."""
    answer = ask("explain", examples["farmhouse"], "attic sockets", "--rule", "overload")

    assert set(answer) == HEAD | {"place", "findings"}
    assert answer["place"] == "attic sockets"
    assert answer["findings"]
    for finding in answer["findings"]:
        assert set(finding) == FINDING | {"text"}
        assert finding["rule"].startswith("overload.")
        assert all(line in finding["text"] for line in finding["because"])


def test_the_race_has_a_row_for_each_fault(ask, examples):
    """Rows and devices are those of the study; never and not known are told apart."""
    answer = ask("race", examples["farmhouse"])
    race = study(read_job(examples["farmhouse"])).race

    assert set(answer) == HEAD | {"rows", "missing"}
    assert [row["place"] for row in answer["rows"]] == [row.place for row in race]
    assert answer["missing"] == []
    devices = [device for row in answer["rows"] for device in row["devices"]]
    assert {key for row in answer["rows"] for key in row} == ROW
    assert {key for device in devices for key in device} == DEVICE
    assert all(device["earliest_s"] is not None for device in devices if device["opens"])


def test_the_states_are_listed_and_one_is_told(ask, examples):
    """Positions, what is alive, voltages and currents as size and angle."""
    listed = ask("state", examples["cottage"])
    told = ask("state", examples["cottage"], "island")

    assert set(listed) == HEAD | {"states", "isolations", "rises"}
    assert {key for state in listed["states"] for key in state} == STATE
    assert set(told) == HEAD | {
        "state", "missing", "loads_on", "volts", "cable_amps", "circuit_amps", "earth_amps",
        "residual_amps",
    }  # fmt: skip
    assert told["loads_on"] is True
    assert set(told["state"]) == STATE
    assert told["state"]["closed"]["islanding switch L1"] is False
    assert told["state"]["closed"]["bond"] is True
    assert told["volts"]["main board"]["L1"]["size"] < 1
    assert 215 < told["volts"]["circuit kitchen sockets"]["L1"]["size"] < 231
    assert set(told["cable_amps"]["house side"]["N"]) == {"size", "deg"}


def test_what_flows_into_the_circuits_flows_through_their_cable(ask, examples):
    """Kirchhoff at the cottage's backed-up board: one line, so the phasors add."""
    told = ask("state", examples["cottage"], "island")
    result = study(read_job(examples["cottage"]))
    mine = [n for n, c in result.job.circuits.items() if c.board == "backed-up board"]
    flow = result.loaded(ISLAND)
    total = sum(flow.near_currents(name)["L1"] for name in mine)

    assert told["cable_amps"]["house side"]["L1"]["size"] == pytest.approx(abs(total), abs=1e-3)


def test_a_fault_agrees_with_the_race(ask, examples):
    """The same fault asked for alone has the current, the voltages and the devices of its row."""
    (row,) = [
        row
        for row in ask("race", examples["farmhouse"])["rows"]
        if row["place"] == "circuit freezer"
    ]
    answer = ask("state", examples["farmhouse"], "island", "--fault", "freezer")
    fault = answer["fault"]

    assert set(answer) == HEAD | {"fault", "missing"}
    assert set(fault) == ROW | {"largest_a", "earthing_terminal_v", "volts"}
    assert fault["kind"] == row["kind"]
    for key in ("current_a", "voltage_left_v", "touch_v", "touch_earth_v", "allowed_s"):
        assert fault[key] == pytest.approx(row[key], rel=1e-9)
    assert [d["name"] for d in fault["devices"]] == [d["name"] for d in row["devices"]]
    assert fault["largest_a"] >= fault["current_a"] - 1e-6


def test_every_key_is_described(root, ask, examples):
    """The page names each key that an answer has."""
    page = (root / "docs/json.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`([a-z_]+)`", page))
    answers = [
        ask("check", examples["farmhouse"]),
        ask("state", examples["farmhouse"]),
        ask("state", examples["farmhouse"], "grid"),
        ask("state", examples["farmhouse"], "grid", "--fault", "oven"),
    ]

    assert {key for answer in answers for key in answer} <= named
    assert named >= FINDING | ROW | DEVICE | STATE
