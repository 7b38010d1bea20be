"""Upper part of the single-line drawing: supply, islanding switch, inverter."""

from __future__ import annotations

import math

from islewright.drawing import ink, symbols
from islewright.drawing.flow import FIRST_TOP
from islewright.drawing.ink import NAME, NOTE, NOTE_STRONG, PROTECTIVE, M, Position, Stroke
from islewright.drawing.plan import GRID, HOUSE, OUTPUT, PV_FEED, SUPPLY, Link, Plan
from islewright.drawing.svg import Canvas, Point, wrap
from islewright.drawing.symbols import Frame
from islewright.drawing.view import POSITION, View
from islewright.drawing.words import NOT_KNOWN

LEFT, RIGHT = 7.5, 95.0
LINES_Y, NEUTRAL_Y, EARTH_Y = 42.5, 50.0, 57.5
NEUTRAL_X, EARTH_X, TEXT_X = 5.0, 2.5, 13.5
BOX_LEFT, BOX_RIGHT, BOX_TOP, BOX_BOTTOM = 45.0, 100.0, 27.5, 62.5
POLE_AT, POLE = 60.0, 10.0
BOND_HOUSE, BOND_GRID = 77.5, 52.5
INVERTER_Y, INVERTER_X = 10.0, 117.5
FUSE_Y, JOIN_Y, SWITCH_Y, TOP_JOIN = 12.5, 23.75, 27.0, 10.25
_DOTTED = Stroke(0.35, dash=(0.35, 0.9))


