"""Rules that differ by country in their form, not only in their figures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from islewright.tables.profile import NotStated, Profile

__all__ = ["NoSuchForm", "form_of"]

Form = TypeVar("Form")


class NoSuchForm(NotStated):
    """The profile asks for a form of a rule that this program does not have."""

    def __init__(self, key: str, profile: str, word: str) -> None:
        super().__init__(key, profile)
        self.args = (f'"{word}" for {key} in the profile "{profile}" is not built in yet',)


def form_of(rules: Profile, key: str, forms: Mapping[str, Form]) -> Form:
    """The form of a rule that the profile names, out of those that are built in.

    Parameters
    ----------
    key : key of the profile whose value is a word, such as "pe.sizing"
    forms : function (or whatever differs) by that word

    Raises
    ------
    NotStated : the profile names no form, or one that is not built in: undecided, never
        another country's form
    NotApplicable : the rule set has no such rule: the runner switches it off

    >>> from islewright.tables import profile
    >>> form_of(profile("IEC base"), "sources.busbar_rule", {"sum": "I_n + sum of I_g"})
    'I_n + sum of I_g'
    """
    word = rules.text(key)
    if word not in forms:
        raise NoSuchForm(key, rules.name, word)
    return forms[word]
