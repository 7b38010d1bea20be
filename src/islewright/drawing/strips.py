"""Small strips: where neutral meets earth in one state, and the two modes side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from islewright.drawing import ink, symbols
from islewright.drawing.head import draw_bond
from islewright.drawing.ink import (
    NAME,
    NOTE,
    NOTE_SECOND,
    NOTE_STRONG,
    PROTECTIVE,
    SYMBOL,
    M,
    Position,
    Stroke,
)
from islewright.drawing.plan import GRID, HOUSE, BoardPlan, BondPlan, Plan
from islewright.drawing.survey import plan
from islewright.drawing.svg import Canvas, Point, wrap
from islewright.drawing.symbols import Frame
from islewright.drawing.view import POSITION, View
from islewright.drawing.words import NOT_KNOWN

if TYPE_CHECKING:
    from islewright.job.model import Job
    from islewright.network.sheet import StateSheet

WIDTH = 170.0
NEUTRAL_TALL, MODES_TALL = 46.0, 32.5
LINES_Y, N_Y, PE_Y = 16.0, 26.0, 36.0
SPLIT, POLE_AT, POLE, BOX = 27.5, 62.0, 8.0, (50.0, 106.0)


def neutral_earth(job: Job, sheet: StateSheet) -> str:
    """Strip of 170 x 46 mm: the way of the neutral from transformer to loads in one state."""
    return neutral_canvas(job, sheet).to_svg()


def two_modes(job: Job, sheets: Sequence[StateSheet]) -> str:
    """Strip of 170 x 34 mm: grid mode and island mode side by side.

    Each mode is shown by its first sheet; a mode without any is left out.
    """
    return modes_canvas(job, sheets).to_svg()


def neutral_canvas(job: Job, sheet: StateSheet) -> Canvas:
    """The neutral strip with its geometry."""
    house = plan(job)
    canvas = Canvas(WIDTH, NEUTRAL_TALL, f"{house.job}, neutral and earth, {sheet.name}")
    _Neutral(canvas, house, View(sheet)).draw()
    return canvas


def modes_canvas(job: Job, sheets: Sequence[StateSheet]) -> Canvas:
    """The strip of the two modes with its geometry."""
    house = plan(job)
    canvas = Canvas(WIDTH, MODES_TALL, f"{house.job}, its two modes")
    for n, mode in enumerate(("grid mode", "island mode")):
        shown = next((s for s in sheets if s.mode == mode), None)
        if shown is not None:
            mode_strip(canvas, house, View(shown), (88.0 * n, 0.0))
    return canvas


class _Neutral:
    """Draws the neutral strip."""

    def __init__(self, canvas: Canvas, house: Plan, view: View) -> None:
        self.canvas, self.plan, self.view = canvas, house, view
        self.supply, self.grid = view.service, view.alive(GRID)
        self.house = view.alive(HOUSE)

    def draw(self) -> None:
        with self.canvas.group("public supply", "Public supply"):
            self._transformer()
            self._earth()
        with self.canvas.group("islanding switch", "Islanding switch"):
            self._switch()
            self._bond()
        with self.canvas.group("house", "Inverter, residual current devices, loads"):
            self._inverter()
            self._loads()

    def _transformer(self) -> None:
        c = self.canvas
        c.text((0, 5.0), "Public supply", NAME)
        symbols.transformer(c, Frame(0.25, LINES_Y))
        live = ink.line(self.supply)
        fuse_at = Frame(14.0, LINES_Y)
        c.line([(10.25, LINES_Y), (14.0, LINES_Y)], live)
        symbols.fuse(c, fuse_at, live, closed=self.view.closed("main fuse"))
        c.line([(21.5, LINES_Y), (POLE_AT, LINES_Y)], ink.line(self.grid))
        c.text((14.0, LINES_Y - 3.6), self.plan.main_fuse, NOTE)
        c.line([(7.5, LINES_Y + 3), (7.5, N_Y), (POLE_AT, N_Y)], ink.neutral(self.supply))
        board = self.plan.grid_board
        if board is not None:
            x = 35.0
            alive = self.view.alive(board.name)
            c.line([(x, LINES_Y), (x, LINES_Y - 7)], ink.line(alive, width=0.5))
            text = wrap(f"{board.name}, {ink.word(alive)}", NOTE, BOX[0] + 2 - 30, lines=1)[0]
            c.text((26.0, LINES_Y - 8.0), text, NOTE)

    def _earth(self) -> None:
        c, plan = self.canvas, self.plan
        system = plan.system
        if system != "IT":
            c.line([(7.5, N_Y), (7.5, PE_Y + M)], PROTECTIVE if system else _UNKNOWN)
            symbols.earth(c, (7.5, PE_Y + M))
            symbols.junction(c, (7.5, N_Y))
        start = {"TN-S": 7.5}.get(system, SPLIT)
        c.line([(start, PE_Y), (BOX[1] + 46, PE_Y)], PROTECTIVE)
        if system == "TN-S":
            symbols.junction(c, (7.5, PE_Y))
        words = []
        if system == "TN-C-S":
            c.text((13.0, N_Y - 1.4), "PEN", NOTE)
            c.line([(SPLIT, N_Y), (SPLIT, PE_Y)], Stroke(0.35))
            symbols.junction(c, (SPLIT, N_Y))
            words.append(f"PEN splits at {plan.splits_at}")
        if plan.electrode:
            c.line([(SPLIT, PE_Y), (SPLIT, PE_Y + M)], PROTECTIVE)
            symbols.earth(c, (SPLIT, PE_Y + M))
            symbols.junction(c, (SPLIT, PE_Y))
        words.append(plan.electrode or "no electrode")
        c.text((SPLIT + 4, PE_Y + 8.4), wrap("; ".join(words), NOTE, 90, lines=1)[0], NOTE)

    def _switch(self) -> None:
        c = self.canvas
        left, right = BOX
        c.rect((left, 6.0), (right - left, PE_Y - 2.0), ink.BOUNDARY)
        c.text((left + 1.5, 10.2), "Islanding switch", NAME)
        names = " ".join(self.plan.lines_at_switch) if self.plan.three_phase else "L"
        for y, name in ((LINES_Y, names), (N_Y, "N"), (PE_Y, "PE")):
            c.text((left + 1.5, y - 1.3), name, NOTE)
        for y, conductors in ((LINES_Y, self.plan.lines), (N_Y, ("N",))):
            position, words = self.view.poles(self.plan, conductors)
            wire = ink.line(self.house) if y == LINES_Y else ink.neutral(self.house)
            if words == "not switched":
                c.line([(POLE_AT, y), (POLE_AT + POLE, y)], wire)
            else:
                frame = Frame(POLE_AT, y)
                symbols.switch_disconnector(c, frame, wire, closed=position, length=POLE)
            c.line([(POLE_AT + POLE, y), (BOX[1] + 20, y)], wire)
            text = wrap(words, NOTE_STRONG, right - POLE_AT - POLE - 3, lines=1)[0]
            c.text((POLE_AT + POLE + 1.5, y - 1.5), text, NOTE_STRONG)

    def _bond(self) -> None:
        plan = self.plan
        if plan.switch_bond:
            x = 56.0 if plan.switch_bond.at == "grid" else 82.0
            self._one_bond(x, plan.switch_bond, self.view.switch_bond(plan), "bond", BOX[1] - x - 5)
        if plan.inverter_bond:
            position = self.view.inverter_bond(plan)
            self._one_bond(112.5, plan.inverter_bond, position, "bond in the inverter", 40.0)

    def _one_bond(
        self, x: float, bond: BondPlan, position: Position, name: str, room: float
    ) -> None:
        known = bond.at != NOT_KNOWN
        draw_bond(
            self.canvas, x, position, always=bond.always, known=known, top=N_Y, tall=PE_Y - N_Y
        )
        words = f"{name} {POSITION[position]}" if known else f"{name}, place not known"
        text = wrap(words, NOTE_STRONG, room, lines=1)[0]
        self.canvas.text((x + 4.4, N_Y + 5.9), text, NOTE_STRONG)

    def _inverter(self) -> None:
        c, alive = self.canvas, self.view.alive("inverter")
        for x, y, foot, stroke in (
            (115.0, 3.0, LINES_Y, ink.line(alive)),
            (112.5, 6.5, N_Y, ink.neutral(alive)),
        ):
            c.line([(x, foot), (x, y), (122.0, y)], stroke)
            if (
                foot == LINES_Y or self.plan.inverter_bond is None
            ):  # else the bond has its dot there
                symbols.junction(c, (x, foot))
        symbols.inverter(c, (122.0, 0.5), side=8.5)
        room = WIDTH - 132
        c.text((132.0, 3.6), wrap(self.plan.inverter[0], NAME, room, lines=1)[0], NAME)
        c.text((132.0, 7.2), wrap(self.plan.inverter[1], NOTE, room, lines=1)[0], NOTE)

    def _loads(self) -> None:
        c, board = self.canvas, self.plan.house_board
        if board is None:
            return
        alive = self.view.alive(board.name)
        words = rcd_words(board)
        at, box = BOX[1] + 20, BOX[1] + 43.0
        wires = ((LINES_Y, ink.line(alive)), (N_Y, ink.neutral(alive)))
        if words:
            with c.symbol("residual current device"):
                for y, wire in wires:
                    symbols.contact(c, Frame(at, y), 5, True, wire)
                    c.line([(at + 5, y), (box, y)], wire)
                middle = (LINES_Y + N_Y) / 2
                c.ellipse((at + 8, middle), (1.2, 7.0), SYMBOL)
                c.line([(at + 2.5, LINES_Y), (at + 2.5, N_Y)], ink.LINK)
        else:
            for y, wire in wires:
                c.line([(at, y), (box, y)], wire)
        c.rect((box, LINES_Y - 2), (6.0, N_Y - LINES_Y + 4), SYMBOL)
        c.line([(box + 3, N_Y + 2), (box + 3, PE_Y)], PROTECTIVE)
        text = words or "no residual current device"
        c.text((at - 1, LINES_Y - 3.4), wrap(text, NOTE, WIDTH - at, lines=1)[0], NOTE)
        c.text((box + 7.5, LINES_Y + 2), "loads", NOTE)
        c.text((box + 7.5, LINES_Y + 6), ink.word(alive), NOTE_STRONG)
        name = wrap(f"to {board.name}", NOTE, WIDTH - at, lines=1)[0]
        c.text((at - 1, PE_Y + 4.2), name, NOTE)


_UNKNOWN = Stroke(0.35, dash=(0.35, 0.9))


def rcd_words(board: BoardPlan) -> str:
    """RCDs of a board in words; empty where no circuit of it has any."""
    names = [g.head for g in board.groups if g.rcd]
    own = any(row.residual for g in board.groups for row in g.rows)
    bare = [row for g in board.groups if not g.rcd for row in g.rows]
    none = any(not (row.residual or row.joint or row.source) for row in bare)
    words = ", ".join(names)
    if own:
        words = f"{words}, own devices" if words else "own devices"
    return f"{words}; some none" if words and none else words


def mode_strip(canvas: Canvas, house: Plan, view: View, corner: Point, *, remark: str = "") -> None:
    """One mode in 80 x 34 mm: supply, switch with neutral pole, boards, bond, inverter."""
    x, y = corner
    mode = view.sheet.mode[:1].upper() + view.sheet.mode[1:]
    with canvas.group(mode, view.sheet.name):
        wide = canvas.text((x, y + 3.2), mode, NAME)
        canvas.text((x + wide + 1.6, y + 3.2), remark, NOTE_SECOND)
        _mode_lines(canvas, house, view, x, y + 11.0)
        _mode_bond(canvas, house, view, x, y + 11.0)
        for board, at in ((house.grid_board, x + 13.0), (house.house_board, x + 46.0)):
            if board is not None:
                _mode_board(canvas, board, view, at, y + 11.0)


def _mode_lines(canvas: Canvas, house: Plan, view: View, x: float, y: float) -> None:
    grid, inside = view.alive(GRID), view.alive(HOUSE)
    symbols.transformer(canvas, Frame(x + 0.25, y))
    n_y = y + 2 * M
    start = _mode_fuse(canvas, view, x + 10.25, y)
    canvas.line([(start, y), (x + 33, y)], ink.line(grid))
    canvas.line([(x + 7.5, y + 3), (x + 7.5, n_y), (x + 33, n_y)], ink.neutral(grid))
    for height, conductors, wire in (
        (y, house.lines, ink.line(inside)),
        (n_y, ("N",), ink.neutral(inside)),
    ):
        position, words = view.poles(house, conductors)
        if words == "not switched":
            canvas.line([(x + 33, height), (x + 40, height)], wire)
        else:
            frame = Frame(x + 33, height)
            symbols.switch_disconnector(canvas, frame, wire, closed=position, length=7)
        if conductors != ("N",):
            text = wrap(words, NOTE_STRONG, 24, lines=1)[0]
            canvas.text((x + 42, y - 1.5), text, NOTE_STRONG)
        canvas.line([(x + 40, height), (x + 70, height)], wire)
    symbols.inverter(canvas, (x + 70, y - 2.5), side=9)


def _mode_fuse(canvas: Canvas, view: View, x: float, y: float) -> float:
    """The main fuse where it is drawn: what comes before it stays alive; where the line goes on."""
    if view.closed("main fuse") is not False:
        return x
    canvas.line([(x, y), (x + 1.2, y)], ink.line(view.service))
    symbols.fuse(canvas, Frame(x + 1.2, y), ink.line(view.origin), closed=False, length=5)
    canvas.text((x + 7.0, y - 1.5), "fuse open", NOTE_STRONG)
    return x + 6.2


def _mode_bond(canvas: Canvas, house: Plan, view: View, x: float, y: float) -> None:
    """The bond of the switch, else that of the inverter; both are told in the words."""
    bond = house.switch_bond or house.inverter_bond
    if bond is None:
        return
    at = x + (30.5 if bond.at == "grid" else 63.5)
    position = view.switch_bond(house) if house.switch_bond else view.inverter_bond(house)
    top, tall, known = y + 2 * M, 7.0, bond.at != NOT_KNOWN
    with canvas.symbol("neutral-earth bond"):
        draw_bond(canvas, at, position, always=bond.always, known=known, top=top, tall=tall)
        symbols.earth(canvas, (at, top + tall))
    words = f"bond {POSITION[position]}" if known else "bond not known"
    if house.switch_bond and house.inverter_bond:
        words += ", and a second"
    below = bond.at == "grid"  # beside it stands a board
    corner = (at - 1.5, top + 12.9) if below else (at + 3, top + 5.6)
    for n, text in enumerate(wrap(words, NOTE_STRONG, 15, lines=2 if below else 3)):
        canvas.text((corner[0], corner[1] + 3.1 * n), text, NOTE_STRONG)


def _mode_board(canvas: Canvas, board: BoardPlan, view: View, x: float, y: float) -> None:
    alive = view.alive(board.name)
    top = y + 10.0
    room = 15.0 if not board.house else 28.0
    canvas.line([(x + 4, y), (x + 4, top)], ink.line(alive))
    canvas.line([(x + 9, y + 2 * M), (x + 9, top)], ink.neutral(alive))
    canvas.rect((x, top), (13.0, 5.0), SYMBOL)
    canvas.text((x + 2.2, top + 3.4), ink.word(alive), NOTE_STRONG)
    canvas.text((x, top + 8.4), wrap(board.name, NOTE, room, lines=1)[0], NOTE)
