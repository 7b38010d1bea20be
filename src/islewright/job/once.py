"""What follows from a job alone, worked out once for that very job.

A job that was read does not change; so an answer holds as long as the job lives, and goes
with it. Answers are told apart by the job's identity, never by its content.
"""

from __future__ import annotations

import functools
import weakref
from collections.abc import Callable
from typing import Any, Concatenate, ParamSpec, TypeVar

from islewright.job.model import Job
from islewright.job.part import Part

P = ParamSpec("P")
T = TypeVar("T")
A = TypeVar("A", bound=Part)

__all__ = ["forget", "once_a_job", "once_a_part"]

#: what each function has kept: the job by its identity, and its answers
_KEPT: list[dict[int, tuple[weakref.ref[Job], dict[Any, Any]]]] = []


def once_a_job(work: Callable[Concatenate[Job, P], T]) -> Callable[Concatenate[Job, P], T]:
    """Keep the answers of a function of a job and of hashable arguments, given by position.

    What it raises is not kept. Its answers are shared, so they must not be changed.
    """
    kept: dict[int, tuple[weakref.ref[Job], dict[Any, T]]] = {}
    _KEPT.append(kept)

    @functools.wraps(work)
    def asked(job: Job, /, *about: P.args, **named: P.kwargs) -> T:
        if named:
            msg = f"{work.__name__} takes its arguments by position"
            raise TypeError(msg)
        key = id(job)  # its answers go with the job, so before its number is given again
        try:
            return kept[key][1][about]
        except KeyError:
            pass
        if key not in kept:
            kept[key] = (weakref.ref(job, lambda _: kept.pop(key, None)), {})
        answers = kept[key][1]
        answer = answers[about] = work(job, *about, **named)
        return answer

    return asked


def forget(job: Job) -> None:
    """Work everything out anew for a job, as if it had just been read."""
    for kept in _KEPT:
        kept.pop(id(job), None)


def once_a_part(work: Callable[[Job, A], T]) -> Callable[[Job, A], T]:
    """Keep the answers of a function of a job and one of its parts, told apart by identity."""
    kept: dict[int, tuple[weakref.ref[Job], dict[Any, tuple[A, T]]]] = {}
    _KEPT.append(kept)

    @functools.wraps(work)
    def asked(job: Job, part: A) -> T:
        key = id(job)
        try:
            return kept[key][1][id(part)][1]
        except KeyError:
            pass
        answer = work(job, part)
        if key not in kept:
            kept[key] = (weakref.ref(job, lambda _: kept.pop(key, None)), {})
        kept[key][1][id(part)] = (part, answer)  # holding the part keeps its number taken
        return answer

    return asked
