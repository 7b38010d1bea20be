"""Drawings as SVG: single line, neutral and earth, the two modes, curves, marks of findings.

Belongs here: what lies where on a sheet, in which line and letter. Does not belong here:
any engineering. What is alive or closed comes from a state's sheet, figures from the job.
"""

from islewright.drawing.marks import limit_mark, scale_bar
from islewright.drawing.phone import phone_form
from islewright.drawing.phone_sheets import seen_form, states_form
from islewright.drawing.positions import positions
from islewright.drawing.single_line import single_line, single_lines
from islewright.drawing.strips import neutral_earth, two_modes

__all__ = [
    "limit_mark",
    "neutral_earth",
    "phone_form",
    "positions",
    "scale_bar",
    "seen_form",
    "single_line",
    "single_lines",
    "states_form",
    "two_modes",
]
