"""Which board goes into which column of which sheet, and how far apart its rows stand.

Only the plan decides, never the state, so that the sheets of two states can be laid over
each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import count

from islewright.drawing.ink import NAME, NOTE, Letter
from islewright.drawing.plan import BoardPlan, Group, Plan, Row, joint_label
from islewright.drawing.svg import measure, wrap

FIRST_TOP, LATER_TOP, BOTTOM = 67.5, 17.5, 243.5
#: board's top to the middle of its first row [mm]
HEAD = 13.0
PITCHES = (6.0, 5.75, 5.5, 5.25, 5.0, 4.75, 4.5, 4.25)
SECOND_LINE = 2.9
SWITCH_ROW = 9.0
GAP = 4.0
WIDE = 80.0
#: from the bus to the end of a row's line; to the right edge of a number of two digits [mm]
END, NUMBER = 18.0, 22.0
_SPACE = 1.7


@dataclass(frozen=True, slots=True)
class Columns:
    """Right edges or left edges of a board's columns, measured from its bus [mm]."""

    letter: Letter
    number: float
    name: float
    name_wide: float
    lines: float
    device: float
    cores: float
    length: float


@dataclass(frozen=True, slots=True)
class Placed:
    """A board, or a part of one, in its column."""

    board: BoardPlan
    sheet: int
    right: bool
    top: float
    hangs: bool
    """From the bundle above, rather than from a letter."""
    last: str = ""
    """Letter at the foot, where the board goes on elsewhere."""


@dataclass(frozen=True, slots=True)
class Flow:
    """All boards in their places, with one pitch and one lettering for the whole house."""

    placed: tuple[Placed, ...]
    pitch: float
    columns: Columns

    @property
    def sheets(self) -> int:
        """How many sheets it takes."""
        return 1 + max((p.sheet for p in self.placed), default=0)

    def foot(self, *, right: bool) -> float:
        """Where the boards of a column of the first sheet end [mm]."""
        heights = (
            p.top + board_height(p.board, self.columns, self.pitch, hangs=p.hangs)
            for p in self.placed
            if p.sheet == 0 and p.right == right
        )
        return max(heights, default=FIRST_TOP)


def flow(plan: Plan) -> Flow:
    """Largest pitch, and 2.2 mm letters where they fit, on the fewest sheets."""
    for letter in (replace(NAME, weight=400), NOTE):
        columns = measure_columns(plan, letter)
        if letter.capital > 2 and not _fits_large(plan, columns):
            continue
        for pitch in PITCHES[:4] if letter.capital > 2 else PITCHES:
            placed = _place(plan, columns, pitch)
            if all(p.sheet == 0 and not p.last for p in placed):
                return Flow(tuple(placed), pitch, columns)
    columns = measure_columns(plan, NOTE)
    tries = [Flow(tuple(_place(plan, columns, p)), p, columns) for p in PITCHES]
    return min(tries, key=lambda f: (f.sheets, len(f.placed), -f.pitch))


def _rows(boards: Iterable[BoardPlan]) -> list[Row]:
    return [row for board in boards for group in board.groups for row in group.rows]


def _fits_large(plan: Plan, columns: Columns) -> bool:
    """Few names need a second line, and none would lose a word that small letters keep."""
    rows = _rows(plan.boards)
    if columns.name_wide < 15 or 4 * sum(two_lines(r, columns) for r in rows) > len(rows):
        return False
    return not any(
        wrap(r.name, columns.letter, columns.name_wide, lines=2)[-1].endswith("…") for r in rows
    )


def measure_columns(plan: Plan, letter: Letter) -> Columns:
    """Give every column what its widest entry needs, and the name what is left."""
    rows = _rows(plan.boards)

    def widest(texts: Iterable[str]) -> float:
        return max((measure(text, letter) for text in texts), default=0.0)

    length = WIDE
    cores = length - max(widest(r.length for r in rows), measure("m", letter)) - _SPACE
    device = cores - max(widest(r.cores for r in rows), measure("mm²", letter)) - _SPACE
    device -= widest(r.device for r in rows)
    lines = device
    if plan.three_phase:
        lines = device - _SPACE - max(widest(r.lines for r in rows), 3.0)
    strong = replace(letter, weight=600)
    numbers = max((measure(row.number, strong) for row in rows), default=0.0)
    number = max(NUMBER, END + 0.6 + numbers)
    name = number + 1.2
    return Columns(letter, number, name, lines - _SPACE - name, lines, device, cores, length)


def two_lines(row: Row, columns: Columns) -> bool:
    """Whether a name needs a second line."""
    return len(wrap(row.name, columns.letter, columns.name_wide, lines=2)) > 1


def row_height(row: Row, columns: Columns, pitch: float) -> float:
    """Height that a row takes [mm]."""
    return pitch + (SECOND_LINE if two_lines(row, columns) else 0.0)


def group_height(group: Group, columns: Columns, pitch: float) -> float:
    """Height of a group with its head [mm]."""
    return pitch + sum(row_height(row, columns, pitch) for row in group.rows)


