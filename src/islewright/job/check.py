"""Checks over several fields of a job that was read.

Each check yields problems at their places. What a *profile* judges is no check: the file
says what is there, and a rule finds it right or wrong.
"""

from __future__ import annotations

from collections.abc import Iterator

from islewright.job.model import Job
from islewright.job.problem import Problem
from islewright.job.refusal import Places


def check(job: Job, places: Places, *, whole: bool, shelf_is_whole: bool) -> Iterator[Problem]:
    """Run every check."""
    return iter(())
