"""How a rule is written down, and the list of all rules.

A rule is a short function under `@rule(...)`: first line of its docstring the formula,
then the quantities, the comparison. It sees one place in one mode. The runner does the
looping and turns what is missing into *undecided*.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from islewright.findings import WEIGHT, Question, Status, Verdict
from islewright.job.gap import Unknown
from islewright.network.state import Mode

if TYPE_CHECKING:
    from islewright.rules.study import Study

#: one file per chapter; importing them fills the registry
CHAPTERS = (
    "supply", "overload", "ring", "rotation", "rcd_current", "least_size",
    "short_circuit",
    "disconnection", "island", "residual", "residual_type", "residual_series", "residual_trip",
    "concealed",
    "feed", "charging", "neutral", "neutral_current",
    "neutral_switching", "bond", "borrowed",
    "earthing", "protective", "protective_current", "bonding",
    "voltage", "supply_voltage", "source", "shedding", "starting", "start_dip", "sources",
    "ac_sources",
    "switching", "isolating",
    "entry", "entry_count", "entry_beside", "surge", "surge_neutral",
    "place", "surroundings", "generator", "generator_current",
)  # fmt: skip


@dataclass(slots=True, eq=False)  # not frozen: made by the hundred, changed by nobody
class Here:
    """Where a rule looks: a circuit, cable, board, RCD or the whole house, in one mode.

    Each place of a job is one object for all rules, so that what is kept of it is found by
    identity.
    """

    kind: str
    name: str
    mode: Mode
    board: str = ""
    #: as it is printed: the bare name, with its kind where the name does not tell that
    place: str = field(init=False)
    #: kind and name, as the network calls it
    part: str = field(init=False)

    def __post_init__(self) -> None:
        bare, part = self.kind in ("house", "circuit", "RCD"), f"{self.kind} {self.name}"
        self.part, self.place = part, self.name if bare else part


Body = Callable[["Study", Here], Verdict | None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rule:
    """A registered rule; there is one object of each.

    `over` is "house", or "circuits", "cables", "boards" or "RCDs" that the mode feeds; with
    "circuits, dead lines too" also those on a line that the island leaves dead, with
    "circuits, fed or not", "cables, fed or not" and "boards, fed or not" all of the job.
    """

    id: str
    title: str
    clauses: tuple[str, ...]
    over: str
    modes: tuple[Mode, ...]
    body: Body

    @property
    def formula(self) -> str:
        """First line of the rule's docstring."""
        return (self.body.__doc__ or "").strip().partition("\n")[0]

    @property
    def chapter(self) -> str:
        """Subject of the file in which the rule stands: first line of that file's docstring."""
        import inspect
        import sys

        told = inspect.getdoc(sys.modules[self.body.__module__]) or ""
        return told.partition("\n")[0].removeprefix("Chapter: ").rstrip(".")

    @property
    def words(self) -> str:
        """What stands below the formula in the rule's docstring."""
        import inspect

        return inspect.cleandoc(self.body.__doc__ or "").partition("\n")[2].strip()


_RULES: dict[str, Rule] = {}


def rule(
    rule_id: str,
    *,
    over: str,
    modes: Sequence[Mode],
    title: str,
    clauses: Sequence[str],
) -> Callable[[Body], Body]:
    """Register a rule.

    Parameters
    ----------
    rule_id : chapter and demand, such as "shock.grid-disconnection"
    title : the demand as a sentence with *must*
    clauses : standard and clause, how far confirmed where from memory
    """

    def register(body: Body) -> Body:
        if rule_id in _RULES and _RULES[rule_id].body.__module__ != body.__module__:
            msg = f"two rules are called {rule_id}"
            raise ValueError(msg)
        _RULES[rule_id] = Rule(
            id=rule_id,
            title=title,
            clauses=tuple(clauses),
            over=over,
            modes=tuple(modes),
            body=body,
        )
        return body

    return register


def all_rules() -> tuple[Rule, ...]:
    """Every rule, in the order of the chapters."""
    for chapter in CHAPTERS:
        importlib.import_module(f"islewright.rules.{chapter}")
    chapter_of = {f"islewright.rules.{chapter}": i for i, chapter in enumerate(CHAPTERS)}
    return tuple(sorted(_RULES.values(), key=lambda r: chapter_of.get(r.body.__module__, 99)))


class Unlisted(Unknown):
    """A table does not reach what the job states.

    Attributes
    ----------
    told : what the table has
    """

    def __init__(self, told: str, question: Question) -> None:
        super().__init__(question)
        self.told = told


def undecided(gap: Unknown) -> Verdict:
    """What a rule says where a figure is missing."""
    lacks = tuple(f"{q.field}: not known" for q in gap.questions)
    because = (gap.told,) if isinstance(gap, Unlisted) else lacks
    return Verdict(status=Status.UNDECIDED, questions=gap.questions, because=because)


def attempt(way: Callable[[], Verdict]) -> Verdict:
    """One of several ways; what it lacks makes this way undecided, not the others."""
    try:
        return way()
    except Unknown as gap:
        return undecided(gap)


def first_way(ways: Iterable[Verdict]) -> Verdict:
    """Ways that stand in for one another, at least one: the best decides.

    One met is met, and those after it are not worked out; else one near is near; else
    undecided with all questions if any is undecided; else not met, with the arithmetic and
    the remedies of all.
    """
    tried: list[Verdict] = []
    for verdict in ways:
        if verdict.status is Status.MET:
            return verdict
        tried.append(verdict)
    if len(tried) == 1:
        return tried[0]
    for status in (Status.NEAR, Status.UNDECIDED):
        for verdict in tried:
            if verdict.status is status:
                return verdict if status is Status.NEAR else _gathered(verdict, tried)
    return _gathered(tried[0], tried)


def every(demands: Sequence[Verdict]) -> Verdict:
    """Demands that must all be met: the heaviest status decides, all questions are kept."""
    if len(demands) == 1:
        return demands[0]
    return _gathered(min(demands, key=lambda v: WEIGHT[v.status]), demands)


def _gathered(told_by: Verdict, verdicts: Sequence[Verdict]) -> Verdict:
    """One verdict with the arithmetic, questions and remedies of several."""
    return told_by.but(
        because=lambda: tuple(dict.fromkeys(line for v in verdicts for line in v.because)),
        questions=tuple(dict.fromkeys(q for v in verdicts for q in v.questions)),
        remedies=tuple(r for v in verdicts if v.status is not Status.MET for r in v.remedies),
    )
