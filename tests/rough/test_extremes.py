"""A sample of the figures driven to extremes; `extremes` beside this file tries them all."""

from __future__ import annotations

import itertools
import os
import signal

import numpy as np
import pytest

from islewright.job import BadJob, keep
from islewright.rules import runner
from islewright.rules.study import study
from tests.rough import gaps, houses
from tests.rough.extremes import INSTEAD, TIMES, Case, cases_of, odd_in, read_with, wrong_of
from tests.rough.tamper import HOWS
from tests.rough.trial import tried

#: each n-th case, a different start for each house
EVERY = 149


@pytest.mark.parametrize("house", houses.names())
def test_an_extreme_figure_is_judged_or_refused_in_words(house, tmp_path):
    """No crash, no warning, no word of a number that is none."""
    start = houses.names().index(house) * 7
    ended = {case: wrong_of(case, tmp_path) for case in
             itertools.islice(cases_of(house), start, None, EVERY)}  # fmt: skip

    assert len(ended) >= 8
    assert {case: odd for case, (_, odd) in ended.items() if odd} == {}
    assert {how for how, _ in ended.values()} == {"judged", "refused"}


def test_every_figure_of_both_files_takes_part():
    """Nothing that begins with a figure is passed over."""
    for house in houses.names():
        tried = {(case.file, case.place) for case in cases_of(house)}
        assert tried == set(houses.figures(house))
    assert len(list(cases_of("cottage"))) == len(houses.figures("cottage")) * (
        len(INSTEAD) + len(TIMES)
    )


COTTAGE = "cottage.yaml"
LOOP = ("supply", "measured", "line-earth loop")


@pytest.mark.parametrize(
    ("place", "value", "words"),
    [
        (("earthing", "electrode", "resistance"), "1e300 ohm", "the most is"),
        (("earthing", "electrode", "resistance"), "1e-9 ohm", "the least is"),
        (("circuits", "boiler", "length"), "1e6 m", "the most is 10000 m"),
        (("circuits", "boiler", "size"), "1e9 mm2", "the most is"),
        (("boards", "backed-up board", "RCDs", "R2", "trips at"), "1e6 mA", "the most is 30 A"),
        (LOOP, "1e9 ohm", "the most is"),
        (LOOP, "0 ohm", "it must be more than 0"),
        (("supply", "nominal voltage"), "1e-3 V", "the least is 24 V"),
        (("supply", "nominal voltage"), "230 kV", "the most is 1000 V"),
        (("supply", "frequency"), "16.7 Hz", "the least is 45 Hz"),
        (("supply", "street", "transformer electrode"), "0 ohm", "it must be more than 0"),
    ],
)
def test_a_figure_beyond_any_house_is_refused_with_the_bound(place, value, words, tmp_path):
    """A slip of the unit is told; it does not come back as a figure that looks like one."""
    with pytest.raises(BadJob, match=words) as bad:
        read_with(Case("cottage", COTTAGE, place, value), tmp_path)

    assert [".".join(place)] == [problem.path for problem in bad.value.problems]


@pytest.mark.parametrize("value", ["0 m", "0.001 m", "10000 m"])
def test_lengths_at_their_bounds_are_judged(value, tmp_path, monkeypatch):
    """A cable of no length is no singular network, one of 10 km no overflow."""
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)
    case = Case("cottage", COTTAGE, ("circuits", "boiler", "length"), value)
    findings = study(read_with(case, tmp_path)).findings

    at = [f for f in findings if f.place.startswith("boiler")]
    assert at
    assert not [odd for f in findings if (odd := odd_in(f))]
    assert all(np.isfinite(f.value) or np.isnan(f.value) or f.unit == "s" for f in at)


#: each n-th figure of a house lost in every way; all of them by `gaps`
LOST = 23


@pytest.mark.parametrize("house", houses.names())
def test_a_figure_that_is_lost_makes_nothing_pass(house, tmp_path):
    """Deleted, blank, unknown, spoilt: no finding passes that did not, nothing crashes."""
    every = LOST * len(HOWS)
    cases = [case for n, case in enumerate(gaps.cases_of(house)) if n % every < len(HOWS)]
    outcomes = [tried(case, tmp_path) for case in cases]

    assert len(outcomes) >= 8 * len(HOWS)
    assert [one for one in outcomes if one.wrong] == []


def test_an_interrupted_write_leaves_the_old_file(tmp_path, monkeypatch):
    """Stopped before the new file has its name: the old one whole, nothing left beside it."""
    target = tmp_path / "findings.json"
    keep.keep_text(target, "old")

    class Stopped(BaseException):
        pass

    def stopped(*_: object) -> None:
        raise Stopped("in the middle")

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(Stopped, match="in the middle"):
        keep.keep_text(target, "new" * 10_000)

    assert target.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a process is killed while it writes")
def test_a_process_killed_while_it_writes_leaves_the_old_file(tmp_path):
    """Killed between the content and the name, as a loss of power would."""
    target = tmp_path / "pack.pdf"
    keep.keep_bytes(target, b"old")
    child = os.fork()
    if child == 0:
        os.fsync = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
        keep.keep_bytes(target, b"new" * 10_000)
        os._exit(0)

    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    assert target.read_bytes() == b"old"


def test_only_one_place_writes_files():
    """Every writer of the program goes through it."""
    root = houses.EXAMPLES.parent / "src" / "islewright"
    words = ("write_text(", "write_bytes(", '.open("w', '.open("wb')
    writers = {
        path.relative_to(root).as_posix()
        for path in root.rglob("*.py")
        for word in words
        if word in path.read_text(encoding="utf-8")
    }
    assert writers == {"job/keep.py"}


def test_a_source_without_any_impedance_is_refused(tmp_path):
    """It would give a fault at its terminals a current without end."""
    place = ("three-phase battery inverter 9 kVA", "output impedance")
    with pytest.raises(BadJob, match="it must be more than 0"):
        read_with(Case("terrace", houses.EQUIPMENT, place, "0 ohm"), tmp_path)