class Head:
    """Draws everything above the boards."""

    def __init__(self, canvas: Canvas, plan: Plan, view: View) -> None:
        self.canvas, self.plan, self.view = canvas, plan, view
        self.supply = view.service
        self.grid = view.alive(GRID)
        self.house = view.alive(HOUSE)
        board = plan.grid_board
        self.bundle = self.grid if board is None else view.alive(board.name)

    def draw(self) -> None:
        """Supply, earth, rails, switch, inverter."""
        with self.canvas.group("public supply", "Public supply"):
            self._supply()
            self._incoming_earth()
        with self.canvas.group("rails", "Lines, neutral and protective conductor"):
            self._left_rails()
            self._right_rails()
        with self.canvas.group("islanding switch", "Islanding switch"):
            self._boundary()
            self._pole("lines", LINES_Y)
            self._pole("neutral", NEUTRAL_Y)
            self._bypass()
            self._bond()
        with self.canvas.group("inverter side", self.plan.inverter[0]):
            self._inverter()
            self._direct_current()
        self._taps()

    # ------------------------------------------------------------------ supply
    def _supply(self) -> None:
        c, plan = self.canvas, self.plan
        live = ink.line(self.supply)
        symbols.transformer(c, Frame(LEFT, 0.25, down=True))
        c.text((TEXT_X, 3.0), "Public supply", NAME)
        for n, text in enumerate(plan.supply):
            c.text((TEXT_X, 6.6 + 3.5 * n), text, NOTE)
        c.line([(LEFT, TOP_JOIN), (LEFT, FUSE_Y)], live)
        fuse_closed = self.view.closed("main fuse")
        after = ink.line(self.view.origin)
        symbols.fuse(c, Frame(LEFT, FUSE_Y, down=True), after, closed=fuse_closed)
        wide = c.text((TEXT_X, 16.2), f"main fuse {plan.main_fuse}", NOTE)
        if fuse_closed is not True:
            c.text((TEXT_X + wide + 1.2, 16.2), POSITION[fuse_closed], NOTE_STRONG)
        feed = plan.grid_board.feed if plan.grid_board else plan.into(GRID)
        if feed is not None and feed.start == SUPPLY:
            c.text((TEXT_X, 19.7), feed.words, NOTE)
        self._main_switch(after)

    def _main_switch(self, wire: Stroke) -> None:
        c, board = self.canvas, self.plan.grid_board
        top, foot = FUSE_Y + 3 * M, LINES_Y - M
        if board is None or not board.main_switch:
            c.line([(LEFT, top), (LEFT, SWITCH_Y)], wire)
            c.line([(LEFT, SWITCH_Y), (LEFT, foot)], ink.line(self.bundle))
            return
        position, words = self.view.main_switch(board)
        c.line([(LEFT, top), (LEFT, SWITCH_Y)], wire)
        bus = ink.line(self.bundle)
        frame = Frame(LEFT, SWITCH_Y, down=True)
        symbols.switch_disconnector(c, frame, bus, closed=position)
        c.line([(LEFT, SWITCH_Y + 3 * M), (LEFT, foot)], bus)
        c.text((TEXT_X, 29.3), board.main_switch, NOTE)
        c.text((TEXT_X, 32.5), words, NOTE_STRONG)

    def _incoming_earth(self) -> None:
        """PEN to where it splits; N and PE apart; or the neutral alone."""
        c, system = self.canvas, self.plan.system
        neutral = ink.neutral(self.supply)
        if system == "TN-C-S":
            c.line([(5.38, 9.37), (EARTH_X, 12.0), (EARTH_X, JOIN_Y - M - 1)], neutral)
            c.line([(EARTH_X, JOIN_Y - M - 1), (LEFT, JOIN_Y + 1.5)], neutral)
            c.line([(EARTH_X, JOIN_Y - M - 1), (EARTH_X, EARTH_Y)], PROTECTIVE)
            symbols.junction(c, (EARTH_X, JOIN_Y - M - 1))
            c.text((1.85, 18.6), "PEN", NOTE, turned=True)
            c.text((1.85, 42.0), "PE", NOTE, turned=True)
            c.text((TEXT_X, JOIN_Y), f"PEN splits at {self.plan.splits_at}", NOTE)
        else:
            c.line([(NEUTRAL_X, 8.91), (NEUTRAL_X, JOIN_Y - M)], neutral)
            c.line([(NEUTRAL_X, JOIN_Y - M), (LEFT, JOIN_Y)], neutral)
            c.text((NEUTRAL_X - 1.85, 17.0), "N", NOTE)
            self._separate_earth(system)

    def _separate_earth(self, system: str) -> None:
        c = self.canvas
        if system == "TN-S":
            c.line([(5.38, 9.37), (EARTH_X, 12.0), (EARTH_X, EARTH_Y)], PROTECTIVE)
            c.text((1.85, 42.0), "PE", NOTE, turned=True)
        elif not system:
            c.line([(5.38, 9.37), (EARTH_X, 12.0), (EARTH_X, EARTH_Y)], _DOTTED)
            c.text((0.2, 42.0), "?", NOTE_STRONG)

    # ------------------------------------------------------------------ rails
    def _left_rails(self) -> None:
        c, plan = self.canvas, self.plan
        link = plan.into(GRID)
        lines, neutral = ink.line(self.grid), ink.neutral(self.grid)
        joint = plan.joints.get(GRID, "")
        start = LEFT + M
        for y, stroke in ((LINES_Y, ink.line(self.bundle)), (NEUTRAL_Y, ink.neutral(self.bundle))):
            if not joint:
                symbols.bundle_entry(c, (LEFT, y), to_right=True, stroke=stroke)
        foot = EARTH_Y + M if plan.grid_board is None else FIRST_TOP
        c.line([(start, LINES_Y), (POLE_AT, LINES_Y)], lines)
        c.line([(start, NEUTRAL_Y), (POLE_AT, NEUTRAL_Y)], neutral)
        c.line([(LEFT, LINES_Y - M), (LEFT, foot)], ink.line(self.bundle))
        if joint:
            symbols.letter_joint(c, (start + 1.7, LINES_Y), joint, alive=self.grid)
        if link is not None:
            self._grid_cable(link, lines, from_supply=link.start == SUPPLY)
        self._earth_rail()

    def _grid_cable(self, link: Link, wire: Stroke, *, from_supply: bool) -> None:
        """Device and RCD on the rail, words above it."""
        c = self.canvas
        at = LEFT + 3 * M
        if link.behind:
            closed = self.view.device_closed(f"RCD {link.start}/{link.behind}")
            symbols.residual_device(c, Frame(at, LINES_Y), wire, closed=closed, length=5, tall=3.6)
            at += 10
        if link.device:
            draw = symbols.breaker if link.breaker else symbols.fuse
            draw(c, Frame(at, LINES_Y), wire)
        if from_supply:
            return
        room = BOX_LEFT - TEXT_X - 1
        words = wrap(link.words, NOTE, room, lines=1 if link.behind else 2)
        if link.behind:
            words = [*wrap(f"{link.behind}, {link.behind_words}", NOTE, room, lines=1), *words]
        for n, text in enumerate(reversed(words)):
            c.text((TEXT_X, LINES_Y - 2.9 - 3.3 * n), text, NOTE)

    def _earth_rail(self) -> None:
        c = self.canvas
        c.line([(EARTH_X, EARTH_Y), (RIGHT - M, EARTH_Y)], PROTECTIVE)
        c.line([(LEFT - M, EARTH_Y), (LEFT, EARTH_Y + M)], Stroke(0.35))
        symbols.junction(c, (EARTH_X, EARTH_Y))
        if self.plan.electrode:
            c.line([(EARTH_X, EARTH_Y), (EARTH_X, EARTH_Y + 2 * M)], PROTECTIVE)
            symbols.earth(c, (EARTH_X, EARTH_Y + 2 * M))
        c.text((TEXT_X, EARTH_Y + 4.2), self.plan.electrode or "no electrode", NOTE)

    def _right_rails(self) -> None:
        c = self.canvas
        for y, stroke in (
            (LINES_Y, ink.line(self.house)),
            (NEUTRAL_Y, ink.neutral(self.house)),
            (EARTH_Y, Stroke(0.35)),
        ):
            after = POLE_AT + POLE if y != EARTH_Y else RIGHT - M
            c.line([(after, y), (RIGHT - M, y)], stroke) if y != EARTH_Y else None
            c.line([(RIGHT - M, y), (RIGHT, y + M)], stroke)
        c.line([(RIGHT, INVERTER_Y), (RIGHT, BOX_BOTTOM)], ink.line(self.house))
        self._house_cable()

    def _house_cable(self) -> None:
        """From the box down to the first board behind it; device in the bundle."""
        c, board = self.canvas, self.plan.house_board
        if board is None or board.feed is None:
            return
        alive = self.view.alive(board.name)
        wire = ink.line(self.house if board.main_switch else alive)
        text = board.feed.cable
        if board.feed.device:
            text = board.feed.words
            c.line([(RIGHT, BOX_BOTTOM), (RIGHT, FIRST_TOP)], wire)
            mark = "breaker" if board.feed.breaker else ""
            with c.symbol("circuit-breaker" if mark else "fuse"):
                if mark:
                    symbols.contact(c, Frame(RIGHT, 63.6, down=True), 3.4, True, wire, end=mark)
                else:
                    c.rect((RIGHT - 0.7, 63.1), (1.4, 3.8), ink.SYMBOL)
        else:
            c.line([(RIGHT, BOX_BOTTOM), (RIGHT, FIRST_TOP)], wire)
        c.text((RIGHT - 1.5, BOX_BOTTOM + 3.8), text, NOTE, end=True)

    # ------------------------------------------------------------------ islanding switch
    def _boundary(self) -> None:
        c = self.canvas
        with c.symbol("boundary", "enclosure of the islanding switch"):
            pass
        c.rect((BOX_LEFT, BOX_TOP), (BOX_RIGHT - BOX_LEFT, BOX_BOTTOM - BOX_TOP), ink.BOUNDARY)
        wide = c.text((BOX_LEFT + 1.6, BOX_TOP + 3.8), "Islanding switch", NAME)
        if self.plan.switch_at:
            room = RIGHT - BOX_LEFT - wide - 5
            place = wrap(self.plan.switch_at, NOTE, room, lines=1)[0]
            c.text((BOX_LEFT + 3.6 + wide, BOX_TOP + 3.8), place, ink.NOTE_SECOND)
        names = " ".join(self.plan.lines_at_switch) if self.plan.three_phase else "L"
        for y, name in ((LINES_Y, names), (NEUTRAL_Y, "N"), (EARTH_Y, "PE")):
            c.text((BOX_LEFT + 1.6, y - 1.3), name, NOTE)

    def _pole(self, which: str, y: float) -> None:
        conductors = self.plan.lines if which == "lines" else ("N",)
        position, words = self.view.poles(self.plan, conductors)
        wire = ink.line(self.house) if which == "lines" else ink.neutral(self.house)
        at = Frame(POLE_AT, y)
        if words == "not switched":
            self.canvas.line([at.at(0), at.at(POLE)], wire)
        else:
            draw = symbols.switch_disconnector
            draw(self.canvas, at, wire, closed=position, length=POLE)
        if which == "neutral" and words != "not switched":
            self._coupling(position)
        room = RIGHT - POLE_AT - POLE - 3.5
        text = wrap(words, NOTE_STRONG, room, lines=1)[0]
        self.canvas.text((POLE_AT + POLE + 1.5, y - 1.5), text, NOTE_STRONG)

    def _coupling(self, neutral: Position) -> None:
        """Dashed link: lines and neutral move together."""
        lines, _words = self.view.poles(self.plan, self.plan.lines)
        x = POLE_AT + POLE / 2
        lift = POLE / 2 * math.tan(math.radians(symbols.LIFT))
        top = LINES_Y - (lift if lines is False else 0)
        foot = NEUTRAL_Y - (lift if neutral is False else 0)
        self.canvas.line([(x, top), (x, foot)], ink.LINK)

    def _bypass(self) -> None:
        if not self.plan.bypass:
            return
        c, y = self.canvas, LINES_Y - 5.0
        position = self.view.closed("bypass")
        left, right = 57.5, 89.0
        c.line([(left, LINES_Y), (left, y), (POLE_AT, y)], ink.line(self.grid))
        c.line([(POLE_AT + POLE, y), (right, y), (right, LINES_Y)], ink.line(self.house))
        for x in (left, right):
            symbols.junction(c, (x, LINES_Y))
        wire = ink.line(self.house)
        symbols.switch_disconnector(c, Frame(POLE_AT, y), wire, closed=position, length=POLE)
        text = f"bypass {POSITION[position]}"
        c.text((POLE_AT + POLE + 1.5, y - 1.5), text, NOTE_STRONG)

    def _bond(self) -> None:
        bond = self.plan.switch_bond
        if bond is None:
            return
        x = BOND_GRID if bond.at == "grid" else BOND_HOUSE
        position, known = self.view.switch_bond(self.plan), bond.at != NOT_KNOWN
        draw_bond(self.canvas, x, position, always=bond.always, known=known)
        words = bond_words(position, known=known)
        room = (POLE_AT + POLE if bond.at == "grid" else RIGHT) - x - 3.0
        for n, text in enumerate(wrap(words, NOTE_STRONG, room, lines=2)):
            self.canvas.text((x + 2.4, NEUTRAL_Y + 4.6 + 3.1 * n), text, NOTE_STRONG)

    # ------------------------------------------------------------------ inverter
    def _inverter(self) -> None:
        c, plan, link = self.canvas, self.plan, self.plan.inverter_link
        alive = self.view.alive("inverter")
        joint = "" if link is None or link.start in {HOUSE, OUTPUT} else plan.joints.get(link.end)
        own = ink.line(alive)
        if joint:
            symbols.letter_joint(c, (RIGHT + 4.0, INVERTER_Y), joint, alive=alive)
        else:
            c.line([(RIGHT, INVERTER_Y), (RIGHT + M * 2, INVERTER_Y)], ink.line(self.house))
        if link is not None and link.device and not joint:
            draw = symbols.breaker if link.breaker else symbols.fuse
            draw(c, Frame(RIGHT + 2 * M, INVERTER_Y), own)
            c.line([(RIGHT + 5 * M, INVERTER_Y), (INVERTER_X, INVERTER_Y)], own)
        else:
            c.line([(RIGHT + (5.7 if joint else 5), INVERTER_Y), (INVERTER_X, INVERTER_Y)], own)
        if link is not None:
            c.text((RIGHT + 2.5, 3.6), link.words if not joint else link.cable, NOTE)
        symbols.inverter(c, (INVERTER_X, INVERTER_Y - 5))
        title, form, fault = plan.inverter
        room = 175 - INVERTER_X
        c.text((INVERTER_X, 18.4), title, NAME)
        c.text((INVERTER_X, 22.0), wrap(form, NOTE, room, lines=1)[0], NOTE)
        c.text((INVERTER_X, 25.3), wrap(fault, NOTE, room, lines=1)[0], NOTE)
        if plan.inverter_bond is not None:
            self._inner_bond()

    def _inner_bond(self) -> None:
        c, position, x = self.canvas, self.view.inverter_bond(self.plan), 113.0
        always = bool(self.plan.inverter_bond and self.plan.inverter_bond.always)
        with c.symbol("neutral-earth bond in the inverter"):
            draw_bond(c, x, position, always=always, known=True, top=INVERTER_Y, tall=3 * M)
            symbols.earth(c, (x, INVERTER_Y + 3 * M))
        c.text((x - 3.0, INVERTER_Y + 4.6), "N-earth", NOTE_STRONG, end=True)
        c.text((x - 3.0, INVERTER_Y + 7.8), f"bond {POSITION[position]}", NOTE_STRONG, end=True)

    def _direct_current(self) -> None:
        c, plan = self.canvas, self.plan
        live = ink.line(alive=True)
        x = INVERTER_X + 4 * M
        rows = [
            (kind, words) for kind, words in (("pv", plan.pv), ("battery", plan.battery)) if words
        ]
        for n, (kind, words) in enumerate(rows):
            y = INVERTER_Y + (0 if len(rows) == 1 else (-M, M)[n])
            if kind == "pv" and plan.pv_board:
                self._pv_elsewhere((x, y))
            else:
                c.line([(x, y), (x + 4 * M, y)], live)
            if kind == "pv":
                symbols.pv_generator(c, (x + 4 * M, y - 2))
            else:
                symbols.battery(c, Frame(x + 4 * M, y))
            room = 175 - x - 7 * M
            c.text((x + 6.6 * M, y + 0.9), wrap(words, NOTE, room, lines=1)[0], NOTE)

    def _pv_elsewhere(self, at: Point) -> None:
        """PV with an inverter of its own hangs on a board: a letter leads there."""
        (x, y), letter = at, self.plan.joints.get(PV_FEED, "?")
        self.canvas.line([(x + 2 * M, y), (x + 4 * M, y)], ink.line(alive=True))
        alive = self.view.alive(self.plan.pv_board)
        symbols.letter_joint(self.canvas, (x + 2 * M - 1.7, y), letter, alive=alive)

    def _taps(self) -> None:
        """Further boards on the house bar or on the incoming cable: a letter each."""
        taps = [k for k in self.plan.taps if k.start in {HOUSE, OUTPUT}]
        each = -(-len(taps) // 4) or 1
        for n in range(0, len(taps), each):
            self._tap((RIGHT, 12.8 + 3.6 * n / each), taps[n : n + each], side=-1)
        incoming = [k for k in self.plan.taps if k.start == SUPPLY]
        if incoming:
            self._tap((LEFT, JOIN_Y + 1.55), incoming, side=1)

    def _tap(self, at: Point, links: list[Link], *, side: int) -> None:
        """Letters side by side, and where they lead to."""
        x, y = at
        end = x + side * (1.5 + 3.6 * len(links))
        alive = self.view.alive(links[0].end)
        self.canvas.line([at, (end, y)], ink.line(alive, width=0.5))
        for n, link in enumerate(links):
            middle = (x + side * (3.2 + 3.6 * n), y)
            letter = self.plan.joints[link.end]
            symbols.letter_joint(self.canvas, middle, letter, alive=self.view.alive(link.end))
        words = "; ".join(f"to {link.end}, {link.words}" for link in links)
        room = (RIGHT - BOX_LEFT if side < 0 else BOX_LEFT - LEFT) - 4 - abs(end - x)
        text = wrap(words, NOTE, room, lines=1)[0]
        self.canvas.text((end + side * 1.0, y + 0.9), text, NOTE, end=side < 0)


def bond_words(position: Position, *, known: bool) -> str:
    """What stands beside a bond."""
    return f"bond {POSITION[position]}" if known else "bond, place not known"


def draw_bond(
    canvas: Canvas,
    x: float,
    position: Position,
    *,
    always: bool,
    known: bool,
    top: float = NEUTRAL_Y,
    tall: float = EARTH_Y - NEUTRAL_Y,
) -> None:
    """Neutral-earth bond: heavy where closed, lifted where open, a bare link where fixed."""
    with canvas.symbol("neutral-earth bond"):
        for end in (top, top + tall):
            symbols.junction(canvas, (x, end))
        if not known:
            canvas.line([(x, top), (x, top + tall)], _DOTTED)
        elif always:
            canvas.line([(x, top), (x, top + tall)], ink.BOND)
        else:
            wire = ink.BOND if position else ink.THIN
            canvas.line([(x, top), (x, top + 1.5)], wire)
            canvas.line([(x, top + tall - 1.0), (x, top + tall)], wire)
            symbols.contact(canvas, Frame(x, top + 1.5, down=True), tall - 2.5, position, wire)
            if position is False:
                canvas.circle((x, top + 1.5), 0.5, Stroke(0.35, fill=ink.PAPER))
