"""Single-line drawing of a whole house in one state, on one A4 sheet where it can be.

Text lies level and in columns, so that the drawing is its own table. What is alive is
drawn heavy, what is open has a lifted blade and a gap; colour only repeats it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from islewright.drawing import ink
from islewright.drawing.boards import Column
from islewright.drawing.flow import BOTTOM, Flow, flow
from islewright.drawing.head import Head
from islewright.drawing.panel import later_head, legend, panel
from islewright.drawing.plan import Plan
from islewright.drawing.strips import MODES_TALL, mode_strip
from islewright.drawing.survey import plan
from islewright.drawing.svg import Canvas
from islewright.drawing.view import View

if TYPE_CHECKING:
    from islewright.job.model import Job
    from islewright.network.sheet import StateSheet

#: body of an A4 sheet within its margins [mm]
WIDTH, HEIGHT = 175.0, 251.0
LEGEND_Y = 248.8


def single_line(job: Job, sheet: StateSheet, *, beside: StateSheet | None = None) -> str:
    """First sheet of the single-line drawing of one state, as SVG of 175 x 251 mm.

    Where `single_lines` gives more than one sheet, the others belong to it: letters join
    the conductors that go on there.
    """
    return single_lines(job, sheet, beside=beside)[0]


def single_lines(job: Job, sheet: StateSheet, *, beside: StateSheet | None = None) -> list[str]:
    """All sheets of the single-line drawing of one state, each 175 x 251 mm.

    A figure that the job does not state is printed as "not known"; the layout hangs on
    the job alone, so that the sheets of two states can be laid over each other. `beside`
    is a state to compare with, drawn small where a column leaves room for it.
    """
    return [canvas.to_svg() for canvas in canvases(job, sheet, beside=beside)]


def canvases(job: Job, sheet: StateSheet, *, beside: StateSheet | None = None) -> list[Canvas]:
    """The same sheets with their geometry, for whoever wants to prove that nothing meets."""
    house = plan(job)
    boards = flow(house)
    view = View(sheet)
    sheets = [_sheet(house, boards, view, number) for number in range(boards.sheets)]
    if beside is not None:
        _compare(sheets[0], house, boards, View(beside))
    return sheets


def _compare(canvas: Canvas, house: Plan, boards: Flow, other: View) -> None:
    """The other state under the shorter column of the first sheet, if that leaves room."""
    for right, x in ((False, 2.5), (True, 95.0)):
        foot = boards.foot(right=right)
        if foot + 3.0 <= BOTTOM - MODES_TALL:
            y = min(foot + 14.0, BOTTOM - MODES_TALL + 2.0)
            canvas.line([(x, y - 3.0), (x + 80.0, y - 3.0)], ink.HAIR)
            mode_strip(canvas, house, other, (x, y), remark="for comparison")
            return


def _sheet(house: Plan, boards: Flow, view: View, number: int) -> Canvas:
    title = f"{house.job}, single-line drawing, {view.sheet.name}"
    canvas = Canvas(WIDTH, HEIGHT, title)
    if number == 0:
        Head(canvas, house, view).draw()
        panel(canvas, house, view)
        legend(canvas, LEGEND_Y)
    else:
        later_head(canvas, view, number, boards.sheets)
    for placed in boards.placed:
        if placed.sheet == number:
            Column(canvas, house, view, boards, placed).draw()
    return canvas
