"""What a profile does to the rules: no figure is inherited, and what it does not know is off."""

from __future__ import annotations

import functools
from pathlib import Path

import pytest

from islewright.findings import Status
from islewright.job import read_job
from islewright.job.once import forget
from islewright.rules import runner
from islewright.rules.clauses import clauses_under
from islewright.rules.forms import NoSuchForm, form_of
from islewright.rules.registry import all_rules
from islewright.rules.study import Study
from islewright.tables import NotApplicable, NotStated, Profile, profile, profile_names
from tests.rules.houses import HOUSES, everywhere

EXAMPLES = Path(__file__).parents[2] / "examples"


def altered(name: str, **values: str) -> Profile:
    """A profile in which some keys have another value; "" for a blank one."""
    base = profile(name)
    rows = [base.row(key) for key in base.keys]
    wanted = {key.replace("__", "."): value for key, value in values.items()}
    assert set(wanted) <= set(base.keys)
    return Profile(name, tuple(row._replace(value=wanted.get(row.key, row.value)) for row in rows))


def found(rules: Profile, rule: str, house: str = "tt") -> list:
    of = Study(read_job(HOUSES / f"{house}.yaml"), rules)
    return [f for f in of.findings if f.rule == rule]


def test_a_blank_figure_is_undecided_although_another_profile_has_it():
    """The finding names the key, and asks for the figure as a question of its own."""
    assert profile("IEC base").number("volt.drop_other") == 5
    usual = found(profile("GB"), "voltage.drop")
    blank = found(altered("GB", volt__drop_other="", volt__drop_lighting=""), "voltage.drop")

    assert {one.status for one in usual} - {Status.UNDECIDED}
    assert len(blank) == len(usual)
    assert {one.status for one in blank} == {Status.UNDECIDED}
    told = [one for one in blank if "states no figure for volt.drop_other" in one.because[0]]
    assert told
    assert told[0].questions[0].field == "job.profile (volt.drop_other)"
    assert "GB states none" in told[0].questions[0].ask


def test_what_is_not_applicable_switches_the_rule_off():
    """No finding at all: neither a pass nor a gap."""
    on = found(profile("IEC base"), "residual.additional-protection")
    off = found(
        altered("IEC base", rcd__additional_rating="not applicable"),
        "residual.additional-protection",
    )

    assert on
    assert off == []


def test_a_form_that_the_profile_names_is_taken():
    """One word, one function."""
    forms = {"line": "by the line conductor", "device": "by the device"}

    assert form_of(profile("IEC base"), "pe.sizing", forms) == "by the line conductor"
    assert form_of(altered("IEC base", pe__sizing="device"), "pe.sizing", forms) == "by the device"


def test_a_form_that_is_not_built_in_is_undecided_and_never_another_one():
    """So is one that the profile does not name; one that does not apply is off."""
    forms = {"line": "by the line conductor"}

    with pytest.raises(NoSuchForm, match=r'"table" for pe\.sizing in the profile "GB"') as odd:
        form_of(altered("GB", pe__sizing="table"), "pe.sizing", forms)
    assert isinstance(odd.value, NotStated)
    with pytest.raises(NotStated, match=r"states no figure for pe\.sizing"):
        form_of(altered("GB", pe__sizing=""), "pe.sizing", forms)
    with pytest.raises(NotApplicable, match=r"pe\.sizing is not a concept"):
        form_of(altered("GB", pe__sizing="not applicable"), "pe.sizing", forms)


def test_a_finding_shows_the_clauses_of_its_own_rule_set():
    """What belongs to nobody is shown to all; others' clauses are said to be others'."""
    both = ("IEC 1, 2.3", "BS 7671:2018, 4.5", "common practice, no source")
    iec, gb = profile("IEC base"), profile("GB")

    assert clauses_under(iec, both) == ("IEC 1, 2.3", "common practice, no source")
    assert clauses_under(gb, both) == ("BS 7671:2018, 4.5", "common practice, no source")
    assert clauses_under(gb, both[:1]) == ("IEC 1, 2.3; no clause of GB known here",)
    assert clauses_under(gb, both[2:]) == both[2:]


