"""Drawings as SVG: single line, neutral and earth, the two modes, marks of findings.

Belongs here: what lies where on a sheet, in which line and letter. Does not belong here:
any engineering. What is alive or closed comes from a state's sheet, figures from the job.
"""

from islewright.drawing.single_line import single_line, single_lines

__all__ = ["single_line", "single_lines"]
