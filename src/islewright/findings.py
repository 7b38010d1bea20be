"""What a rule returns, and the only two places that compare a value with its limit.

Belongs here: the record, its status, the comparison. Does not belong here: any rule,
any electrical formula, any text about a particular rule.
"""

from __future__ import annotations

import enum
import math
from collections.abc import Callable, Sequence
from dataclasses import FrozenInstanceError, dataclass, field
from math import isfinite
from typing import Any, NoReturn, cast

from islewright.units import show


class Status(enum.Enum):
    """Outcome of one rule at one place; deliberately without truth value."""

    MET = "met"
    NEAR = "near"
    NOT_MET = "not met"
    UNDECIDED = "undecided"

    __hash__ = object.__hash__  # a member is one object; the name's hash takes ten times as long

    def __bool__(self) -> NoReturn:
        """Refuse: `if finding.status` would let an undecided finding pass."""
        msg = "a status has four values; compare it with Status.MET"
        raise TypeError(msg)


#: heaviest first, the order in which findings are read
WEIGHT = {Status.NOT_MET: 0, Status.UNDECIDED: 1, Status.NEAR: 2, Status.MET: 3}

Remedy = Callable[[], str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One thing that the survey still has to find out.

    `field` is the path in the job file, `ask` the question, `how` the way to find out,
    `whom` the person to ask ("the site", "the maker", "the operator", "the customer").
    """

    field: str
    ask: str
    how: str = ""
    whom: str = "the site"


@dataclass(slots=True, kw_only=True)
class Verdict:
    """What the body of a rule returns; the runner adds rule, place, mode and state.

    `value`, `limit` and `spread` are in `unit`; `at_least` tells on which side of the
    limit the allowed values lie. `because` holds the arithmetic, one line a quantity.
    Nobody changes one (`but` makes another); it is not frozen, since there are hundreds
    and freezing takes thrice as long as making them.
    """

    status: Status
    value: float = math.nan
    limit: float = math.nan
    unit: str = ""
    spread: float = 0.0
    at_least: bool = False
    because: Sequence[str] = ()
    means: str = ""
    questions: Sequence[Question] = ()
    remedies: Sequence[Remedy] = ()
    confirmed: str = ""
    state: str = ""

    def but(self, **changes: Any) -> Verdict:
        """The same verdict with some facts changed."""
        facts: dict[str, Any] = {
            "status": self.status, "value": self.value, "limit": self.limit, "unit": self.unit,
            "spread": self.spread, "at_least": self.at_least, "because": self.because,
            "means": self.means, "questions": self.questions, "remedies": self.remedies,
            "confirmed": self.confirmed, "state": self.state,
        }  # fmt: skip
        return Verdict(**(facts | changes))


def at_most(value: float, limit: float, unit: str, *, spread: float, **rest: Any) -> Verdict:
    """Met when value + spread ≤ limit, near when only value ≤ limit, else not met.

    Anything not finite is undecided: a NaN must never be met. `spread` is absolute,
    in the unit of `value`.
    """
    return Verdict(
        status=_compare(value, limit, spread),
        value=value,
        limit=limit,
        unit=unit,
        spread=spread,
        **rest,
    )


def at_least(value: float, limit: float, unit: str, *, spread: float, **rest: Any) -> Verdict:
    """Met when value − spread ≥ limit, near when only value ≥ limit, else not met."""
    return Verdict(
        status=_compare(-value, -limit, spread),
        value=value,
        limit=limit,
        unit=unit,
        spread=spread,
        at_least=True,
        **rest,
    )


def _compare(value: float, limit: float, spread: float) -> Status:
    finite = isfinite(value) and isfinite(limit) and isfinite(spread)
    if not finite or spread < 0:
        return Status.UNDECIDED
    if value > limit:
        return Status.NOT_MET
    return Status.MET if value + spread <= limit else Status.NEAR


@dataclass(slots=True, kw_only=True)
class OpenFinding:
    """What a finding holds while it is being made; `closed` makes a finding of it."""

    rule: str
    title: str
    clauses: tuple[str, ...]
    place: str
    mode: str
    state: str
    verdict: Verdict
    profile: str = ""
    work_out: Callable[[Remedy], str | None] = field(
        default=lambda remedy: remedy(), repr=False, compare=False
    )
    _cache: dict[str, Any] = field(default_factory=dict, repr=False, compare=False)


class Finding(OpenFinding):
    """One rule judged at one place in one mode.

    Units: `value`, `limit`, `spread`, `margin` in `unit`. `confirmed` says how far the
    limit is confirmed ("two pages", "page", "memory"); `profile` names rule set and edition.
    `work_out` asks a remedy for its text, when somebody reads it.
    """

    __slots__ = ()

    def __init__(self, **facts: Any) -> None:
        # there are hundreds of them: filled in as a plain record, then closed
        object.__setattr__(self, "__class__", OpenFinding)
        OpenFinding.__init__(self, **facts)
        self.__class__ = Finding

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> NoReturn:
        raise FrozenInstanceError(f"cannot delete field {name!r}")

    @property
    def status(self) -> Status:
        """Met, near, not met or undecided."""
        return self.verdict.status

    @property
    def value(self) -> float:
        """The value found, in `unit`; NaN when undecided or not a number."""
        return self.verdict.value

    @property
    def limit(self) -> float:
        """The limit, in `unit`."""
        return self.verdict.limit

    @property
    def unit(self) -> str:
        """Unit of value, limit and margin; empty for findings without a number."""
        return self.verdict.unit

    @property
    def margin(self) -> float:
        """Distance to the limit on the allowed side, in `unit`; negative when beyond."""
        gap = self.verdict.limit - self.verdict.value
        return -gap if self.verdict.at_least else gap

    @property
    def because(self) -> tuple[str, ...]:
        """The arithmetic, line by line, as one would write it by hand."""
        return tuple(self.verdict.because)

    @property
    def questions(self) -> tuple[Question, ...]:
        """What has to be found out before this can be decided."""
        return tuple(self.verdict.questions)

    @property
    def remedies(self) -> tuple[str, ...]:
        """What would mend it, worked out on first request; nothing where nothing is amiss."""
        if self.status in (Status.MET, Status.UNDECIDED):
            return ()
        if "remedies" not in self._cache:
            texts = (self.work_out(remedy) for remedy in self.verdict.remedies)
            self._cache["remedies"] = tuple(dict.fromkeys(text for text in texts if text))
        kept: tuple[str, ...] = self._cache["remedies"]
        return kept

    def __str__(self) -> str:
        """One line in the trade's words."""
        head = f"{self.status.value}: {self.title} ({self.place}, {self.mode})"
        if not isfinite(self.value) or not self.unit:
            return head
        sign = "≥" if self.verdict.at_least else "≤"
        return (
            f"{head}: {show(self.value, self.unit)}, must be {sign} {show(self.limit, self.unit)}"
        )

    def to_dict(self) -> dict[str, Any]:
        """Stable form for JSON; numbers that do not exist are null."""
        return {
            "rule": self.rule,
            "title": self.title,
            "clauses": list(self.clauses),
            "place": self.place,
            "mode": self.mode,
            "state": self.state,
            "status": self.status.value,
            "value": _number(self.value),
            "limit": _number(self.limit),
            "unit": self.unit,
            "spread": _number(self.verdict.spread),
            "margin": _number(self.margin),
            "at_least": self.verdict.at_least,
            "because": list(self.because),
            "means": self.verdict.means,
            "remedies": list(self.remedies),
            "questions": [q.field for q in self.questions],
            "confirmed": self.verdict.confirmed,
            "profile": self.profile,
        }


def closed(made: OpenFinding) -> Finding:
    """Make a finding of what was filled in; it does not change any more."""
    made.__class__ = Finding
    return cast("Finding", made)


def _number(value: float) -> float | None:
    return value if isfinite(value) else None
