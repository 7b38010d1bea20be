"""Kinds of field: what was read once is shared, what was refused is refused again."""

import pytest
from pydantic import BaseModel, ValidationError

from islewright.job.kinds import MOST_KEPT, Conductors, Current, EarthSize, Length, Lines, Size


class _Wire(BaseModel):
    length: Length = None
    size: Size = None
    earth: EarthSize = None
    current: Current = None
    cores: Conductors = None
    lines: Lines = None


def test_the_same_text_is_one_figure():
    """A figure does not change, so fields that say the same share it."""
    first, second = _Wire(length="7.5 m").length, _Wire(length="7.5 m").length
    assert first is second
    assert (float(first), first.spread, first.source) == (7.5, None, "job file")


def test_each_kind_reads_a_text_by_its_own_bounds():
    """What one kind has read and kept is not taken by a kind that refuses it."""
    assert _Wire(length="0 mm").length == 0
    assert _Wire(earth="as line").earth == -1
    for field, text in (("size", "0 mm2"), ("size", "as line"), ("current", "0 m")):
        with pytest.raises(ValidationError, match=r"more than|cross-section|allowed are"):
            _Wire(**{field: text})
    assert _Wire(cores="N L1").cores == ("L1", "N")
    with pytest.raises(ValidationError, match="conductors with a blank"):
        _Wire(lines="N L1")


def test_a_wrong_text_is_refused_every_time():
    """A refusal is not kept as if it were an answer."""
    for _ in range(3):
        with pytest.raises(ValidationError, match=r"24\.5"):
            _Wire(length="24,5 m")


def test_many_figures_are_read_right_and_not_all_kept():
    """A file with more figures than are kept is read like any other."""
    for _ in range(2):
        for n in range(MOST_KEPT + 9):
            assert _Wire(length=f"{n} mm").length == n / 1000
