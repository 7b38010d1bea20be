"""Every rule against houses that a person can redo by hand; the cases are data."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
import yaml

from islewright.findings import Status
from islewright.rules import runner
from islewright.rules.registry import all_rules
from tests.rules.houses import finding_at, studied

FOLDER = Path(__file__).parent / "cases"
FILES = {
    path.stem: yaml.safe_load(path.read_text("utf-8")) for path in sorted(FOLDER.glob("*.yaml"))
}
STATUS = {
    "met": "met",
    "near": "near",
    "not met": "not met",
    "undecided": "undecided",
    "just inside": "met",
    "just outside": "not met",
}
#: how a remedy begins: what a person does with his hands, or whom he asks
ORDERS = (
    "Ask", "Bond", "Bring", "Drive", "Fit", "Follow", "Get", "Give", "Lay", "Measure", "Move",
    "Put", "Set", "Take",
)  # fmt: skip
#: how close to its limit a case "just inside" or "just outside" lies, as a share of the limit
CLOSE = 0.03
CASES = [
    pytest.param(rule, {**held["usually"], **case}, id=f"{rule}: {case['name']}")
    for rule, held in FILES.items()
    for case in held["cases"]
]


@pytest.mark.parametrize(("rule", "case"), CASES)
def test_the_rule_says_what_was_worked_out_by_hand(rule, case, tmp_path, monkeypatch):
    """Status, value and limit of each case are those of its `why`, to three digits."""
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)

    study = studied(case["house"], case["edit"], tmp_path, case.get("profile"))
    finding = finding_at(study, rule, case["at"], case["mode"])

    assert finding is not None
    assert finding.status.value == STATUS[case["kind"]], finding.because
    _hold_figures(finding, case)
    assert case.get("expect_because", "") in " | ".join(finding.because)
    asked = {q.field: q.ask for q in finding.questions}
    assert finding.status.value != "undecided" or asked or finding.because
    if "asks" in case:
        assert case["asks"] in asked
    assert case.get("expect_question", "") in " ".join(asked.values())
    assert case.get("expect_remedy", "") in " ".join(finding.remedies)
    _hold_remedies(finding)


def _hold_remedies(finding):
    """Where something must be mended somebody is told what to do, as an order."""
    assert finding.remedies or finding.status is not Status.NOT_MET
    for text in finding.remedies:
        assert text.partition(" ")[0] in ORDERS, text
        assert text.endswith("."), text
        assert not re.search(r"nan|inf\b|-\d| 0(\.0)? (A|VA)\b", text), text


def _hold_figures(finding, case):
    """Figures of a case, and that "just" is just."""
    if finding.status.value == "undecided":
        assert "value" not in case
        return
    if "value" in case:
        assert finding.value == pytest.approx(case["value"], rel=4e-3, abs=1e-6)
        if case.get("limit") is not None:
            assert finding.limit == pytest.approx(case["limit"], rel=4e-3)
    if case["kind"] == "just inside":
        assert 0 <= (finding.margin - finding.verdict.spread) / finding.limit < CLOSE
    if case["kind"] == "just outside" and case.get("tells", True):
        assert -CLOSE < finding.margin / finding.limit < 0


@pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)
def test_every_rule_has_a_case_of_every_kind(rule):
    """Six kinds each; a kind that makes no sense for a rule is left out with its reason."""
    held = FILES[rule.id]
    lacks = held.get("lacks", {})

    missing = set(STATUS) - {case["kind"] for case in held["cases"]} - set(lacks)

    assert held["rule"] == rule.id
    assert not missing
    assert all(isinstance(why, str) and why for why in lacks.values())
    assert {"met", "undecided"} & set(lacks) == set()


def test_no_case_is_left_of_a_rule_that_is_gone():
    """A file of cases belongs to a registered rule."""
    assert set(FILES) == {rule.id for rule in all_rules()}


def test_every_case_shows_its_arithmetic():
    """`why` says how a person gets there; figures are finite."""
    for held in FILES.values():
        for case in held["cases"]:
            assert case["why"].strip()
            assert math.isfinite(case.get("value", 0))
