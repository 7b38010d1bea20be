"""The single line in a form for a phone: one column of 87.5 mm, boards one below the other.

An A4 sheet at 400 px cannot be read, so this is a layout of its own, never the sheet made
smaller: at 400 px across, its smallest capitals are 8 px high.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

from islewright.drawing import ink, symbols
from islewright.drawing.boards import Column
from islewright.drawing.flow import (
    GAP,
    Flow,
    Placed,
    board_height,
    measure_columns,
)
from islewright.drawing.head import bond_words, draw_bond
from islewright.drawing.ink import NAME, NOTE, NOTE_STRONG, PROTECTIVE, TITLE, M, Stroke
from islewright.drawing.panel import facts, state_name
from islewright.drawing.plan import (
    GRID,
    HOUSE,
    PV_FEED,
    SUPPLY,
    BoardPlan,
    BondPlan,
    Plan,
    joint_label,
)
from islewright.drawing.strips import MODES_TALL, mode_strip
from islewright.drawing.survey import plan
from islewright.drawing.svg import Canvas, measure, wrap
from islewright.drawing.symbols import Frame
from islewright.drawing.view import POSITION, View
from islewright.drawing.words import NOT_KNOWN

if TYPE_CHECKING:
    from islewright.job.model import Job
    from islewright.network.sheet import StateSheet

WIDTH, PITCH = 87.5, 5.5
#: white at the edges of the screen; more would make the letters smaller than 8 px
RIM = 0.7
LEFT, RIGHT, TEXT_X = 7.5, 80.0, 13.5
#: rails, box of the islanding switch, foot of the head [mm]
LINES_Y, NEUTRAL_Y, EARTH_Y = 58.0, 65.5, 73.0
BOX = (27.5, 43.0, 75.0, 78.0)
POLE_AT, POLE, BOND_HOUSE, BOND_GRID = 40.0, 9.0, 57.5, 33.0
TOP, FUSE_Y, HEAD_FOOT, TAP = 15.0, 27.5, 88.5, 5.0
_WORDS_END = 62.0
#: from line to line of the state's words, where they begin, how many one fact may take
LINE, _FACT, _MOST_LINES = 3.4, 24.0, 4


def phone_form(job: Job, sheet: StateSheet, *, beside: StateSheet | None = None) -> str:
    """Single line of one state as one SVG of 87.5 mm width, as long as it must be."""
    return phone_canvas(job, sheet, beside=beside).to_svg()


def phone_canvas(job: Job, sheet: StateSheet, *, beside: StateSheet | None = None) -> Canvas:
    """The drawing with its geometry; `beside` is another state, small at the foot."""
    house, view = _lettered(plan(job)), View(sheet)
    columns = measure_columns(house, NOTE)
    told = _state_told(house, view)
    top = HEAD_FOOT + TAP * len(house.taps) + LINE * len(told) + 3.0
    placed = []
    for board in house.boards:
        placed.append(Placed(board, 0, False, top, hangs=False))
        top += board_height(board, columns, PITCH, hangs=False) + GAP
    foot = top + (MODES_TALL + 6.0 if beside is not None else 0.0)
    canvas = Canvas(WIDTH, foot, f"{house.job}, single line for a phone, {sheet.name}",
                    rim=RIM)  # fmt: skip
    _PhoneHead(canvas, house, view).draw()
    with canvas.group("state", "What is alive in this state"):
        tell_facts(canvas, told, HEAD_FOOT + TAP * len(house.taps) + 2.0, _FACT)
    flow = Flow(tuple(placed), PITCH, columns)
    for each in placed:
        Column(canvas, house, view, flow, each).draw()
    if beside is not None:
        canvas.line([(0, top), (WIDTH, top)], ink.HAIR)
        mode_strip(canvas, house, View(beside), (2.0, top + 4.0), remark="for comparison")
    return canvas


def _state_told(house: Plan, view: View) -> list[tuple[str, str]]:
    """Lines of what feeds, what is dead and what stays alive; a name on the first of each."""
    told = [*facts(house, view)[2:], ("Always alive", "; ".join(view.sheet.always_alive))]
    return fact_lines(told, _FACT)


def fact_lines(told: Sequence[tuple[str, str]], words_at: float) -> list[tuple[str, str]]:
    """Facts broken into lines, their words from `words_at` on; a name on the first of each."""
    lines = []
    for name, text in told:
        rows = wrap(text or "not stated", NOTE_STRONG, WIDTH - words_at, lines=_MOST_LINES)
        lines += [(name if n == 0 else "", row) for n, row in enumerate(rows)]
    return lines


def tell_facts(canvas: Canvas, lines: Sequence[tuple[str, str]], y: float, words_at: float) -> None:
    """Names at the left, words beside them."""
    for n, (name, row) in enumerate(lines):
        canvas.text((0.0, y + LINE * n), name, NOTE)
        canvas.text((words_at, y + LINE * n), row, NOTE_STRONG)


def _lettered(house: Plan) -> Plan:
    """Every board gets a letter, those too that hang straight from a bundle on a sheet."""
    free = (joint_label(n) for n in count(len(house.joints)))
    boards = tuple(
        board if board.joint else replace(board, joint=next(free)) for board in house.boards
    )
    return replace(house, boards=boards)


class _PhoneHead:
    """State, supply, islanding switch, inverter, and the letters at which boards go on."""

    def __init__(self, canvas: Canvas, house: Plan, view: View) -> None:
        self.canvas, self.plan, self.view = canvas, house, view
        self.grid, self.house = view.alive(GRID), view.alive(HOUSE)

    def draw(self) -> None:
        self._state()
        with self.canvas.group("public supply", "Public supply"):
            self._supply()
        with self.canvas.group("inverter side", self.plan.inverter[0]):
            self._inverter()
        with self.canvas.group("islanding switch", "Islanding switch"):
            self._box()
            self._rails()
            self._bond()
        self._cables()
        self._ways_on()

    def _state(self) -> None:
        c = self.canvas
        mode, rest = state_name(self.view)
        c.line([(0, 0.25), (WIDTH, 0.25)], ink.HEAD)
        wide = c.text((0, 7.2), wrap(mode, TITLE, WIDTH, lines=1)[0], TITLE)
        if rest and measure(rest, NAME) <= WIDTH - wide - 3:
            c.text((WIDTH, 7.2), rest, NAME, end=True)
        elif rest:
            c.text((0, 11.0), wrap(rest, NAME, WIDTH, lines=1)[0], NAME)

    def _supply(self) -> None:
        c, house = self.canvas, self.plan
        live = ink.line(self.view.service)
        symbols.transformer(c, Frame(LEFT, TOP, down=True))
        c.text((TEXT_X, TOP + 2.6), "Public supply", NAME)
        volts, frequency, system = house.supply[0].split(", ", 2)
        for n, words in enumerate((f"{volts}, {frequency}", system, *house.supply[1:])):
            c.text((TEXT_X, TOP + 6.2 + 3.3 * n), wrap(words, NOTE, 25.0, lines=1)[0], NOTE)
        c.line([(LEFT, TOP + 10), (LEFT, FUSE_Y)], live)
        closed = self.view.closed("main fuse")
        after = ink.line(self.view.origin)
        symbols.fuse(c, Frame(LEFT, FUSE_Y, down=True), after, closed=closed)
        words = f"main fuse {house.main_fuse}"
        words += "" if closed is True else f" {POSITION[closed]}"
        c.text((TEXT_X, FUSE_Y + 4.6), words, NOTE)
        c.line([(LEFT, FUSE_Y + 3 * M), (LEFT, LINES_Y - M)], after)
        if house.system == "TN-C-S":
            row = wrap(f"PEN splits at {house.splits_at}", NOTE, 30.0, lines=1)[0]
            c.text((TEXT_X, FUSE_Y + 9.0), row, NOTE)

    def _inverter(self) -> None:
        c, house = self.canvas, self.plan
        own, live = ink.line(self.view.alive("inverter")), ink.line(alive=True)
        symbols.inverter(c, (RIGHT - 5, TOP))
        for y, words in ((TOP + 2.5, house.pv), (TOP + 7.5, house.battery)):
            if not words:
                continue
            if words == house.pv and house.pv_board:
                joint = house.joints.get(PV_FEED, "?")
                alive = self.view.alive(house.pv_board)
                symbols.letter_joint(c, (RIGHT - 8.2, y), joint, alive=alive)
            else:
                c.line([(RIGHT - 10, y), (RIGHT - 5, y)], live)
            if words == house.pv:
                symbols.pv_generator(c, (RIGHT - 15, y - 2))
            else:
                symbols.battery(c, Frame(RIGHT - 14, y))
            c.text((_WORDS_END, y + 0.9), wrap(words, NOTE, 21.5, lines=1)[0], NOTE, end=True)
        link = house.inverter_link
        y = TOP + 10.0
        c.line([(RIGHT, y), (RIGHT, y + 3.5)], own)
        if link is not None and link.device:
            draw = symbols.breaker if link.breaker else symbols.fuse
            draw(c, Frame(RIGHT, y + 3.5, down=True), own)
        else:
            c.line([(RIGHT, y + 3.5), (RIGHT, y + 11)], own)
        c.line([(RIGHT, y + 11), (RIGHT, BOX[1])], ink.line(self.house))
        rows = [house.inverter[0], link.words if link is not None else ""]
        for n, row in enumerate(filter(None, rows)):
            letter = NAME if n == 0 else NOTE
            room = RIGHT - 4 - 45.0
            c.text((RIGHT - 4, y + 4.4 + 3.6 * n), wrap(row, letter, room, lines=1)[0], letter,
                   end=True)  # fmt: skip
        if house.inverter_bond is not None:
            self._inner_bond(house.inverter_bond, y)

    def _inner_bond(self, bond: BondPlan, y: float) -> None:
        """Beside the inverter's way down, with its earth; told in words to the left."""
        c, x, position = self.canvas, RIGHT + 4.4, self.view.inverter_bond(self.plan)
        known = bond.at != NOT_KNOWN
        c.line([(RIGHT, y + 1.6), (x, y + 1.6)], ink.neutral(self.house))
        with c.symbol("neutral-earth bond in the inverter"):
            draw_bond(c, x, position, always=bond.always, known=known, top=y + 1.6, tall=7.0)
            symbols.earth(c, (x, y + 8.6))
        words = f"bond in the inverter {POSITION[position]}"
        c.text((RIGHT - 4, y + 11.8), words, NOTE_STRONG, end=True)

    def _box(self) -> None:
        c, (left, top, right, foot) = self.canvas, BOX
        c.rect((left, top), (right - left, foot - top), ink.BOUNDARY)
        wide = c.text((left + 1.5, top + 4.0), "Islanding switch", NAME)
        if self.plan.switch_at:
            room = right - left - wide - 5
            c.text((left + 3.4 + wide, top + 4.0),
                   wrap(self.plan.switch_at, NOTE, room, lines=1)[0], ink.NOTE_SECOND)  # fmt: skip
        if self.plan.bypass:
            words = f"bypass {POSITION[self.view.closed('bypass')]}"
            c.text((left + 1.5, top + 8.0), words, NOTE_STRONG)

    def _rails(self) -> None:
        c, house = self.canvas, self.plan
        names = " ".join(house.lines_at_switch) if house.three_phase else "L"
        sides = (
            (LINES_Y, house.lines, names, ink.line(self.grid), ink.line(self.house)),
            (NEUTRAL_Y, ("N",), "N", ink.neutral(self.grid), ink.neutral(self.house)),
        )
        for y, conductors, name, before, after in sides:
            symbols.bundle_entry(c, (LEFT, y), to_right=True, stroke=before)
            c.line([(LEFT + M, y), (POLE_AT, y)], before)
            position, words = self.view.poles(house, conductors)
            if words == "not switched":
                c.line([(POLE_AT, y), (POLE_AT + POLE, y)], after)
            else:
                frame = Frame(POLE_AT, y)
                symbols.switch_disconnector(c, frame, after, closed=position, length=POLE)
            c.line([(POLE_AT + POLE, y), (RIGHT - M, y)], after)
            c.line([(RIGHT - M, y), (RIGHT, y + M)], after)
            c.text((BOX[0] + 1.5, y - 1.3), name, NOTE)
            room = BOX[2] - POLE_AT - POLE - 2.5
            text = wrap(words, NOTE_STRONG, room, lines=1)[0]
            c.text((POLE_AT + POLE + 1.5, y - 1.5), text, NOTE_STRONG)
        c.line([(LEFT + M, EARTH_Y), (RIGHT - M, EARTH_Y)], PROTECTIVE)
        c.line([(LEFT, EARTH_Y + M), (LEFT + M, EARTH_Y)], Stroke(0.35))
        c.line([(RIGHT - M, EARTH_Y), (RIGHT, EARTH_Y + M)], Stroke(0.35))
        c.text((BOX[0] + 1.5, EARTH_Y - 1.3), "PE", NOTE)
        c.line([(LEFT, LINES_Y - M), (LEFT, HEAD_FOOT - 5.2)], ink.line(self.grid))
        c.line([(RIGHT, BOX[1]), (RIGHT, HEAD_FOOT - 5.2)], ink.line(self.house))
        text = house.electrode or "no electrode"
        c.text((TEXT_X, BOX[3] + 3.0), wrap(text, NOTE, 26.0, lines=1)[0], NOTE)

    def _cables(self) -> None:
        """What lies between the boards and the switch: device, RCD and cable of each side."""
        c, house = self.canvas, self.plan
        link, at = house.into(GRID), LEFT + 3.4
        if link is not None:
            wire, words = ink.line(self.grid), link.words
            if link.behind:
                closed = self.view.device_closed(f"RCD {link.start}/{link.behind}")
                symbols.residual_device(c, Frame(at, LINES_Y), wire, closed=closed, length=4,
                                        tall=3.2)  # fmt: skip
                at, words = at + 8.4, f"{link.behind}, {link.behind_words}; {words}"
            if link.device:
                draw = symbols.breaker if link.breaker else symbols.fuse
                draw(c, Frame(at, LINES_Y), wire, length=6.0)
            room = RIGHT - 4.0 - TEXT_X
            c.text((TEXT_X, BOX[1] - 2.2), wrap(words, NOTE, room, lines=1)[0], NOTE)
        feed = house.house_board.feed if house.house_board else None
        if feed is not None:
            words = wrap(feed.words, NOTE, 34.0, lines=1)[0]
            c.text((RIGHT - 3.0, BOX[3] + 3.0), words, NOTE, end=True)

    def _bond(self) -> None:
        bond = self.plan.switch_bond
        if bond is None:
            return
        x = BOND_GRID if bond.at == "grid" else BOND_HOUSE
        position, known = self.view.switch_bond(self.plan), bond.at != NOT_KNOWN
        tall = EARTH_Y - NEUTRAL_Y
        draw_bond(self.canvas, x, position, always=bond.always, known=known, top=NEUTRAL_Y,
                  tall=tall)  # fmt: skip
        words = bond_words(position, known=known)
        room = BOX[2] - x - 3.5
        for n, row in enumerate(wrap(words, NOTE_STRONG, room, lines=2)):
            self.canvas.text((x + 2.6, NEUTRAL_Y + 4.4 + 3.0 * n), row, NOTE_STRONG)

    def _ways_on(self) -> None:
        """Letters at the feet of both bundles, and one line for each further board."""
        first = ((LEFT, self.plan.grid_board), (RIGHT, self.plan.house_board))
        for x, board in first:
            if board is not None:
                self._way(x, board)
        for n, link in enumerate(self.plan.taps):
            y, letter = HEAD_FOOT + TAP * n - 1.0, self.plan.joints[link.end]
            side = "from the supply" if link.start == SUPPLY else "from the house side"
            symbols.letter_joint(self.canvas, (LEFT, y), letter, alive=self.view.alive(link.end))
            words = f"to {link.end}, {link.words}, {side}"
            text = wrap(words, NOTE, WIDTH - LEFT - 4, lines=1)[0]
            self.canvas.text((LEFT + 3.0, y + 0.9), text, NOTE)

    def _way(self, x: float, board: BoardPlan) -> None:
        y = HEAD_FOOT - 3.5
        symbols.letter_joint(self.canvas, (x, y), board.joint, alive=self.view.alive(board.name))
        words = wrap(f"to {board.name}", NOTE, 30.0, lines=1)[0]
        at = (x + 3.0, y + 0.9) if x < WIDTH / 2 else (x - 3.0, y + 0.9)
        self.canvas.text(at, words, NOTE, end=x > WIDTH / 2)
