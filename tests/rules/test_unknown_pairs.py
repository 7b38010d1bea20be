"""One or two figures that a rule used, set to `unknown`: nothing may pass that did not before.

One gap may hide another: a rule that asks for the first figure alone, and goes another way
without it, never comes to ask for the second. Examples are looked through as a whole; of each
rule the cases that do not pass are.
"""

from __future__ import annotations

import random
from contextlib import suppress
from itertools import combinations

import pytest

from islewright.findings import Verdict
from islewright.job import BadJob, Unknown, read_job
from islewright.job.part import Part
from islewright.rules import runner
from islewright.rules.registry import all_rules
from islewright.rules.study import Study, study
from tests.rules.houses import HOUSES as FOLDER
from tests.rules.houses import altered, edit, everywhere, leaves, raw_house, write_house
from tests.rules.test_cases import FILES
from tests.rules.test_unknown import BOUNDED, EXAMPLES, PASSED, Key, Path_, as_it_is, judged

HOUSES = ("cottage", "flat", "terrace", "workshop", "bungalow", "cabin")
#: pairs of each rule in each house, and in each case; single figures of each case
IN_A_HOUSE, IN_A_CASE, SINGLES = 1, 2, 5
#: kinds of cases that do not pass
FAILING = ("not met", "just outside", "undecided")
#: rules all of whose figures must be stated, so that the file is refused
REFUSED = {"entry.terminal-alone", "neutral.pen-in-house"}
RULES = {rule.id: rule for rule in all_rules()}


def paths_of(files: dict[str, dict]) -> dict[str, Path_]:
    """Every figure that a house states, by its path in one text."""
    return {".".join(path): path for tree in files.values() for path in leaves(tree)}


def some(of: set, most: int, seed: str) -> list:
    """A few of them, the same on every run."""
    return random.Random(seed).sample(sorted(of), min(most, len(of)))  # noqa: S311


# ---------------------------------------------------------------- whole houses


def pairs_of(name: str, rule: str) -> list[tuple[Path_, Path_]]:
    """Some pairs of figures that the bodies of a rule read together."""
    stated = paths_of(raw_house(EXAMPLES / name, f"{name}.yaml"))
    together: set[tuple[str, str]] = set()
    for (of, _, _), read in as_it_is(name)[1].items():
        if of == rule:
            together.update(combinations(sorted(read & stated.keys()), 2))
    return [(stated[a], stated[b]) for a, b in some(together, IN_A_HOUSE, f"{name} {rule}")]


@pytest.mark.parametrize("name", HOUSES)
@pytest.mark.parametrize("rule", RULES)
def test_two_gaps_make_nothing_pass_in_a_house(rule, name, tmp_path, monkeypatch):
    """Of every finding of the house, not of this rule alone."""
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)
    before = as_it_is(name)[0]

    wrong = {pair: turned(name, pair, before, tmp_path) for pair in pairs_of(name, rule)}

    assert not {pair: keys for pair, keys in wrong.items() if keys}


def turned(name: str, pair: tuple[Path_, Path_], before: dict, folder) -> list[Key]:
    """Findings that pass with both figures unknown and did not before."""
    files = raw_house(EXAMPLES / name, f"{name}.yaml")
    for path in pair:
        edit(files, path, "unknown")
    try:
        after = judged(read_job(write_house(files, folder)))
    except BadJob:
        return []
    return [
        key
        for key, found in after.items()
        if found.status in PASSED and (key not in before or before[key].status not in PASSED)
    ]


# ---------------------------------------------------------------- cases of one rule


def of_case(case: dict, folder, gaps: tuple[Path_, ...] = ()) -> Study:
    """The study of a case, with some of its figures unknown."""
    files = case_files(case)
    for path in gaps:
        edit(files, path, "unknown")
    job = read_job(write_house(files, folder))
    rules = case.get("profile")
    return Study(job, altered(job.head.profile, rules)) if rules else study(job)


def case_files(case: dict) -> dict[str, dict]:
    files = raw_house(FOLDER, f"{case['house']}.yaml")
    for path, value in case["edit"].items():
        edit(files, path, value)
    return files


def judge(of: Study, rule: str, case: dict) -> Verdict | None:
    """What the rule alone says at the place of the case; nothing where its places are hidden."""
    with suppress(Unknown):  # the runner makes the whole house undecided then
        for here in everywhere(of.job, RULES[rule]):
            if (here.place, here.mode.value) == (case["at"], case["mode"]):
                return runner.judge(of, RULES[rule], here)
    return None


def figures_of(rule: str, case: dict, folder) -> set[str]:
    """Figures that the rule's body reads at the place of the case."""
    of = of_case(case, folder)
    with suppress(Unknown):
        _ = of.net
    read: set[str] = set()
    plain = Part.__getattribute__

    def noting(part: Part, name: str) -> object:
        value = plain(part, name)
        if not name.startswith("_") and name in type(part).__pydantic_fields__:
            alias = type(part).__pydantic_fields__[name].alias or name
            read.add(f"{plain(part, '_path')}.{alias}".lstrip("."))
        return value

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Part, "__getattribute__", noting)
        judge(of, rule, case)
    return read & paths_of(case_files(case)).keys()


@pytest.mark.parametrize("rule", RULES)
def test_gaps_make_no_case_pass_that_does_not(rule, tmp_path, monkeypatch):
    """Each figure by itself, and some of them two at once, in cases worked out by hand."""
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)
    held, tried, passed = FILES[rule], 0, []
    for case in ({**held["usually"], **case} for case in held["cases"]):
        if case["kind"] not in FAILING:
            continue
        stated, seed = paths_of(case_files(case)), f"{rule} {case['name']}"
        try:
            read = figures_of(rule, case, tmp_path)
        except BadJob:  # a case that holds what is told of a file that cannot be read
            continue
        if rule in BOUNDED:  # a device that opens bounds a load that is not known
            read = {name for name in read if ".loads." not in name}
        singles = [(name,) for name in some(read, SINGLES, seed)]
        for names in [*singles, *some(set(combinations(sorted(read), 2)), IN_A_CASE, seed)]:
            try:
                of = of_case(case, tmp_path, tuple(stated[name] for name in names))
            except BadJob:
                continue
            tried += 1
            found = judge(of, rule, case)
            if found is not None and found.status in PASSED:
                passed.append((case["name"], names))

    assert not passed
    assert bool(tried) is (rule not in REFUSED)
