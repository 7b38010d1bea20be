"""Runs every rule over its places; a gap makes a finding undecided, and so does a crash.

A rule on something that the rule set does not know ("not applicable") says nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING

from islewright.findings import Demand, Finding, Question, Remedy, Status, Verdict, found
from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.job.once import once_a_job
from islewright.network.alive import lies_dead
from islewright.network.places import canonical
from islewright.network.state import GRID, ISLAND, Mode
from islewright.network.watched import watchers
from islewright.network.way import cables_to
from islewright.rules.clauses import clauses_under
from islewright.rules.registry import Here, Rule, all_rules, undecided
from islewright.tables.profile import NotApplicable, NotStated, Profile
from islewright.tables.rows import NotInTable

if TYPE_CHECKING:
    from islewright.rules.study import Study


def run(of: Study) -> Iterator[Finding]:
    """Run every rule over every place and mode it speaks of.

    Where a gap leaves it open at which places it looks, the whole house is undecided.
    """
    for rule in all_rules():
        demand = demanded(of.profile, rule)
        body = rule.body
        for mode in rule.modes:
            try:
                where = places_over(of.job, rule.over, mode)
            except Unknown as gap:
                house = Here("house", "house", mode)
                yield _found(demand, house, undecided(gap))
                continue
            mode_told, state = _WORDS[mode]
            for here in where:
                try:
                    verdict = body(of, here)
                except Exception as why:  # noqa: BLE001 - told, or raised again
                    verdict = _fallen(rule, why)
                if verdict is not None:
                    yield found((demand, here.place, mode_told, verdict.state or state, verdict))


@cache
def demanded(rules: Profile, rule: Rule) -> Demand:
    """What all findings of a rule have in common under a profile."""
    return Demand(
        rule=rule.id,
        title=rule.title,
        clauses=clauses_under(rules, rule.clauses),
        profile=f"{rules.name}, {rules.edition}",
        work_out=_remedy,
    )


def finding(of: Study, rule: Rule, here: Here) -> Finding | None:
    """One rule at one place as a finding; None where the rule does not speak of the place."""
    verdict = judge(of, rule, here)
    return None if verdict is None else _found(demanded(of.profile, rule), here, verdict)


def _found(demand: Demand, here: Here, verdict: Verdict) -> Finding:
    mode, state = _WORDS[here.mode]
    return found((demand, here.place, mode, verdict.state or state, verdict))


_WORDS = {Mode.GRID: (Mode.GRID.value, GRID.name), Mode.ISLAND: (Mode.ISLAND.value, ISLAND.name)}


#: tests set this, so that a crash in a rule fails there and is not told as a finding
CRASHES_RAISE = False


def judge(of: Study, rule: Rule, here: Here) -> Verdict | None:
    """One rule at one place; what is missing makes it undecided, and so does a crash."""
    try:
        return rule.body(of, here)
    except Exception as why:  # noqa: BLE001 - told, or raised again
        return _fallen(rule, why)


def _fallen(rule: Rule, why: Exception) -> Verdict | None:
    """What a rule says that did not come to its end.

    A crash is a mistake of this program: the user gets *undecided* and is told so, and the
    other rules go on. Tests raise it (`CRASHES_RAISE`).
    """
    if isinstance(why, Unknown):
        return undecided(why)
    if isinstance(why, NotApplicable):
        return None
    if isinstance(why, NotStated):
        return Verdict(status=Status.UNDECIDED, because=(str(why),), questions=(_not_stated(why),))
    if CRASHES_RAISE:
        raise why
    return Verdict(
        status=Status.UNDECIDED,
        because=(f"defect of this program in {rule.id}: {type(why).__name__}: {why}",),
        means="This program failed here; judge this by hand, and report it.",
    )


def _not_stated(gap: NotStated) -> Question:
    """What to find out where the rule set itself has a hole; no other one fills it."""
    return Question(
        field=f"job.profile ({gap.key})",
        ask=f"Which figure holds here for {gap.key}? {gap.profile} states none.",
        how="judge this by hand, and write down by which rule",
        whom="the local rules",
    )


def _remedy(worked_out: Remedy) -> str | None:
    """One remedy; none where a figure for it is missing, and none where it crashes."""
    try:
        return worked_out()
    except (Unknown, NotStated, NotInTable):
        return None
    except Exception:
        if CRASHES_RAISE:
            raise
        return None


@once_a_job
def places_over(job: Job, over: str, mode: Mode) -> tuple[Here, ...]:
    """All places of one kind, as a rule names them at `over`, in one mode."""
    return tuple(_PLACES[over](job, mode))


def _house(_job: Job, mode: Mode) -> Iterator[Here]:
    yield Here("house", "house", mode)


def _circuits(job: Job, mode: Mode) -> Iterator[Here]:
    """Circuits that a mode feeds; on a line that the island leaves dead nothing can be judged."""
    for here in places_over(job, "circuits, dead lines too", mode):
        if mode is Mode.GRID or not lies_dead(job, job.circuits[here.name]):
            yield here


def _wired_circuits(job: Job, mode: Mode) -> Iterator[Here]:
    for here in places_over(job, "circuits, fed or not", mode):
        if cables_to(job, here.board, mode) is not None:
            yield here


def _all_circuits(job: Job, mode: Mode) -> Iterator[Here]:
    for name, circuit in job.circuits.items():
        yield Here("circuit", name, mode, circuit.board)


def _cables(job: Job, mode: Mode) -> Iterator[Here]:
    for name, cable in job.cables.items():
        ends = canonical(cable.from_), canonical(cable.to)
        fed = all(cables_to(job, end, mode) is not None for end in ends)
        if fed and (mode is Mode.GRID or not lies_dead(job, cable)):
            yield Here("cable", name, mode)


def _all_cables(job: Job, mode: Mode) -> Iterator[Here]:
    for name in job.cables:
        yield Here("cable", name, mode)


def _boards(job: Job, mode: Mode) -> Iterator[Here]:
    for here in places_over(job, "boards, fed or not", mode):
        if cables_to(job, here.name, mode) is not None:
            yield here


def _all_boards(job: Job, mode: Mode) -> Iterator[Here]:
    for name in job.boards:
        yield Here("board", name, mode, name)


def _rcds(job: Job, mode: Mode) -> Iterator[Here]:
    for place, watcher in watchers(job, mode).items():
        yield Here("RCD", place, mode, watcher.board)


_PLACES = {
    "house": _house,
    "circuits": _circuits,
    "circuits, dead lines too": _wired_circuits,
    "circuits, fed or not": _all_circuits,
    "cables": _cables,
    "cables, fed or not": _all_cables,
    "RCDs": _rcds,
    "boards": _boards,
    "boards, fed or not": _all_boards,
}
