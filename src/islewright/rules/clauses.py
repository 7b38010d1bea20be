"""Which of a rule's clauses a finding shows: those of the rule set that it is judged by."""

from __future__ import annotations

from functools import cache

from islewright.tables.profile import Profile

__all__ = ["clauses_under"]


def clauses_under(rules: Profile, clauses: tuple[str, ...]) -> tuple[str, ...]:
    """Clauses of one rule set among those that a rule names.

    A clause belongs to the rule set that has its opening under `basis.clauses`; one that
    begins with a small letter, such as "common practice", belongs to all. Where a rule names
    none of this rule set, those of others are shown and said to be others'.

    Parameters
    ----------
    clauses : all that the rule names
    """
    return _picked(rules.name, rules.clause_openings, clauses)


@cache
def _picked(name: str, openings: tuple[str, ...], clauses: tuple[str, ...]) -> tuple[str, ...]:
    own = [clause for clause in clauses if clause.startswith(openings)]
    if own or all(clause[0].islower() for clause in clauses):
        return tuple(clause for clause in clauses if clause in own or clause[0].islower())
    return tuple(
        clause if clause[0].islower() else f"{clause}; no clause of {name} known here"
        for clause in clauses
    )
