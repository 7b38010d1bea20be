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
        held = kept.get(id(job))
        if held is None or held[0]() is not job:
            key = id(job)
            held = kept[key] = (weakref.ref(job, lambda _: kept.pop(key, None)), {})
        answers = held[1]
        if named:
            msg = f"{work.__name__} takes its arguments by position"
            raise TypeError(msg)
        if about in answers:
            return answers[about]
        answer = answers[about] = work(job, *about, **named)
        return answer

    return asked


def forget(job: Job) -> None:
    """Work everything out anew for a job, as if it had just been read."""
    for kept in _KEPT:
        kept.pop(id(job), None)


def once_a_part(work: Callable[[Job, A], T]) -> Callable[[Job, A], T]:
    """Keep the answers of a function of a job and one of its parts, told apart by identity."""
    answers = once_a_job(_no_answers)

    @functools.wraps(work)
    def asked(job: Job, part: A) -> T:
        kept: dict[int, tuple[A, T]] = answers(job)
        held = kept.get(id(part))
        if held is None or held[0] is not part:
            held = kept[id(part)] = (part, work(job, part))  # holding the part keeps its id taken
        return held[1]

    return asked


def _no_answers(_job: Job) -> dict[int, Any]:
    return {}
