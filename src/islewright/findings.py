"""What a rule returns, and the only two places that compare a value with its limit.

Belongs here: the record, its status, the comparison. Does not belong here: any rule,
any electrical formula, any text about a particular rule.
"""

from __future__ import annotations

import enum
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from math import isfinite
from typing import Any, NamedTuple, NoReturn, Self

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
Arithmetic = Sequence[str] | Callable[[], Sequence[str]]
_made = tuple.__new__


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


class _Facts(NamedTuple):
    """What a verdict holds."""

    status: Status
    value: float
    limit: float
    unit: str
    spread: float
    arithmetic: Arithmetic
    means: str
    questions: Sequence[Question]
    remedies: Sequence[Remedy]
    confirmed: str
    state: str
    at_least: bool
    #: texts of the remedies, once somebody has read them
    mends: list[str | None]


class Verdict(_Facts):
    """What the body of a rule returns; the runner adds rule, place, mode and state.

    `value`, `limit` and `spread` are in `unit`; `at_least` tells on which side of the
    limit the allowed values lie. `because` holds the arithmetic, one line a quantity; a
    rule may give it as a function, which is asked when somebody reads it.
    """

    __slots__ = ()
    __eq__, __hash__ = object.__eq__, object.__hash__  # each is one of its own

    def __new__(
        cls,
        status: Status,
        value: float = math.nan,
        limit: float = math.nan,
        unit: str = "",
        spread: float = 0.0,
        because: Arithmetic = (),
        means: str = "",
        questions: Sequence[Question] = (),
        remedies: Sequence[Remedy] = (),
        confirmed: str = "",
        state: str = "",
        *,
        at_least: bool = False,
    ) -> Self:
        """Make one that compares nothing, or was compared elsewhere."""
        return tuple.__new__(cls, (
            status, value, limit, unit, spread,
            because, means, questions, remedies, confirmed, state, at_least, [],
        ))  # fmt: skip

    @property
    def because(self) -> Sequence[str]:
        """The arithmetic, line by line."""
        told = self.arithmetic
        return told() if callable(told) else told

    def but(self, **changes: Any) -> Verdict:
        """The same verdict with some facts changed."""
        if "because" in changes:
            changes["arithmetic"] = changes.pop("because")
        return self._replace(mends=[], **changes)


def at_most(
    value: float,
    limit: float,
    unit: str,
    *,
    spread: float,
    because: Arithmetic = (),
    means: str = "",
    questions: Sequence[Question] = (),
    remedies: Sequence[Remedy] = (),
    confirmed: str = "",
    state: str = "",
) -> Verdict:
    """Met when value + spread ≤ limit, near when only value ≤ limit, else not met.

    Anything not finite is undecided: a NaN must never be met. `spread` is absolute,
    in the unit of `value`; the rest is as in `Verdict`.
    """
    most = value + spread
    if most - most + (limit - limit) != 0 or spread < 0:
        status = Status.UNDECIDED  # something is not finite
    elif value > limit:
        status = Status.NOT_MET
    else:
        status = Status.MET if most <= limit else Status.NEAR
    # made at once: there are hundreds, and `**rest` alone takes some 3 % of a whole study
    return _made(Verdict, (
        status, value, limit, unit, spread,
        because, means, questions, remedies, confirmed, state, False, [],
    ))  # fmt: skip


def at_least(
    value: float,
    limit: float,
    unit: str,
    *,
    spread: float,
    because: Arithmetic = (),
    means: str = "",
    questions: Sequence[Question] = (),
    remedies: Sequence[Remedy] = (),
    confirmed: str = "",
    state: str = "",
) -> Verdict:
    """Met when value − spread ≥ limit, near when only value ≥ limit, else not met."""
    least = value - spread
    if least - least + (limit - limit) != 0 or spread < 0:
        status = Status.UNDECIDED  # something is not finite
    elif value < limit:
        status = Status.NOT_MET
    else:
        status = Status.MET if least >= limit else Status.NEAR
    return _made(Verdict, (
        status, value, limit, unit, spread,
        because, means, questions, remedies, confirmed, state, True, [],
    ))  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """What all findings of one rule have in common.

    `profile` names rule set and edition, `clauses` those of that rule set. `work_out` asks a
    remedy for its text, when somebody reads it.
    """

    rule: str
    title: str
    clauses: tuple[str, ...]
    profile: str = ""
    work_out: Callable[[Remedy], str | None] = lambda remedy: remedy()


class _Told(NamedTuple):
    """What a finding holds."""

    demand: Demand
    place: str
    mode: str
    state: str
    verdict: Verdict


class Finding(_Told):
    """One rule judged at one place in one mode.

    Units: `value`, `limit`, `spread`, `margin` in `unit`. `confirmed` says how far the
    limit is confirmed ("two pages", "page", "memory"); `profile` names rule set and edition.
    """

    __slots__ = ()
    __eq__, __hash__ = object.__eq__, object.__hash__  # each is one of its own

    def __new__(cls, *, place: str, mode: str, state: str, verdict: Verdict, **demand: Any) -> Self:
        """Make one by itself; the runner makes hundreds by `found`."""
        return tuple.__new__(cls, (Demand(**demand), place, mode, state, verdict))

    @property
    def rule(self) -> str:
        """The rule's name, such as "shock.grid-disconnection"."""
        return self.demand.rule

    @property
    def title(self) -> str:
        """The demand as a sentence."""
        return self.demand.title

    @property
    def clauses(self) -> tuple[str, ...]:
        """Standard and clause, of the rule set that it is judged by."""
        return self.demand.clauses

    @property
    def profile(self) -> str:
        """Rule set and edition."""
        return self.demand.profile

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
        verdict = self.verdict
        if not verdict.mends:
            verdict.mends.extend(self.demand.work_out(remedy) for remedy in verdict.remedies)
        return tuple(dict.fromkeys(text for text in verdict.mends if text))

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


#: makes a finding of demand, place, mode, state and verdict
found: Callable[[tuple[Demand, str, str, str, Verdict]], Finding] = partial(tuple.__new__, Finding)


def _number(value: float) -> float | None:
    return value if isfinite(value) else None
