"""Two more sheets in a form for a phone: every state in words, and where an RCD sees.

As wide as the single line for a phone, so that at 400 px the smallest capitals are 8 px high;
as long as they must be.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from islewright.drawing import ink, symbols
from islewright.drawing.ink import NAME, NOTE, NOTE_SECOND, NOTE_STRONG, TITLE, Stroke
from islewright.drawing.panel import facts
from islewright.drawing.phone import LINE, RIM, WIDTH, fact_lines, tell_facts
from islewright.drawing.seen import Lane, Stretch
from islewright.drawing.strips import MODES_TALL, mode_strip
from islewright.drawing.survey import plan
from islewright.drawing.svg import Canvas, wrap
from islewright.drawing.symbols import Frame
from islewright.drawing.view import View

if TYPE_CHECKING:
    from islewright.drawing.plan import Plan
    from islewright.job.model import Job
    from islewright.network.sheet import StateSheet

#: title, where words begin, white between two states [mm]
HEAD, WORDS, GAP = 12.0, 26.0, 7.0
#: a stretch: its name, then a line for each mode; where the stroke and the words begin [mm]
NAMED, LANE, STROKE_AT, STROKE, LANE_WORDS = 9.0, 5.0, 12.0, 12.0, 25.5


def states_form(job: Job, sheets: Sequence[StateSheet]) -> str:
    """Every state, one below the other: a strip, and what holds in it in words."""
    return states_canvas(job, sheets).to_svg()


def states_canvas(job: Job, sheets: Sequence[StateSheet]) -> Canvas:
    """The same with its geometry."""
    house = plan(job)
    views = [View(sheet) for sheet in sheets]
    told = [(view, _told(house, view)) for view in views]
    height = HEAD + sum(MODES_TALL + LINE * len(lines) + GAP for _view, lines in told)
    canvas = Canvas(WIDTH, height, f"{house.job}, every state, for a phone", rim=RIM)
    _title(canvas, "Every state")
    y = HEAD
    for view, lines in told:
        mode_strip(canvas, house, view, (2.0, y), remark=_remark(view))
        y += MODES_TALL + 3.0
        tell_facts(canvas, lines, y, WORDS)
        y += LINE * len(lines) + GAP - 3.0
        canvas.line([(0.0, y - 4.2), (WIDTH, y - 4.2)], ink.HAIR)
    return canvas


def _title(canvas: Canvas, words: str) -> None:
    canvas.line([(0, 0.25), (WIDTH, 0.25)], ink.HEAD)
    canvas.text((0, 7.2), words, TITLE)


def _remark(view: View) -> str:
    """What the state's name says beyond its mode, which the strip prints."""
    short = view.sheet.mode.removesuffix(" mode")
    rest = view.sheet.name.removeprefix(view.sheet.mode).removeprefix(short).lstrip(", ")
    return wrap(rest, NOTE, 52.0, lines=1)[0] if rest else ""


def _told(house: Plan, view: View) -> list[tuple[str, str]]:
    """Lines of all that a state says; a name on the first line of each fact."""
    sheet = view.sheet
    said = [
        *facts(house, view),
        ("Neutral is earthed", sheet.neutral_earthed_at),
        ("Means of earthing", sheet.means_of_earthing),
        ("System", sheet.system),
        ("Always alive", "; ".join(sheet.always_alive)),
    ]
    return fact_lines(said, WORDS)


def seen_form(stretches: Sequence[Stretch]) -> str:
    """Where a residual current device sees an earth fault, stretch by stretch."""
    return seen_form_canvas(stretches).to_svg()


def seen_form_canvas(stretches: Sequence[Stretch]) -> Canvas:
    """The same with its geometry."""
    title = "Where a residual current device sees"
    height = HEAD + (NAMED + 2 * LANE + 2.0) * len(stretches)
    canvas = Canvas(WIDTH, height, f"{title}, for a phone", rim=RIM)
    _title(canvas, "Where an RCD sees")
    y = HEAD
    for stretch in stretches:
        with canvas.group(f"stretch {stretch.name}", stretch.name):
            _stretch(canvas, stretch, y)
        y += NAMED + 2 * LANE + 2.0
    return canvas


def _stretch(canvas: Canvas, stretch: Stretch, y: float) -> None:
    canvas.line([(0.0, y), (WIDTH, y)], ink.HAIR)
    name = wrap(stretch.name, NAME, WIDTH / 2, lines=1)[0]
    wide = canvas.text((0.0, y + 4.4), name, NAME)
    detail = wrap(stretch.detail, NOTE, WIDTH - wide - 3.0, lines=1)[0]
    canvas.text((wide + 2.5, y + 4.4), detail, NOTE_SECOND)
    for n, (mode, lane) in enumerate(zip(("grid", "island"), stretch.lanes, strict=True)):
        _lane(canvas, mode, lane, y + NAMED + LANE * n)


def _lane(canvas: Canvas, mode: str, lane: Lane, y: float) -> None:
    canvas.text((0.0, y + 0.9), mode, NOTE)
    letter = NOTE if lane.seen or not lane.fed else NOTE_STRONG
    words = wrap(lane.words, letter, WIDTH - LANE_WORDS, lines=1)[0]
    canvas.text((LANE_WORDS, y + 0.9), words, letter)
    if not lane.fed:
        return
    stroke = {True: Stroke(0.8), False: ink.THIN, None: Stroke(0.35, dash=(0.35, 0.9))}[lane.seen]
    canvas.line([(STROKE_AT, y), (STROKE_AT + STROKE, y)], stroke)
    if lane.seen:
        symbols.ring(canvas, Frame(STROKE_AT, y), 1.0, 6.0, tall=3.2)
    elif lane.seen is None:
        canvas.text((STROKE_AT + STROKE / 2 - 0.4, y - 0.9), "?", NOTE_STRONG)
