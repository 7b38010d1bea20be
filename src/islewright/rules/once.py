"""What several rules ask of a study, worked out once and kept with it."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar, cast

if TYPE_CHECKING:
    from islewright.rules.study import Study

P = ParamSpec("P")
T = TypeVar("T")

__all__ = ["once_a_study"]


def once_a_study(
    work: Callable[Concatenate[Study, P], T],
) -> Callable[Concatenate[Study, P], T]:
    """Keep the answers of a function of a study and of hashable arguments, given by position.

    What it raises is not kept. Its answers are shared, so they must not be changed.
    """

    @functools.wraps(work)
    def asked(study: Study, /, *about: Any) -> Any:
        try:
            return study.answers[work][about]
        except KeyError:
            pass
        answer = work(study, *about)  # type: ignore[call-arg]
        study.answers.setdefault(work, {})[about] = answer
        return answer

    return cast("Callable[Concatenate[Study, P], T]", asked)
