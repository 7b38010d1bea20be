"""What follows from a job alone, worked out once for that very job.

A job that was read does not change; so an answer holds as long as the job lives, and goes
with it. Answers are told apart by the job's identity, never by its content.
"""

from __future__ import annotations

import functools
import weakref
from collections.abc import Callable
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from islewright.job.model import Job
from islewright.job.part import Part

P = ParamSpec("P")
T = TypeVar("T")
A = TypeVar("A", bound=Part)

__all__ = ["forget", "once_a_job", "once_a_part"]

#: what each function has kept: its answers by the identity of the job
_KEPT: list[dict[int, dict[Any, Any]]] = []
#: jobs of which something is kept, by their identity
_JOBS: dict[int, weakref.ref[Job]] = {}


def once_a_job(work: Callable[Concatenate[Job, P], T]) -> Callable[Concatenate[Job, P], T]:
    """Keep the answers of a function of a job and of hashable arguments, given by position.

    What it raises is not kept. Its answers are shared, so they must not be changed.
    """
    kept: dict[int, dict[Any, T]] = {}
    _KEPT.append(kept)

    @functools.wraps(work)
    def asked(job: Job, /, *about: Any) -> Any:
        try:
            return kept[id(job)][about]
        except KeyError:
            pass
        answer = work(job, *about)  # type: ignore[call-arg]
        _answers(kept, job)[about] = answer
        return answer

    return cast("Callable[Concatenate[Job, P], T]", asked)


def once_a_part(work: Callable[[Job, A], T]) -> Callable[[Job, A], T]:
    """Keep the answers of a function of a job and one of its parts, told apart by identity."""
    kept: dict[int, dict[Any, Any]] = {}
    _KEPT.append(kept)

    @functools.wraps(work)
    def asked(job: Job, part: A) -> T:
        try:
            return kept[id(job)][id(part)]  # type: ignore[no-any-return]
        except KeyError:
            pass
        answer = work(job, part)
        answers = _answers(kept, job)
        answers[id(part)] = answer
        answers.setdefault("parts", []).append(part)  # holding the part keeps its number taken
        return answer

    return asked


def forget(job: Job) -> None:
    """Work everything out anew for a job, as if it had just been read."""
    for kept in _KEPT:
        kept.pop(id(job), None)


def _answers(kept: dict[int, dict[Any, T]], job: Job) -> dict[Any, T]:
    """Answers of a function for a job; they go with it, before its number is given again."""
    key = id(job)
    if key not in _JOBS:
        _JOBS[key] = weakref.ref(job, lambda _: _drop(key))
    return kept.setdefault(key, {})


def _drop(key: int) -> None:
    """Drop what is kept of a job that is gone."""
    _JOBS.pop(key, None)
    for kept in _KEPT:
        kept.pop(key, None)
