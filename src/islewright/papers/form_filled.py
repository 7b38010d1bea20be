"""What a job states at a field of the survey form, in words, and what still waits for it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from islewright.job.laying import Laying
from islewright.job.model import Circuit, Job
from islewright.job.part import Part
from islewright.papers.facts import said, worded
from islewright.papers.say import DOES_NOT_APPLY

#: lines that make rotation a question; methods that lie in the ground
_ROTATING, _BURIED = 3, {"D1", "D2"}


class Form(NamedTuple):
    """What the form is filled from: nothing, or a job and what findings ask."""

    job: Job | None
    asked: dict[str, int]


def inside(part: Part | None, name: str) -> Part | None:
    """A part that lies in another; None where it is a gap or not there."""
    if part is None or part.gap(name) is not None:
        return None
    held = getattr(part, name)
    return held if isinstance(held, Part) else None


def known(form: Form, path: Sequence[str], part: Part | None) -> tuple[str, int]:
    """What is stated at a path of parts, and how many findings wait for it."""
    for step, name in enumerate(path):
        if part is None:
            return "", 0
        if part.gap(name) is not None:
            return "", form.asked.get(part.question(name).field, 0)
        if beside_the_point(part, name):
            return DOES_NOT_APPLY, 0
        if not part.has(name):
            return (worded(None, None) if step == len(path) - 1 else DOES_NOT_APPLY), 0
        value = getattr(part, name)
        if step == len(path) - 1:
            return _words(form, part, name, value)
        part = value
    return "", 0


def beside_the_point(part: Part, name: str) -> bool:
    """A default that answers what does not arise: rotation on one line, soil in air."""
    if isinstance(part, Circuit) and name == "on_three_lines":
        return part.has("lines") and len(part.lines) < _ROTATING
    if isinstance(part, Laying) and name in {"spacing", "soil_k_m_per_w"}:
        return part.has("method") and part.method not in _BURIED
    return False


def _words(form: Form, part: Part, name: str, value: Any) -> tuple[str, int]:
    if isinstance(value, Part):  # a device: its short name, and what is still asked about it
        inner = [n for f, n in form.asked.items() if f.startswith(f"{value.path}.")]
        return str(getattr(value, "name", "")), max(inner, default=0)
    return said(part, name), form.asked.get(part.question(name).field, 0)
