"""The words for a gap, and what happens when somebody touches one.

*Left out*: not asked yet. *Unknown*: asked, and nobody knows. Both raise `Unknown` on
touch, so that no number can come out of a gap. *None* ("it is not there") is a statement,
not a gap, and reads as Python's `None`.
"""

from __future__ import annotations

import enum

from islewright.findings import Question


class Gap(enum.Enum):
    """Why a figure is missing."""

    LEFT_OUT = "left out"
    UNKNOWN = "unknown"


class Unknown(Exception):
    """A figure was asked for that the job does not state.

    Attributes
    ----------
    questions : what has to be found out, at least one
    """

    def __init__(self, *questions: Question) -> None:
        super().__init__("; ".join(f"{q.field}: {q.ask}" for q in questions))
        self.questions = questions
