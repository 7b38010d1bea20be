"""Reading and operator's word on one loop: a pair in which what is left out is asked."""

from __future__ import annotations

import re

import pytest

from islewright.job import read_job
from islewright.job.gap import Unknown
from islewright.job.loops import known_of, told_of
from tests.network.small import ONE_PHASE, written

LN, AMPS = "line_neutral_ohm", "largest_fault_current_a"
MEASURED = "measured: {line-neutral loop: 0.4 ohm, line-earth loop: 21.2 ohm}\n  declared: none"


def supply(folder, measured: str, declared: str):
    """The small house with other words on its supply; "" leaves one out."""
    words = [f"{key}: {text}" for key, text in (("measured", measured), ("declared", declared))
             if text]  # fmt: skip
    return read_job(written(folder, ONE_PHASE, (MEASURED, "\n  ".join(words)))).supply


@pytest.mark.parametrize(
    ("measured", "declared", "values", "asked"),
    [
        ("{line-neutral loop: 0.4 ohm}", "none", [0.4], []),
        ("{line-neutral loop: 0.4 ohm}", "{line-neutral loop: 0.6 ohm}", [0.4, 0.6], []),
        ("{line-neutral loop: 0.4 ohm}", "{line-neutral loop: none}", [0.4], []),
        ("none", "{line-neutral loop: 0.6 ohm}", [0.6], []),
        ("{line-neutral loop: 0.4 ohm}", "", [0.4], ["declared"]),
        ("{line-neutral loop: 0.4 ohm}", "unknown", [0.4], ["declared"]),
        ("{line-neutral loop: 0.4 ohm}", "{line-earth loop: 9 ohm}", [0.4],
         ["declared.line-neutral loop"]),
        ("{line-neutral loop: unknown}", "{line-neutral loop: 0.6 ohm}", [0.6],
         ["measured.line-neutral loop"]),
        ("{line-earth loop: 9 ohm}", "{line-neutral loop: 0.6 ohm}", [0.6],
         ["measured.line-neutral loop"]),
    ],
)  # fmt: skip
def test_what_one_word_states_and_the_other_leaves_out_is_asked(
    measured, declared, values, asked, tmp_path
):
    """And `none` says that there is no other figure."""
    of = supply(tmp_path, measured, declared)
    found, questions = told_of(of, LN)

    assert [float(stated.value) for stated in found] == values
    assert [q.field for q in questions] == [f"supply.{path}" for path in asked]
    if asked:
        with pytest.raises(Unknown, match=asked[0]):
            known_of(of, LN)
    else:
        assert known_of(of, LN) == found


@pytest.mark.parametrize(
    ("measured", "declared", "asks"),
    [
        ("{line-earth loop: 9 ohm}", "none", "supply.measured.line-neutral loop"),
        ("{line-neutral loop: none}", "none", "supply.measured.line-neutral loop"),
        ("none", "{line-earth loop: 9 ohm}", "supply.declared.line-neutral loop"),
        ("none", "none", "supply.measured"),
        ("", "none", "supply.measured"),
    ],
)
def test_where_nobody_states_a_loop_one_question_is_left(measured, declared, asks, tmp_path):
    """A reading is asked first; what a supply of one phase cannot have is asked nowhere."""
    of = supply(tmp_path, measured, declared)
    with pytest.raises(Unknown, match=re.escape(asks)) as gap:
        known_of(of, LN)

    assert [q.field for q in gap.value.questions] == [asks]
    assert told_of(of, "line_line_ohm") == ([], [])
    assert told_of(of, AMPS) == ([], [])
