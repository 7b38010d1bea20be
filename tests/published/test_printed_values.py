"""Values printed outside the project, computed here from other inputs."""

import csv
from collections import Counter
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import pytest

from islewright.tables.rows import CONFIRMED
from tests.published import currents, formulas, houses, judged

FORMULAS = formulas.FORMULAS | houses.FORMULAS | currents.FORMULAS | judged.FORMULAS


class Printed(NamedTuple):
    """One printed value; `claims` is a tolerance that the source itself states."""

    formula: str
    inputs: str
    unit: str
    printed: str
    claims: str
    follows: str
    kind: str
    source: str
    confirmed: str
    note: str

    @property
    def arguments(self):
        """Inputs as the formula takes them: "i_n_a=16; curve=B"."""
        pairs = (pair.split("=") for pair in self.inputs.split("; "))
        return {name: float(text) if text[0].isdigit() else text for name, text in pairs}

    @property
    def tolerance(self):
        """Half of the last printed digit, or what the source claims."""
        if self.claims:
            return float(self.claims)
        return float(Decimal(1).scaleb(Decimal(self.printed).as_tuple().exponent) / 2)

    @property
    def is_near(self):
        """Whether ours is within the tolerance, the rounding of a float apart."""
        ours = FORMULAS[self.formula](**self.arguments)
        return abs(ours - float(self.printed)) <= self.tolerance * (1 + 1e-9)


def rows():
    """All rows of all files beside this one."""
    for path in sorted(Path(__file__).parent.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as lines:
            yield from (Printed(**row) for row in csv.DictReader(lines))


KINDS = {"standard", "handbook", "manual", "education", "trade", "forum", "derived"}
ROWS = list(rows())
FOLLOWING = [row for row in ROWS if row.follows == "yes"]


def name(row):
    """Short name of a case."""
    return f"{row.formula}({row.inputs})"


@pytest.mark.parametrize("row", FOLLOWING, ids=name)
def test_a_printed_value_is_reached_from_other_inputs(row):
    """Within half of the last printed digit, or what the source claims."""
    ours = FORMULAS[row.formula](**row.arguments)

    assert ours == pytest.approx(float(row.printed), abs=row.tolerance, rel=1e-9)


@pytest.mark.parametrize("row", [row for row in ROWS if row.follows == "no"], ids=name)
def test_a_printed_value_that_does_not_follow_stays_known_as_such(row):
    """A slip or another rounding in print, explained in its note; it does not count."""
    assert not row.is_near
    assert row.note


def test_many_values_count_and_no_formula_carries_them_all():
    """At least 200 in all, at most fifteen of one formula; the floor is what is reached.

    What a collection derived by hand and nobody printed is reached too, and does not count.
    """
    counted = Counter(row.formula for row in FOLLOWING if row.kind != "derived")

    assert sum(counted.values()) >= 222
    assert max(counted.values()) <= 15


def test_every_printed_value_names_its_source():
    """Who printed it, of what kind that is, and each value once."""
    assert len({(row.formula, row.inputs, row.source) for row in ROWS}) == len(ROWS)
    for row in ROWS:
        assert row.source
        assert row.kind in KINDS
        assert row.confirmed in CONFIRMED
        assert row.follows in {"yes", "no"}
        assert not row.claims or row.note
