"""Open questions: all gaps of a job, and the ranking by what hangs on them."""

from islewright.findings import Question
from islewright.job import read_job
from islewright.job.questions import open_gaps, rank
from tests.job.sample import DATA


def ask(field, words="How much?"):
    return Question(field=field, ask=words)


def test_a_question_on_which_more_findings_hang_comes_first():
    """One walk to the right place may settle many findings."""
    ranked = rank([[ask("b"), ask("a")], [ask("b")], [ask("c"), ask("b"), ask("a")]])

    assert [(r.question.field, r.findings_count) for r in ranked] == [("b", 3), ("a", 2), ("c", 1)]


def test_equals_are_ordered_by_their_field():
    """The same survey gives the same list."""
    ranked = rank([[ask("circuits.z"), ask("circuits.a")]])

    assert [r.question.field for r in ranked] == ["circuits.a", "circuits.z"]


def test_a_finding_that_asks_twice_counts_once():
    """It stays one undecided finding."""
    assert rank([[ask("a"), ask("a", "How long?")]])[0].findings_count == 1


def test_of_two_wordings_the_first_stays():
    """A field is asked once."""
    ranked = rank([[ask("a", "First?")], [ask("a", "Second?")]])

    assert [r.question.ask for r in ranked] == ["First?"]


def test_nothing_asked_gives_nothing():
    """A job that is decided has no questions."""
    assert rank([[], []]) == []


def test_the_gaps_of_a_job_are_those_left_out_and_unknown():
    """Both words ask; `none` and what is stated do not."""
    fields = [q.field for q in open_gaps(read_job(DATA / "cottage.yaml"))]

    assert "cables.inverter cable.length" in fields  # unknown
    assert "cables.house side.length" in fields  # left out
    assert "circuits.kitchen.loads.sockets.power" in fields
    assert "battery inverter.limits" in fields
    assert "equipment.PV array" in fields
    assert "supply.measured.line-earth loop" not in fields
    assert "earthing.parallel earths" not in fields
    assert "equipment.battery" not in fields
    assert not [field for field in fields if field.startswith("same for all")]
    assert len(fields) == len(set(fields))
    first = {field.split(".")[0]: None for field in fields}
    assert list(first) == [
        "place", "supply", "earthing", "equipment", "isolation", "generator inlet", "boards",
        "cables", "circuits", "battery and PV cables", "two-pole enclosure", "battery inverter",
    ]  # fmt: skip
