"""What holds for every rule, whatever it demands."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pytest

from islewright.findings import Question, Status, Verdict
from islewright.job import Unknown, read_job
from islewright.network.state import Mode
from islewright.rules import runner
from islewright.rules.registry import CHAPTERS, Here, all_rules, attempt, every, first_way, rule
from islewright.rules.study import study
from islewright.tables import profile, profile_names
from tests.rules.houses import studied

EXAMPLES = Path(__file__).parents[2] / "examples"
RULES = all_rules()
NAMES = sorted(folder.name for folder in EXAMPLES.iterdir())
each_rule = pytest.mark.parametrize("one", RULES, ids=lambda one: one.id)
#: what makes a first line a formula: a sign of comparison or of consequence
FORMULA = re.compile(r"[≤≥=→]")


@each_rule
def test_a_rule_opens_with_its_formula_and_demands_something(one):
    """Docstring, title and clauses are what the user reads."""
    assert FORMULA.search(one.formula), one.formula
    assert not one.formula.endswith(".")
    assert one.words.endswith("."), "say below the formula why it is demanded"
    assert re.search(r"\bmust\b", one.title)
    assert one.clauses
    assert all(clause.strip() for clause in one.clauses)
    openings = tuple(o for name in profile_names() for o in profile(name).clause_openings)
    assert all(clause.startswith(openings) or clause[0].islower() for clause in one.clauses)
    assert one.modes
    assert len(one.body.__doc__.splitlines()) < 12


def test_ids_are_unique_and_follow_the_chapters():
    """One rule one name, in the order of the chapters."""
    ids = [one.id for one in RULES]
    chapters = [one.body.__module__.rpartition(".")[2] for one in RULES]

    assert len(set(ids)) == len(ids)
    assert chapters == sorted(chapters, key=CHAPTERS.index)
    assert set(chapters) == set(CHAPTERS)


def test_a_second_rule_of_one_name_is_refused():
    """Else the later one would silently stand in for the first."""

    def body(study, here):
        """0 ≤ 1"""

    with pytest.raises(ValueError, match=r"two rules are called overload\.cable"):
        rule("overload.cable", over="cables", modes=[Mode.GRID], title="It must", clauses=["x"])(
            body
        )
    assert all(one.body is not body for one in all_rules())


@pytest.mark.parametrize("name", NAMES)
def test_no_rule_crashes_on_an_example(name, monkeypatch):
    """A crash is undecided to the user and a failure here; every finding is whole."""
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)

    of = study(read_job(EXAMPLES / name / f"{name}.yaml"))
    findings = of.findings

    assert {f.rule for f in findings} <= {one.id for one in RULES}
    for finding in findings:
        assert finding.to_dict()["status"] == finding.status.value
        assert finding.because
        assert finding.profile.startswith(f"{of.profile.name}, ")
        assert all(text.endswith(".") for text in finding.remedies)
        if finding.status is Status.UNDECIDED:
            assert finding.questions, finding.because
        else:
            assert finding.verdict.confirmed or finding.rule == "supply.system-confirmed"


def test_a_crash_in_a_rule_is_undecided_and_the_others_go_on(tmp_path):
    """The user gets no traceback, learns whose mistake it is, and nothing passes."""
    of = studied("tt", {}, tmp_path)

    def body(study, here):
        """0 ≤ 1"""
        raise ZeroDivisionError("by nothing")

    broken = dataclasses.replace(RULES[0], id="test.broken", body=body)

    verdict = runner.judge(of, broken, Here("house", "house", Mode.GRID))

    assert verdict.status is Status.UNDECIDED
    assert "defect of this program in test.broken" in verdict.because[0]
    assert "by nothing" in verdict.because[0]


def test_a_crash_in_a_rule_fails_a_test(tmp_path, monkeypatch):
    """Tests can make it raise."""
    of = studied("tt", {}, tmp_path)
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)

    def body(study, here):
        """0 ≤ 1"""
        raise ZeroDivisionError("by nothing")

    broken = dataclasses.replace(RULES[0], body=body)

    with pytest.raises(ZeroDivisionError, match="by nothing"):
        runner.judge(of, broken, Here("house", "house", Mode.GRID))


@pytest.mark.parametrize("raised", [Unknown(Question(field="a", ask="?")), ZeroDivisionError("x")])
def test_a_remedy_that_cannot_be_worked_out_is_left_out(raised, tmp_path):
    """The finding is told all the same; a crash in a remedy fails here where tests ask for it."""
    of = studied("tt", {}, tmp_path)

    def remedy():
        raise raised

    def body(study, here):
        """1 ≤ 0"""
        return Verdict(status=Status.NOT_MET, remedies=[remedy, lambda: "Fit it."])

    broken = dataclasses.replace(RULES[0], body=body)

    found = runner.finding(of, broken, Here("house", "house", Mode.GRID))

    assert found.remedies == ("Fit it.",)


def verdict(status: str, *, because: str = "", field: str = "") -> Verdict:
    questions = (Question(field=field, ask="?"),) if field else ()
    return Verdict(status=Status(status), because=[because], questions=questions)


@pytest.mark.parametrize(
    ("ways", "status"),
    [
        (("not met", "undecided", "met"), "met"),
        (("not met", "undecided", "near"), "near"),
        (("near", "met"), "met"),
        (("not met", "undecided"), "undecided"),
        (("not met", "not met"), "not met"),
    ],
)
def test_of_ways_that_stand_in_for_one_another_the_best_decides(ways, status):
    """A gap in one way hides no other, and passes nowhere."""
    assert first_way([verdict(way) for way in ways]).status is Status(status)


def test_where_no_way_does_all_of_them_are_told():
    """Who reads "not met" sees what was tried; who reads "undecided" sees every question."""
    failed = first_way([verdict("not met", because="a"), verdict("not met", because="b")])
    open_ = first_way([verdict("undecided", because="a", field="x"),
                       verdict("undecided", because="b", field="y")])  # fmt: skip

    assert failed.because == ("a", "b")
    assert [q.field for q in open_.questions] == ["x", "y"]


@pytest.mark.parametrize(
    ("demands", "status"),
    [
        (("met", "met"), "met"),
        (("met", "near"), "near"),
        (("near", "undecided"), "undecided"),
        (("undecided", "not met"), "not met"),
    ],
)
def test_of_demands_that_all_hold_the_heaviest_decides(demands, status):
    """One that is not met is enough; one that is open keeps the rest from passing."""
    assert every([verdict(demand) for demand in demands]).status is Status(status)


def test_what_a_way_lacks_makes_only_that_way_undecided():
    """The question is kept, and the field is named."""

    def way():
        raise Unknown(Question(field="a.b", ask="How much?"))

    found = attempt(way)

    assert found.status is Status.UNDECIDED
    assert [q.field for q in found.questions] == ["a.b"]
    assert found.because == ("a.b: not known",)


def test_where_nobody_knows_at_which_places_a_rule_looks_the_house_is_undecided(tmp_path):
    """RCDs are sought along the ways to the source; here one device may stand at either end."""
    of = studied("tt", {"cables.grid side.device at": "unknown"}, tmp_path)
    found = [f for f in of.findings if f.rule == "residual.leakage" and f.mode == "grid mode"]

    assert found
    for finding in found:
        assert finding.status is Status.UNDECIDED
        assert finding.place == "house"
        assert [q.field for q in finding.questions] == ["cables.grid side.device at"]