@pytest.mark.parametrize("name", profile_names())
def test_every_rule_has_a_clause_in_every_profile(name):
    """A reader finds the text that he works by."""
    lacking = [
        rule.id
        for rule in all_rules()
        if any("known here" in clause for clause in clauses_under(profile(name), rule.clauses))
    ]

    assert lacking == []


@pytest.mark.parametrize("name", sorted(folder.name for folder in EXAMPLES.iterdir()))
def test_an_example_is_judged_by_the_british_rules_as_well(name, monkeypatch):
    """No crash; findings name profile and clause, and nothing else."""
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)
    of = Study(read_job(EXAMPLES / name / f"{name}.yaml"), profile("GB"))

    for finding in of.findings:
        assert finding.profile.startswith("GB, BS 7671:2018")
        assert not any(clause.startswith("IEC ") for clause in finding.clauses)
        assert finding.because


#: rules that go on where their rule set has no such concept, and what it would have added
ADDS = {
    ("earthing.conductor", "earthing.conductor_pme"): "what the street sends along a PEN",
    ("earthing.conductor", "bonding.pme"): "the size that goes with the operator's neutral",
    ("earthing.bonding", "bonding.pme"): "the size that goes with the operator's neutral",
}
#: rules that only remark on a figure, which another rule judges
REMARKS = {("earthing.island-means", "island.electrode_max"): "earthing.electrode"}
#: rules about terms that the rule set may not have; another one tells that it is undecided
TOLD_ELSEWHERE = {"ring.load": "overload.circuit-cable", "ring.spur": "overload.circuit-cable"}


def reads(name: str, house: str) -> dict[tuple[str, str, str], frozenset[str]]:
    """Keys of the profile that each finding of an example asked for."""
    job = read_job(EXAMPLES / house / f"{house}.yaml")
    of, found = Study(job, profile(name)), {}
    asked: set[str] = set()
    with pytest.MonkeyPatch.context() as patch:
        for method in ("number", "text", "applies"):
            plain = getattr(Profile, method)

            def noting(rules, key, plain=plain):
                asked.add(key)
                return plain(rules, key)

            patch.setattr(Profile, method, noting)
        for rule in all_rules():
            for here in everywhere(of.job, rule):
                asked.clear()
                of.answers.clear()
                forget(of.job)
                if runner.judge(of, rule, here) is not None:
                    found[rule.id, here.place, here.mode.value] = frozenset(asked)
    return found


OURS = ("basis.", "spread.", "network.", "load.")
JUDGED = [("GB", "flat"), ("IEC base", "workshop")]
KEYS = [
    pytest.param(name, house, key, id=f"{name}: {key}")
    for name, house in JUDGED
    for key in profile(name).keys
    if not key.startswith(OURS) and profile(name).row(key).value
]
READS = functools.cache(reads)


@functools.cache
def judged(name: str, house: str) -> dict:
    return by_place(Study(read_job(EXAMPLES / house / f"{house}.yaml"), profile(name)))


def by_place(of: Study) -> dict:
    return {(f.rule, f.place, f.mode): f for f in of.findings}


@pytest.mark.parametrize(("name", "house", "key"), KEYS)
def test_no_rule_passes_without_a_figure_of_its_own_profile(name, house, key, monkeypatch):
    """What asked for the key is undecided where it is blank, and says nothing where it is off."""
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)
    before = judged(name, house)
    asked = [at for at, keys in READS(name, house).items() if key in keys]
    path = EXAMPLES / house / f"{house}.yaml"

    blank = by_place(Study(read_job(path), altered(name, **{key: ""})))
    off = by_place(Study(read_job(path), altered(name, **{key: "not applicable"})))

    passed = (Status.MET, Status.NEAR)
    for after, excused in ((blank, REMARKS), (off, REMARKS | ADDS)):
        kept = [at for at in asked if at in after and after[at].status in passed]
        assert [at for at in kept if (at[0], key) not in excused] == []
        turned = [at for at in after if at in before and before[at].status not in passed]
        assert [at for at in turned if after[at].status in passed] == []
    gone = set(before) - set(blank)
    assert {at[0] for at in gone} <= set(TOLD_ELSEWHERE)
    for rule, place, mode in gone:
        assert blank[TOLD_ELSEWHERE[rule], place, mode].status is Status.UNDECIDED