def board_height(board: BoardPlan, columns: Columns, pitch: float, *, hangs: bool) -> float:
    """Height of a board from its top to the foot of its last row [mm]."""
    switch = SWITCH_ROW if has_switch_row(board, hangs=hangs) else 0.0
    return HEAD + switch + sum(group_height(g, columns, pitch) for g in board.groups)


def has_switch_row(board: BoardPlan, *, hangs: bool) -> bool:
    """A main switch stands in the board, unless it already stands in the way in above it."""
    return bool(board.main_switch) and not board.continued and (board.house or not hangs)


# --------------------------------------------------------------------------- placing
class _Sheets:
    """Columns that fill up from the top, sheet after sheet."""

    def __init__(self) -> None:
        self.used: dict[tuple[int, bool], float] = {}

    def room(self, sheet: int, *, right: bool) -> float:
        return BOTTOM - self.top(sheet, right=right)

    def top(self, sheet: int, *, right: bool) -> float:
        used = self.used.get((sheet, right))
        return (LATER_TOP if sheet else FIRST_TOP) if used is None else used + GAP

    def take(self, sheet: int, height: float, *, right: bool) -> float:
        top = self.top(sheet, right=right)
        self.used[sheet, right] = top + height
        return top


def _place(plan: Plan, columns: Columns, pitch: float) -> list[Placed]:
    """First boards under their bundles; the others where a whole one fits, else on."""
    sheets, placed = _Sheets(), list[Placed]()
    letters = map(joint_label, count(len(plan.joints)))
    first = [b for b in (plan.grid_board, plan.house_board) if b]
    rest = [b for b in plan.boards if b not in first]
    waiting: list[tuple[BoardPlan, bool]] = []
    for board in first:
        height = board_height(board, columns, pitch, hangs=True)
        if height <= sheets.room(0, right=board.house):
            top = sheets.take(0, height, right=board.house)
            placed.append(Placed(board, 0, board.house, top, hangs=True))
            continue
        head, tail = _split(
            board, columns, pitch, sheets.room(0, right=board.house), letters, hangs=True
        )
        top = sheets.take(0, sheets.room(0, right=board.house), right=board.house)
        placed.append(Placed(head, 0, board.house, top, hangs=True, last=tail.joint))
        waiting.append((tail, board.house))
    waiting += [(b, b.house) for b in rest]
    for board, side in waiting:
        placed += _settle(board, side, sheets, columns, pitch, letters)
    return placed


def _settle(
    board: BoardPlan,
    side: bool,  # noqa: FBT001 - left or right column
    sheets: _Sheets,
    columns: Columns,
    pitch: float,
    letters: Iterator[str],
) -> list[Placed]:
    """Put a board that hangs from a letter into the first column with room for it."""
    placed: list[Placed] = []
    sheet, right = 0, side
    tried = [(0, side), (0, not side), (1, False), (1, True)]
    while True:
        height = board_height(board, columns, pitch, hangs=False)
        if height <= sheets.room(sheet, right=right):
            top = sheets.take(sheet, height, right=right)
            return [*placed, Placed(board, sheet, right, top, hangs=False)]
        empty = (sheet, right) not in sheets.used
        if empty and sheet > 0:
            room = sheets.room(sheet, right=right)
            head, tail = _split(board, columns, pitch, room, letters, hangs=False)
            top = sheets.take(sheet, room, right=right)
            placed.append(Placed(head, sheet, right, top, hangs=False, last=tail.joint))
            board = tail
        index = tried.index((sheet, right)) + 1
        if index == len(tried):
            last = tried[-1][0]
            tried += [(last + 1, False), (last + 1, True)]
        sheet, right = tried[index]


def _split(
    board: BoardPlan,
    columns: Columns,
    pitch: float,
    room: float,
    letters: Iterator[str],
    *,
    hangs: bool,
) -> tuple[BoardPlan, BoardPlan]:
    """Cut a board in two where the column ends; between groups, if one at least fits."""
    used = HEAD + (SWITCH_ROW if has_switch_row(board, hangs=hangs) else 0.0)
    groups: list[Group] = []
    rest = list(board.groups)
    while rest and used + group_height(rest[0], columns, pitch) <= room:
        used += group_height(rest[0], columns, pitch)
        groups.append(rest.pop(0))
    fitting = _fitting(rest[0], columns, pitch, room - used)
    if fitting >= 3 and (not groups or not rest[0].rcd):
        cut, letter = rest[0], next(letters) if rest[0].rcd else ""
        groups.append(replace(cut, rows=cut.rows[:fitting], last=letter))
        rest[0] = replace(cut, rows=cut.rows[fitting:], continued=True, joint=letter, last="")
    head = replace(board, groups=tuple(groups))
    tail = replace(board, groups=tuple(rest), joint=next(letters), continued=True)
    return head, tail


def _fitting(group: Group, columns: Columns, pitch: float, room: float) -> int:
    """How many rows of a group fit below its head."""
    used, rows = pitch, 0
    for row in group.rows[:-1]:
        used += row_height(row, columns, pitch)
        if used > room:
            break
        rows += 1
    return rows
