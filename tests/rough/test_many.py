"""Two thousand tampered houses; `many` beside this file tries as many as one likes."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.rough import houses
from tests.rough.many import summed
from tests.rough.tamper import WAYS, one_figure, tampered
from tests.rough.trial import Outcome, trial

TRIALS, AT_ONCE = 2000, 100


@pytest.mark.parametrize("first", range(0, TRIALS, AT_ONCE))
def test_a_tampered_house_is_judged_or_refused_in_words(first, tmp_path):
    """No traceback, no wait, and nothing passes because a figure is gone or unreadable."""
    outcomes = [trial(seed, tmp_path) for seed in range(first, first + AT_ONCE)]

    assert not [one for one in outcomes if one.wrong]
    assert {one.ended for one in outcomes} <= {"refused", "judged"}
    assert any(one.ended == "judged" for one in outcomes)


def test_a_seed_makes_the_same_files_again():
    """So that what went wrong can be looked at; and every way of tampering takes part."""
    for seed in range(2 * len(WAYS)):
        assert tampered(seed) == tampered(seed)
        assert any(tampered(seed + n * len(WAYS)).files != houses.texts("cottage") for n in (0, 1))


def test_most_figures_that_are_left_out_are_missed():
    """Only where the file's own rules say so does leaving a key out state something."""
    cottage = houses.figures("cottage")
    missed = [place for file, place in cottage if houses.is_missed("cottage", file, place)]

    assert len(missed) > len(cottage) / 2
    assert ("supply", "measured", "line-earth loop") in missed
    assert not [place for place in missed if place[-1] == "power factor"]


def test_a_trial_tells_what_passes_though_a_figure_is_gone(tmp_path, monkeypatch):
    """The trial itself can fail: here nothing of the untouched house had passed."""
    monkeypatch.setattr(houses, "judged", lambda _name: {})
    seeds = (seed for seed in range(0, 500, len(WAYS)) if tampered(seed).gap)
    wrong = [trial(seed, tmp_path).wrong for seed, _ in zip(seeds, range(40), strict=False)]

    assert WAYS[0] is one_figure
    assert any(text.startswith("passes now") for text in wrong)


def test_the_summary_of_many_trials_counts_what_must_not_be():
    """A crash, a finding that passes now, and a wait are told apart."""
    ends = Counter({"judged": 3, "refused": 2, "crashed": 1})
    wrong = [
        Outcome(1, "", "crashed", 0.1, "Traceback"),
        Outcome(2, "", "judged", 0.1, "passes now: []"),
        Outcome(3, "", "judged", 2.5, "took 2.50 s"),
    ]

    assert summed(ends, wrong) == {
        "files": 6, "tracebacks": 1, "false_met": 1, "too_slow": 1, "wrong": 3,
    }  # fmt: skip
