"""A status without truth value, and a finding as text and as data."""

from __future__ import annotations

import json
import math

import pytest

from islewright.findings import WEIGHT, Finding, Question, Status, Verdict, at_least, at_most


def finding(verdict: Verdict) -> Finding:
    return Finding(
        rule="chapter.rule",
        title="The device must carry it",
        clauses=("IEC 60364-4-43, 433.1",),
        place="kitchen",
        mode="grid mode",
        state="grid",
        verdict=verdict,
        profile="IEC base",
    )


@pytest.mark.parametrize("status", list(Status))
def test_no_status_is_true_or_false(status):
    """`if finding.status` would let an undecided finding pass."""
    with pytest.raises(TypeError, match="four values"):
        bool(status)


def test_a_status_in_a_condition_is_refused():
    """Also where nobody writes bool()."""
    with pytest.raises(TypeError, match="compare it"):
        _ = "passes" if Status.UNDECIDED else "fails"


def test_the_heaviest_status_comes_first():
    """Not met, undecided, near, met: the order in which findings are read."""
    ordered = sorted(Status, key=WEIGHT.__getitem__)

    assert ordered == [Status.NOT_MET, Status.UNDECIDED, Status.NEAR, Status.MET]


def test_one_line_in_the_trades_words():
    """Status, demand, place, value and limit, with the sign of the allowed side."""
    most = str(finding(at_most(13.0, 16.0, "A", spread=0.5)))
    least = str(finding(at_least(13.0, 16.0, "A", spread=0.5)))

    assert most == "met: The device must carry it (kitchen, grid mode): 13 A, must be ≤ 16 A"
    assert least == "not met: The device must carry it (kitchen, grid mode): 13 A, must be ≥ 16 A"


def test_without_a_figure_the_line_ends_earlier():
    """A yes or no, and an undecided one, print no number."""
    line = str(finding(Verdict(status=Status.UNDECIDED)))

    assert line == "undecided: The device must carry it (kitchen, grid mode)"
    assert "nan" not in line


def test_the_margin_is_counted_on_the_allowed_side():
    """Positive within the limit, negative beyond it, on both sides."""
    assert finding(at_most(13.0, 16.0, "A", spread=0.0)).margin == 3.0
    assert finding(at_most(19.0, 16.0, "A", spread=0.0)).margin == -3.0
    assert finding(at_least(13.0, 16.0, "A", spread=0.0)).margin == -3.0
    assert finding(at_least(19.0, 16.0, "A", spread=0.0)).margin == 3.0


def test_the_stable_form_has_these_keys_and_no_others():
    """What other programs read does not change by accident."""
    question = Question(field="circuits.kitchen.length", ask="How long?")
    told = finding(
        Verdict(status=Status.UNDECIDED, because=("a line",), questions=(question,), means="so")
    ).to_dict()

    assert told == {
        "rule": "chapter.rule",
        "title": "The device must carry it",
        "clauses": ["IEC 60364-4-43, 433.1"],
        "place": "kitchen",
        "mode": "grid mode",
        "state": "grid",
        "status": "undecided",
        "value": None,
        "limit": None,
        "unit": "",
        "spread": 0.0,
        "margin": None,
        "at_least": False,
        "because": ["a line"],
        "means": "so",
        "remedies": [],
        "questions": ["circuits.kitchen.length"],
        "confirmed": "",
        "profile": "IEC base",
    }


def test_the_stable_form_is_strict_json():
    """No NaN and no infinity gets into it."""
    told = finding(at_most(math.inf, math.nan, "A", spread=math.inf)).to_dict()

    assert json.loads(json.dumps(told, allow_nan=False)) == told


def test_remedies_are_worked_out_once_and_only_when_asked():
    """A remedy may need the network solved again; a met finding needs none."""
    calls = []

    def remedy() -> str:
        calls.append(1)
        return "a larger one"

    beyond = finding(at_most(2.0, 1.0, "A", spread=0.0, remedies=[remedy, remedy, lambda: None]))
    within = finding(at_most(1.0, 2.0, "A", spread=0.0, remedies=[remedy]))

    assert calls == []
    assert beyond.remedies == beyond.remedies == ("a larger one",)
    assert len(calls) == 2
    assert within.remedies == ()
    assert len(calls) == 2


def test_a_finding_does_not_change():
    """Results are frozen."""
    with pytest.raises(AttributeError, match="set"):
        finding(Verdict(status=Status.MET)).place = "elsewhere"
