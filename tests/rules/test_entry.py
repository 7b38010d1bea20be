"""Ranges of terminals and glands: just outside is refused, both ends are taken."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from islewright.findings import Question, Status
from islewright.job import Unknown
from islewright.rules.entering import enclosed, within
from islewright.units import Span, parse_span
from tests.rules.houses import finding_at, studied

#: conductors and outside diameters as they occur in the trade (common practice, no source)
SIZES = ("6..16 mm2", "6..25 mm2")
DIAMETERS = ("14..25 mm", "14..22 mm")
#: sizes that are made, one below and one above each of the ranges
BELOW, ABOVE = 4, {16: 25, 25: 35}
ends = st.floats(0.1, 400, allow_nan=False).map(lambda x: round(x, 2))
ranges = st.tuples(ends, ends).map(sorted).map(lambda both: Span(*both))


def taken(value: float, span: Span) -> Status:
    return within(value, span, "mm", spread=0.0).status


@given(ranges)
def test_of_any_range_both_ends_are_taken_and_what_lies_just_outside_is_not(span):
    """a and b are in; the next number that a float can hold is out."""
    assert taken(span.low, span) is Status.MET
    assert taken(span.high, span) is Status.MET
    assert taken(math.nextafter(span.low, -1), span) is Status.NOT_MET
    assert taken(math.nextafter(span.high, 500), span) is Status.NOT_MET


@given(ranges, st.floats(0, 1))
def test_whatever_lies_between_the_ends_is_taken(span, share):
    """Nothing within a range is refused, however the nearer end is chosen."""
    value = span.low + share * (span.high - span.low)

    assert taken(min(value, span.high), span) is Status.MET


@given(ranges, ranges)
def test_of_bounds_only_what_is_wholly_in_or_wholly_out_is_decided(bounds, span):
    """Every diameter that the bounds admit must come to the same answer."""
    answers = {taken(value, span) for value in (bounds.low, bounds.high)}
    holds = span.low <= bounds.low <= bounds.high <= span.high
    try:
        found = enclosed(bounds, span, "mm", Question(field="d", ask="?"), spread=0.0)
    except Unknown:
        assert not holds
        return
    assert found.status in answers
    assert (found.status is Status.MET) == holds


@given(ranges, st.sampled_from([" to ", "..", " .. ", " … "]), st.booleans())
def test_a_range_reads_as_it_was_written(span, between, twice):
    """With the unit behind one end or both."""
    text = f"{span.low}{' mm' if twice else ''}{between}{span.high} mm"

    assert parse_span(text, "mm") == span


@pytest.mark.parametrize("text", DIAMETERS)
def test_a_gland_of_the_trade_takes_its_ends_and_refuses_what_lies_just_outside(text, tmp_path):
    """Through the files, at both ends of the cable, to a hundredth of a millimetre."""
    span = parse_span(text, "mm")
    for d, passes in (
        (span.low - 0.01, False), (span.low, True), (span.high, True), (span.high + 0.01, False),
    ):  # fmt: skip
        edits = {"cables.inverter cable.outside diameter": f"{d:.2f} mm"}
        for model in ("four-pole enclosure", "three-phase inverter"):
            edits[f"{model}.glands.bottom.clamps"] = text
        found = finding_at(
            studied("tn-s", edits, tmp_path), "entry.gland", "cable inverter cable", "grid mode"
        )
        assert (found.status is Status.MET) == passes, d
        assert (found.status is Status.NOT_MET) != passes, d


@pytest.mark.parametrize("text", SIZES)
def test_a_terminal_of_the_trade_takes_its_ends_and_refuses_the_next_size(text, tmp_path):
    """Through the files, at both ends of the cable, with the sizes that are made."""
    span = parse_span(text, "mm2")
    for size, passes in (
        (BELOW, False), (span.low, True), (span.high, True), (ABOVE[span.high], False),
    ):  # fmt: skip
        edits = {"cables.inverter cable.size": f"{size:g} mm2"}
        for model, group in (
            ("four-pole enclosure", "inverter"),
            ("three-phase inverter", "output"),
        ):
            edits[f"{model}.terminals.{group}.takes"] = text
            edits[f"{model}.terminals.PE.takes"] = text
        found = finding_at(
            studied("tn-s", edits, tmp_path), "entry.terminal", "cable inverter cable", "grid mode"
        )
        assert (found.status is Status.MET) == passes, size
        assert (found.status is Status.NOT_MET) != passes, size


@pytest.mark.parametrize(
    ("key", "name", "said"),
    [
        ("cables.inverter cable.gland at to", "top", "which is no group of glands"),
        ("cables.inverter cable.terminal at to", "grid", "which is no group of terminals"),
        ("cables.tails.gland at to", "bottom", "no group of glands of main board"),
    ],
)
def test_a_gland_or_terminal_that_is_not_there_is_refused_on_reading(key, name, said, tmp_path):
    """Else a slip of the pen would leave a rule undecided, or pass."""
    from islewright.job import BadJob

    with pytest.raises(BadJob, match=said):
        studied("tn-s", {key: name}, tmp_path)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("up to 16 mm2", "does not begin with a number"),
        ("16 mm2", "is not a range"),
        ("16..6 mm2", "begins with the larger"),
        ("6..16 mm", "has the unit"),
        ("6,5..16 mm2", "is not a range"),
        ("6..16 mm2 braided", "core forms"),
        ("0..16 mm2", "must begin above 0"),
    ],
)
def test_a_range_that_cannot_be_read_says_what_could(text, said, tmp_path):
    """The message names what was found and how a range is written."""
    from islewright.job import BadJob

    with pytest.raises(BadJob, match=said):
        studied("tn-s", {"three-phase inverter.terminals.output.takes": text}, tmp_path)
