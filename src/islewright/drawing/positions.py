"""The set of switch positions: every contact in every state, and what is alive then.

Closed is one unbroken line through the hinge, open a lifted blade, not known dots with a
question mark. Alive is a bar, dead a thin stroke.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from islewright.drawing import ink, symbols
from islewright.drawing.ink import NAME, NOTE, NOTE_STRONG, Alive, Position, Stroke
from islewright.drawing.plan import BoardPlan, Plan
from islewright.drawing.survey import plan
from islewright.drawing.svg import Canvas, wrap
from islewright.drawing.symbols import Frame
from islewright.drawing.view import View

if TYPE_CHECKING:
    from islewright.job.model import Job
    from islewright.network.sheet import StateSheet

WIDTH, NAMES, ROW, HEAD = 175.0, 44.0, 6.5, 17.0
#: states that one drawing takes
MOST = 11
_CONTACT = 6.0

Row = tuple[str, Callable[[View], Position]]


def positions(job: Job, sheets: Sequence[StateSheet]) -> list[str]:
    """Drawings of 175 mm width, at most eleven states each."""
    return [canvas.to_svg() for canvas in position_canvases(job, sheets)]


def position_canvases(job: Job, sheets: Sequence[StateSheet]) -> list[Canvas]:
    """The drawings with their geometry."""
    house = plan(job)
    parts = -(-len(sheets) // MOST)
    each = -(-len(sheets) // parts) if parts else 0
    return [
        _set(house, [View(sheet) for sheet in sheets[n * each : (n + 1) * each]])
        for n in range(parts)
    ]


def _set(house: Plan, views: Sequence[View]) -> Canvas:
    contacts, places = list(_contacts(house)), list(_places(house))
    height = HEAD + ROW * (len(contacts) + len(places)) + 6.0
    canvas = Canvas(WIDTH, height, f"{house.job}, switch positions in each state")
    wide = (WIDTH - NAMES) / len(views)
    for n, view in enumerate(views):
        _head(canvas, view, NAMES + n * wide, wide)
    canvas.line([(0, HEAD - 2.0), (WIDTH, HEAD - 2.0)], ink.HAIR)
    y = HEAD + ROW / 2
    for name, told in contacts:
        _name(canvas, name, y)
        for n, view in enumerate(views):
            _cell(canvas, f"{name}, {view.sheet.name}", told(view), NAMES + n * wide, y)
        y += ROW
    canvas.line([(0, y - ROW / 2 + 1.0), (WIDTH, y - ROW / 2 + 1.0)], ink.HAIR)
    y += 2.0
    for name, alive in places:
        _name(canvas, name, y)
        for n, view in enumerate(views):
            _alive(canvas, f"{name}, {view.sheet.name}", alive(view), NAMES + n * wide, y)
        y += ROW
    return canvas


def _contacts(house: Plan) -> list[Row]:
    """Contacts from the street to the house, as far as the house has them."""
    rows: list[Row] = [("main fuse", lambda view: view.closed("main fuse"))]
    rows += [_main_switch(board) for board in house.boards if board.main_switch]
    rows.append(("islanding switch, lines", lambda view: view.poles(house, house.lines)[0]))
    rows.append(("islanding switch, neutral", lambda view: view.poles(house, ("N",))[0]))
    if house.bypass:
        rows.append(("bypass", lambda view: view.closed("bypass")))
    if house.switch_bond is not None:
        rows.append(("neutral-earth bond, switch", lambda view: view.switch_bond(house)))
    if house.inverter_bond is not None:
        rows.append(("neutral-earth bond, inverter", lambda view: view.inverter_bond(house)))
    return rows


def _main_switch(board: BoardPlan) -> Row:
    return f"main switch, {board.name}", lambda view: view.main_switch(board)[0]


def _places(house: Plan) -> list[Row]:
    """Places from the street to the inverter, alive, dead or not known."""
    boards = [_board(board) for board in house.boards]
    supply: Row = ("public supply", lambda view: view.service)
    return [supply, *boards, ("inverter, a.c. side", lambda view: view.alive("inverter"))]


def _board(board: BoardPlan) -> Row:
    return board.name, lambda view: view.alive(board.name)


def _head(canvas: Canvas, view: View, x: float, wide: float) -> None:
    words = view.sheet.name[:1].upper() + view.sheet.name[1:]
    rows = wrap(words, NOTE_STRONG, wide - 1.5, lines=4)
    for n, row in enumerate(rows):
        canvas.text((x, HEAD - 3.4 - 3.1 * (len(rows) - 1 - n)), row, NOTE_STRONG)


def _name(canvas: Canvas, name: str, y: float) -> None:
    canvas.text((0.0, y + NAME.capital / 2), wrap(name, NOTE, NAMES - 2, lines=1)[0], NOTE)


def _cell(canvas: Canvas, name: str, position: Position, x: float, y: float) -> None:
    with canvas.group(name, f"{name}: {_word(position)}"):
        wire = Stroke(0.5)
        with canvas.symbol("contact", _word(position)):
            if position is False:
                canvas.line([(x, y + 0.4), (x + 1.0, y + 0.4)], wire)
            symbols.contact(canvas, Frame(x + 1.0, y + 0.4), _CONTACT, position, wire)


def _word(position: Position) -> str:
    """Closed, open or not known."""
    return {True: "closed", False: "open", None: "not known"}[position]


def _alive(canvas: Canvas, name: str, alive: Alive, x: float, y: float) -> None:
    with canvas.group(name, f"{name}: {ink.word(alive)}"):
        stroke = {True: Stroke(2.0, ink.PLUM), False: ink.THIN, None: ink.line(None)}[alive]
        canvas.line([(x, y), (x + 8.0, y)], stroke)
        if alive is None:
            canvas.text((x + 9.0, y + 0.9), "?", NOTE_STRONG)
