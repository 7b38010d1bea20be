"""What tampering by chance has found once, written out so that it stays mended."""

from __future__ import annotations

import copy

import pytest
import yaml

from islewright.findings import Status
from islewright.job import BadJob, read_job
from islewright.rules import runner
from islewright.rules.study import study
from tests.rough import houses
from tests.rough.tamper import without
from tests.rough.trial import tried


def read(house, place, value, folder):
    """An example with one value put in, as a job."""
    trees = copy.deepcopy(houses.trees(house))
    houses.text_at(trees[f"{house}.yaml"], place[:-1])[place[-1]] = value
    for name, tree in trees.items():
        (folder / name).write_text(yaml.dump(tree, allow_unicode=True), encoding="utf-8")
    return read_job(folder / f"{house}.yaml")


@pytest.mark.parametrize("house", ["farmhouse", "flat", "cabin"])
def test_a_house_without_circuits_passes_nothing_about_their_voltage(house, tmp_path, monkeypatch):
    """There is no worst load then; the survey is asked."""
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)

    found = study(read(house, ("circuits",), "none", tmp_path)).findings

    at_load = [f for f in found if f.rule == "voltage.at-load"]
    assert {f.status for f in at_load} == {Status.UNDECIDED}
    assert at_load[0].questions[0].field == "circuits"


@pytest.mark.parametrize("text", ["?", "\0"])
@pytest.mark.parametrize(
    ("house", "place"),
    [
        ("cabin", ("equipment", "inverter", "model")),
        ("farmhouse", ("equipment", "islanding switch", "model")),
        ("cottage", ("job", "profile")),
    ],
)
def test_a_sign_is_no_name(house, place, text, tmp_path):
    """It is told like any other name that there is not."""
    with pytest.raises(
        BadJob, match=r"no equipment file|no rule set|no sign that anyone could read"
    ) as bad:
        read(house, place, text, tmp_path)

    assert [".".join(place)] == [problem.path for problem in bad.value.problems]


def test_an_electrode_of_no_resistance_is_refused(tmp_path):
    """Nobody measures that; whoever writes it has left the field empty."""
    place = ("earthing", "electrode", "resistance")
    with pytest.raises(BadJob, match="it must be more than 0"):
        read("cottage", place, "0 ohm", tmp_path)


@pytest.mark.parametrize(
    ("house", "key"),
    [
        ("bungalow", "line-neutral loop"),
        ("farmhouse", "line-earth loop"),
        ("terrace", "line-line loop"),
        ("workshop", "largest fault current"),
    ],
)
@pytest.mark.parametrize("source", ["measured", "declared"])
def test_a_loop_that_one_of_two_words_leaves_out_is_a_gap(house, key, source, tmp_path):
    """Nothing passes on the other one alone: the one left out may be the worse."""
    case = without(house, f"{house}.yaml", ("supply", source, key), "delete")
    outcome = tried(case, tmp_path)

    assert (case.gap, outcome.ended, outcome.wrong) == (True, "judged", "")
    study_of = study(read_job(tmp_path / f"{house}.yaml"))
    asked = {q.field for finding in study_of.findings for q in finding.questions}
    assert f"supply.{source}.{key}" in asked
