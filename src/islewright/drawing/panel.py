"""The state in words, and the legend of what a sheet shows."""

from __future__ import annotations

from islewright.drawing import ink, symbols
from islewright.drawing.ink import HEAD, NAME, NOTE, NOTE_SECOND, NOTE_STRONG, TITLE
from islewright.drawing.plan import Plan
from islewright.drawing.svg import Canvas, measure, wrap
from islewright.drawing.symbols import Frame
from islewright.drawing.view import View

LEFT, RIGHT, TOP, FOOT = 110.0, 175.0, 27.5, 67.5
_WORDS_AT = 23.0
_LEADING, _ROW = 3.1, 3.9
_ALWAYS, _ANY = "Always alive: ", 99


def state_name(view: View) -> tuple[str, str]:
    """Mode as a title, and what the state's name says beyond it."""
    sheet = view.sheet
    if not sheet.mode.endswith(" mode"):
        return sheet.name[:1].upper() + sheet.name[1:], ""
    mode = sheet.mode[:1].upper() + sheet.mode[1:]
    short = sheet.mode.removesuffix(" mode")
    rest = sheet.name.removeprefix(sheet.mode).removeprefix(short).lstrip(", ")
    return mode, rest


def panel(canvas: Canvas, plan: Plan, view: View) -> None:
    """Name of the state, positions, what feeds, what is dead, what is always alive."""
    mode, rest = state_name(view)
    with canvas.group("state", view.sheet.name):
        canvas.line([(LEFT, TOP), (RIGHT, TOP)], HEAD)
        wide = canvas.text((LEFT, TOP + 7.0), wrap(mode, TITLE, RIGHT - LEFT, lines=1)[0], TITLE)
        room = RIGHT - LEFT - wide - 4
        y = TOP + 7.0
        if not rest or measure(rest, NAME) <= room:
            canvas.text((RIGHT, y), rest, NAME, end=True)
        else:
            y += 4.2
            canvas.text((LEFT, y), wrap(rest, NAME, RIGHT - LEFT, lines=1)[0], NAME)
        _rows(canvas, facts(plan, view), view.sheet.always_alive, y + 4.9)


def facts(plan: Plan, view: View) -> list[tuple[str, str]]:
    """Positions, what feeds and what is dead, each with its name."""
    _position, lines = view.poles(plan, plan.lines)
    _position, neutral = view.poles(plan, ("N",))
    poles = lines if lines == neutral else f"{lines}; N {neutral}"
    dead = [b.name for b in plan.boards if view.alive(b.name) is False]
    if view.service is False:
        dead.insert(0, "public supply")
    unknown = [b.name for b in plan.boards if view.alive(b.name) is None]
    facts = [
        ("Lines, neutral", poles),
        ("Neutral-earth bond", view.bonds(plan)),
        ("Fed by", view.sheet.fed_by),
        ("Dead in this state", ", ".join(dead) or "nothing"),
    ]
    if unknown:
        facts.append(("Not known", ", ".join(unknown)))
    return facts


def _rows(canvas: Canvas, facts: list[tuple[str, str]], always: tuple[str, ...], y: float) -> None:
    """A row for each fact; what is always alive runs over the whole width below them."""
    for name, text in facts:
        canvas.text((LEFT, y), name, NOTE)
        for row in wrap(text, NOTE_STRONG, RIGHT - LEFT - _WORDS_AT, lines=2):
            canvas.text((LEFT + _WORDS_AT, y), row, NOTE_STRONG)
            y += _LEADING
        y += _ROW - _LEADING
    room = max(1, 1 + int((FOOT - 0.6 - y) / _LEADING))
    first, *rest = _always_alive(always, room)
    canvas.text((LEFT, y), _ALWAYS, NOTE)
    canvas.text((LEFT + measure(_ALWAYS, NOTE), y), first.removeprefix(_ALWAYS), NOTE_STRONG)
    for row in rest:
        y += _LEADING
        canvas.text((LEFT, y), row, NOTE_STRONG)


def _always_alive(always: tuple[str, ...], room: int) -> list[str]:
    """Lines of what is always alive; what finds no room is owned up to, never cut."""
    for count in range(len(always), 0, -1):
        more = len(always) - count
        words = ", ".join(always[:count]) + (f", and {more} more: see the cautions" if more else "")
        lines = wrap(f"{_ALWAYS}{words}", NOTE_STRONG, RIGHT - LEFT, lines=_ANY)
        if len(lines) <= room:
            return lines
    return [_ALWAYS + ("see the cautions" if always else "not stated")]


def legend(canvas: Canvas, y: float) -> None:
    """One line at the foot of the first sheet: lines and shapes with their words."""
    live = ink.line(alive=True)
    lines = (
        (live, "line alive"),
        (ink.neutral(alive=True), "its neutral"),
        (ink.line(alive=False), "dead"),
        (ink.PROTECTIVE, "protective"),
    )
    with canvas.group("legend", "How to read the lines and shapes"):
        canvas.line([(0, y - 4.2), (RIGHT, y - 4.2)], ink.HAIR)
        x = 0.0
        for stroke, word in lines:
            canvas.line([(x, y), (x + 6, y)], stroke)
            x += 7 + canvas.text((x + 7, y + 0.9), word, NOTE) + 3
        for closed, word in ((True, "closed"), (False, "open")):
            with canvas.symbol("switch-disconnector", f"legend {word}"):
                symbols.contact(canvas, Frame(x, y), 6, closed, live, end="switch")
            x += 7.4 + canvas.text((x + 7.4, y + 0.9), word, NOTE) + 4
        symbols.breaker(canvas, Frame(x, y), live, length=4)
        x += 5.4 + canvas.text((x + 5.4, y + 0.9), "circuit-breaker", NOTE) + 3
        canvas.line([(x, y), (x + 4, y)], live)
        symbols.ring(canvas, Frame(x, y), 0.6, 2.4, tall=2.6)
        canvas.text((x + 5, y + 0.9), "residual current device", NOTE)


def later_head(canvas: Canvas, view: View, sheet: int, sheets: int) -> None:
    """State and number on every sheet after the first."""
    mode, rest = state_name(view)
    canvas.line([(0, 0.25), (175, 0.25)], HEAD)
    wide = canvas.text((0, 7.4), mode, TITLE)
    canvas.text((wide + 3, 7.4), rest, NAME)
    canvas.text((175, 7.4), f"sheet {sheet + 1} of {sheets}", NOTE_SECOND, end=True)
