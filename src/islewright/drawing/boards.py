"""Boards of the single-line drawing: bus, RCD groups, one row a circuit."""

from __future__ import annotations

from islewright.drawing import ink, symbols
from islewright.drawing.flow import (
    END,
    HEAD,
    SECOND_LINE,
    SWITCH_ROW,
    WIDE,
    Flow,
    Placed,
    has_switch_row,
    row_height,
)
from islewright.drawing.ink import BOARD, NOTE, NOTE_SECOND, NOTE_STRONG, Letter, Position
from islewright.drawing.plan import Group, Plan, Row
from islewright.drawing.svg import Canvas, Point, measure, wrap
from islewright.drawing.symbols import Frame
from islewright.drawing.view import View

#: from the bus to the sub-bus of a group, to a circuit's device [mm]
SUB, DEVICE = 8.0, 10.6
TEXT = 5.0


class Column:
    """Draws one placed board."""

    def __init__(self, canvas: Canvas, plan: Plan, view: View, flow: Flow, placed: Placed) -> None:
        self.canvas, self.plan, self.view, self.placed = canvas, plan, view, placed
        self.board, self.columns, self.pitch = placed.board, flow.columns, flow.pitch
        self.x = 95.0 if placed.right else 7.5
        self.alive = view.alive(self.board.name)
        self.bus = ink.line(self.alive)
        self.joints: list[tuple[Point, str]] = []

    def draw(self) -> None:
        """Head, bus, main switch, groups, in the order in which they are read."""
        with self.canvas.group(f"board {self.board.name}", self.board.name):
            self._head()
            y = self.placed.top + HEAD
            starts = self._way_in()
            if has_switch_row(self.board, hangs=self.placed.hangs):
                y, starts = self._main_switch(starts)
            y, last = self._groups(y)
            self._foot(starts, y, last)

    def _head(self) -> None:
        x, top = self.x + TEXT, self.placed.top
        right = self.x + WIDE
        word = ink.word(self.alive)
        letter = Letter(2.2, 600, ink.PLUM if self.alive else ink.INK)
        word_wide = measure(word, letter)
        self.canvas.text((right, top + 4.6), word, letter, end=True)
        name = self.board.name[:1].upper() + self.board.name[1:]
        name += ", continued" if self.board.continued else ""
        shown = wrap(name, BOARD, right - x - word_wide - 4, lines=1)[0]
        wide = self.canvas.text((x, top + 4.6), shown, BOARD)
        room = right - x - wide - word_wide - 6
        if room > 8 and not self.board.continued:
            detail = wrap(self.board.detail, NOTE, room, lines=1)[0]
            self.canvas.text((x + wide + 2.5, top + 4.6), detail, NOTE_SECOND)
        self.canvas.line([(x, top + 6.25), (right, top + 6.25)], ink.HAIR)
        self._column_heads(top + 9.3)

    def _column_heads(self, y: float) -> None:
        columns = self.columns
        heads = [(columns.cores, "mm²", True), (columns.length, "m", True)]
        if self.plan.three_phase:
            heads.append((columns.lines, "line", False))
        for along, text, end in heads:
            self.canvas.text((self.x + along, y), text, NOTE_SECOND, end=end)
        self.canvas.text((self.x + TEXT, y), self._remark(), NOTE)

    def _remark(self) -> str:
        """What the word at the right does not say about a dead board."""
        if self.alive is not False or self.board.house or self.board.continued:
            return ""
        neutral = self.view.closed(f"main switch {self.board.name} N")
        parted = "N" in self.board.main_switch_poles and neutral is not True
        return "" if parted else "N stays joined to the supply"

    def _way_in(self) -> float:
        """Bus from above; from a letter where it does not hang from a bundle."""
        if self.placed.hangs:
            return self.placed.top
        at = (self.x, self.placed.top + 3.0)
        self.joints.append((at, self.board.joint or "?"))
        return self.placed.top + 3.0

    def _main_switch(self, starts: float) -> tuple[float, float]:
        """A row of its own: the contact stands in the bus."""
        y = self.placed.top + HEAD - 2.5
        position, words = self.view.main_switch(self.board)
        feed = ink.line(self.view.feed(self.board))
        self.canvas.line([(self.x, starts), (self.x, y)], feed)
        frame = Frame(self.x, y, down=True)
        symbols.switch_disconnector(self.canvas, frame, self.bus, closed=position, length=7.0)
        at = (self.x + TEXT, y + 4.6)
        wide = self.canvas.text(at, f"{self.board.main_switch}:", NOTE)
        self.canvas.text((at[0] + wide + 1, at[1]), words, NOTE_STRONG)
        return self.placed.top + HEAD + SWITCH_ROW - 1.5, y + 7.0

    def _groups(self, y: float) -> tuple[float, float]:
        """All groups; gives the next row and the last one that hangs on the bus."""
        last = y
        for group in self.board.groups:
            if group.rcd and not group.continued:
                last = y
            y, last_row = self._group(group, y)
            if not group.rcd:
                last = last_row
        return y, last

    def _group(self, group: Group, y: float) -> tuple[float, float]:
        with self.canvas.group(f"group {group.key}", f"{group.head} {group.detail}".strip()):
            self._group_head(group, y)
            top, last, y = y, y, y + self.pitch
            for row in group.rows:
                last = y
                self._row(row, group, y)
                y += row_height(row, self.columns, self.pitch)
            if group.rcd:
                self._sub_bus(group, top, y - self.pitch / 2 + 1.5 if group.last else last)
        return y, last

    def _group_head(self, group: Group, y: float) -> None:
        letter, at = self.columns.letter, self.x + SUB + 1.6
        base = y + letter.capital / 2
        if not group.rcd:
            second = Letter(letter.capital, colour=ink.SECOND)
            room = self.x + WIDE - at
            self.canvas.text((at, base), wrap(group.detail, second, room, lines=1)[0], second)
            return
        head = group.head
        if group.continued:
            head, at = f"{head}, continued", at + 1.3
        else:
            self._rcd(group, y)
        wide = self.canvas.text((at, base), head, Letter(letter.capital, 600))
        self.canvas.text((at + wide + 1.4, base), group.detail, letter)

    def _sub_bus(self, group: Group, top: float, foot: float) -> None:
        """Bus of a group, with a letter at the end that lies in another column."""
        x, alive = self.x + SUB, self.view.alive(group.key)
        self.canvas.line([(x, top), (x, foot)], ink.line(alive, width=0.5))
        for y, letter in ((top, group.joint), (foot, group.last)):
            if letter:
                symbols.letter_joint(self.canvas, (x, y), letter, alive=alive)

    def _rcd(self, group: Group, y: float) -> None:
        closed = self.view.device_closed(f"RCD {group.key}")
        wire = ink.line(self.view.alive(group.key), width=0.5)
        self.canvas.line([(self.x, y), (self.x + 0.8, y)], ink.line(self.alive, width=0.5))
        frame = Frame(self.x + 0.8, y)
        symbols.residual_device(self.canvas, frame, wire, closed=closed, length=4.0, tall=2.8)

    def _row(self, row: Row, group: Group, y: float) -> None:
        alive = self.view.alive(row.key)
        start = self.x + (SUB if group.rcd else 0)
        feed = self.view.alive(group.key)
        with self.canvas.group(row.key, f"{row.number} {row.name}".strip()):
            closed = self.view.device_closed(row.key)
            wire = ink.line(alive, width=0.5)
            self.canvas.line([(start, y), (self.x + DEVICE, y)], ink.line(feed, width=0.5))
            self._device(row, y, wire, closed=closed)
            self._words(row, y)

    def _device(self, row: Row, y: float, wire: ink.Stroke, *, closed: bool) -> None:
        if row.source:
            self._inlet(y)
            return
        canvas, at = self.canvas, self.x + DEVICE
        kind = "fuse" if not row.breaker else "circuit-breaker"
        wide = 3.4 if row.device else 0.0
        if row.device or row.residual:
            with canvas.symbol(f"{kind} with residual current device" if row.residual else kind):
                if row.device:
                    frame, draw = Frame(at, y), symbols.breaker if row.breaker else _small_fuse
                    draw(canvas, frame, wire, closed=closed, length=wide)
                if row.residual:
                    symbols.ring(canvas, Frame(at, y), 1.7, 5.6, tall=2.6)
        canvas.line([(at + wide, y), (self.x + END, y)], wire)
        if row.joint:
            end = (self.x + END + 1.7, y)
            symbols.letter_joint(canvas, end, row.joint, alive=self.view.alive(row.key))

    def _inlet(self, y: float) -> None:
        """A generator behind its open change-over: in no state of the sheets does it feed."""
        canvas, at, long = self.canvas, self.x + DEVICE, 5.0
        symbols.switch_disconnector(canvas, Frame(at, y), ink.THIN, closed=False, length=long)
        canvas.line([(at + long, y), (self.x + END, y)], ink.THIN)
        symbols.generator(canvas, (self.x + END + 1.7, y))

    def _words(self, row: Row, y: float) -> None:
        x, c, letter = self.x, self.columns, self.columns.letter
        lines = wrap(row.name, letter, c.name_wide, lines=2)
        base = y + letter.capital / 2
        strong = Letter(letter.capital, 600)
        self.canvas.text((x + c.number, base), row.number, strong, end=True)
        for n, text in enumerate(lines):
            self.canvas.text((x + c.name, base + n * SECOND_LINE), text, letter)
        if self.plan.three_phase:
            self.canvas.text((x + c.lines, base), row.lines, letter)
        self.canvas.text((x + c.device, base), row.device, letter)
        self.canvas.text((x + c.cores, base), row.cores, letter, end=True)
        self.canvas.text((x + c.length, base), row.length, letter, end=True)

    def _foot(self, starts: float, y: float, last: float) -> None:
        """The bus itself, down to the last row or on to the letter at the foot."""
        if self.placed.last:
            last = y - self.pitch / 2 + 1.5
            self.joints.append(((self.x, last), self.placed.last))
        self.canvas.line([(self.x, starts), (self.x, last)], self.bus)
        for at, letter in self.joints:
            symbols.letter_joint(self.canvas, at, letter, alive=self.alive)


def _small_fuse(
    canvas: Canvas, frame: Frame, wire: ink.Stroke, *, closed: Position, length: float
) -> None:
    symbols.fuse(canvas, frame, wire, closed=closed, length=length, wide=1.4)
