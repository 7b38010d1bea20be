"""Drawings for the pages, asked of the drawing room in one place."""

from __future__ import annotations

import importlib
from typing import Any

BLANK = (
    "<svg xmlns='http://www.w3.org/2000/svg' width='175mm' height='{h}mm' viewBox='0 0 175 {h}'>"
    "<rect x='0.5' y='0.5' width='174' height='{r}' fill='none' stroke='#16181B'/></svg>"
)


def _ask(name: str, height_mm: float, *asked: Any) -> Any:
    try:
        make = getattr(importlib.import_module("islewright.drawing"), name)
    except (ImportError, AttributeError):
        return BLANK.format(h=height_mm, r=height_mm - 1)
    return make(*asked)


def single_lines(job: Any, sheet: Any) -> list[str]:
    """Single-line drawing of a state, one SVG a page."""
    made = _ask("single_lines", 251, job, sheet)
    return [made] if isinstance(made, str) else list(made)


def neutral_earth(job: Any, sheet: Any) -> str:
    """Strip that shows where neutral and earth meet."""
    return str(_ask("neutral_earth", 45, job, sheet))


def two_modes(job: Any, sheets: Any) -> str:
    """Small comparison of the modes for the cover."""
    return str(_ask("two_modes", 32, job, sheets))
