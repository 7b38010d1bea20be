"""Quantities as text: read what a person wrote, print what a person can read.

Nothing else in the program knows about units as text. Inside, every figure is a bare
float in the canonical unit that its field or argument names.

    BadQuantity (ValueError)    a text that is not a quantity of the wanted unit
"""

from __future__ import annotations

import math
import re
from typing import NamedTuple

__all__ = [
    "UNITS",
    "BadQuantity",
    "Quantity",
    "Span",
    "parse",
    "parse_span",
    "show",
    "show_apart",
    "spell",
    "spell_span",
]


class Quantity(NamedTuple):
    """A figure in its canonical unit, with the uncertainty that was written beside it."""

    value: float
    spread: float | None


class Span(NamedTuple):
    """A range of figures in their canonical unit, both ends taken."""

    low: float
    high: float


class BadQuantity(ValueError):
    """A text that cannot be read as a quantity of the wanted unit.

    Attributes
    ----------
    found : the text as it stood
    allowed : spellings of the unit that would have been read
    """

    def __init__(self, message: str, found: str, allowed: tuple[str, ...]) -> None:
        super().__init__(message)
        self.found = found
        self.allowed = allowed


# Two signs that look alike stand in Unicode twice: ohm and omega, micro and mu.
_TWINS = {0x03A9: 0x2126, 0x00B5: 0x03BC}


class _Unit(NamedTuple):
    """What a canonical unit is called, and the spellings that are read as it."""

    kind: str
    spellings: dict[str, tuple[float, float]]  # times the first, over the second
    shown: tuple[str, ...]  # the spellings worth naming in a message


def _unit(kind: str, *groups: tuple[str, float, float]) -> _Unit:
    """Build a unit from groups "spelling spelling ...", factor, divisor.

    A tilde stands for a space within a spelling; the first spelling of each group is the
    one that messages name. Multiplier and divisor stand apart, so that each is exact.
    """
    spellings: dict[str, tuple[float, float]] = {}
    shown = []
    for words, times, over in groups:
        names = [word.replace("~", " ") for word in words.split(" ")]
        names += [name.translate(_TWINS) for name in names]
        shown.append(names[0])
        spellings |= dict.fromkeys(names, (times, over))
    return _Unit(kind, spellings, tuple(shown))


_METRE_MM = [("mm", 1, 1), ("cm", 10, 1), ("m", 1000, 1)]

UNITS: dict[str, _Unit] = {
    "V": _unit("a voltage", ("V", 1, 1), ("mV", 1, 1000), ("kV", 1000, 1)),
    "A": _unit("a current", ("A", 1, 1), ("mA", 1, 1000), ("kA", 1000, 1), ("uA µA", 1, 1_000_000)),
    "ohm": _unit(
        "a resistance",
        ("ohm Ohm ohms Ω", 1, 1),
        ("mohm mOhm mΩ", 1, 1000),
        ("kohm kOhm kΩ", 1000, 1),
        ("Mohm MOhm MΩ", 1_000_000, 1),
    ),
    "m": _unit("a length", ("m", 1, 1), ("cm", 1, 100), ("mm", 1, 1000), ("km", 1000, 1)),
    "mm": _unit("a length", *_METRE_MM),
    "mm2": _unit("a cross-section", ("mm2 mm² mm^2", 1, 1)),
    "W": _unit("a power", ("W", 1, 1), ("kW", 1000, 1), ("MW", 1_000_000, 1)),
    "VA": _unit("an apparent power", ("VA", 1, 1), ("kVA", 1000, 1), ("MVA", 1_000_000, 1)),
    "var": _unit("a reactive power", ("var VAr", 1, 1), ("kvar kVAr", 1000, 1)),
    "Hz": _unit("a frequency", ("Hz", 1, 1), ("kHz", 1000, 1)),
    "s": _unit(
        "a time",
        ("s sec", 1, 1),
        ("ms", 1, 1000),
        ("us µs", 1, 1_000_000),
        ("min", 60, 1),
        ("h", 3600, 1),
    ),
    "Ah": _unit("a charge", ("Ah", 1, 1), ("mAh", 1, 1000)),
    "Wh": _unit("an energy", ("Wh", 1, 1), ("kWh", 1000, 1), ("MWh", 1_000_000, 1)),
    "°C": _unit("a temperature", ("degC °C C", 1, 1)),
    "K": _unit("a temperature difference", ("K", 1, 1)),
    "A2s": _unit("a let-through energy", ("A2s A²s A2~s A²~s A^2s A^2~s", 1, 1)),
    "F": _unit(
        "a capacitance",
        ("uF µF", 1, 1_000_000),
        ("nF", 1, 1_000_000_000),
        ("pF", 1, 1_000_000_000_000),
        ("mF", 1, 1000),
        ("F", 1, 1),
    ),
    "F/m": _unit("a capacitance per length", ("pF/m", 1, 1e12), ("nF/m uF/km µF/km", 1, 1e9)),
    "H": _unit("an inductance", ("mH", 1, 1000), ("uH µH", 1, 1_000_000), ("H", 1, 1)),
    "%": _unit("a share", ("% percent", 1, 1)),
    "kg": _unit("a mass", ("kg", 1, 1), ("g", 1, 1000)),
    "N m": _unit("a torque", ("N~m Nm N·m", 1, 1)),
    "ohm m": _unit("a soil resistivity", ("ohm~m ohm·m Ω~m Ωm Ω·m", 1, 1)),
    "K m/W": _unit("a thermal resistivity", ("K~m/W K·m/W Km/W", 1, 1)),
    "ohm/km": _unit("a resistance per length", ("ohm/km Ω/km mohm/m mΩ/m", 1, 1)),
    "deg": _unit("an angle", ("deg °", 1, 1)),
    "x": _unit("a multiple", ("x × times", 1, 1)),
    "-": _unit("a plain number", (" ", 1, 1)),
}
UNITS["-"].spellings[""] = (1, 1)
_ALIAS = {"Ω": "ohm", "mm²": "mm2", "degC": "°C", "Nm": "N m", "A²s": "A2s"}
for _name, _canonical in _ALIAS.items():
    UNITS[_name] = UNITS[_canonical]

_LONGEST = 200  # no quantity is longer; keeps a hostile file cheap
_NUMBER = re.compile(r"\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*")
_COMMA = re.compile(r"([0-9]),([0-9])")
_SPREAD = re.compile(r"\s*(?:\+-|\+/-|±)\s*")


def parse(text: object, unit: str) -> Quantity:
    """Read a quantity such as "2.5 mm2", "0.35 ohm ± 5 %" or "12 kVA".

    Parameters
    ----------
    text : what was written: a number with a decimal point, the unit, and if known the
        uncertainty after "+-" or "±", in per cent of the value or in the unit itself
    unit : canonical unit of the result, one of `UNITS`

    Returns
    -------
    value [unit] and spread [unit], absolute; the spread is None where none was written

    Raises
    ------
    BadQuantity : no number, no unit, a wrong unit, a decimal comma, not finite
    KeyError : `unit` is not one of `UNITS` (a mistake in the program, not in the text)

    >>> parse("0.4 ohm ± 5 %", "ohm")
    Quantity(value=0.4, spread=0.02)
    """
    known = UNITS[unit].spellings
    if not isinstance(text, str) or len(text) > _LONGEST:
        raise _no_number(text, unit)
    match = _NUMBER.match(text)
    if match is None:
        raise _no_number(text, unit)
    end = match.end()
    scale = known.get(text[end:]) or known.get(text[end:].rstrip())
    if scale is None:
        return _parse_long(text, unit)
    value = _scaled(match[1], scale)
    if not math.isfinite(value):
        raise _bad(text, unit, "is not a finite number")
    return Quantity(value, None)


#: powers of ten by which a unit differs from the canonical one
_SHIFTS: dict[tuple[float, float], int] = {
    (1, 1): 0,
    **{(10.0**n, 1): n for n in (1, 3, 6)},
    **{(1, 10.0**n): -n for n in (2, 3, 6, 9, 12)},
}


def _scaled(number: str, scale: tuple[float, float]) -> float:
    """Value in the canonical unit, the same float however it is spelled.

    A float times 1000 may miss by its last bit, and 0.00003 kA must not lie above 30 mA: the
    point is moved in the text, and the text is then read once.
    """
    shift = _SHIFTS.get(scale)
    if shift == 0:
        return float(number)
    if shift is None:
        return float(number) * scale[0] / scale[1]
    digits, _, exponent = number.lower().partition("e")
    return float(f"{digits}e{int(exponent or 0) + shift}")


_BETWEEN = re.compile(r"\s*(?:\.\.\.?|…|\N{EN DASH}|\bto\b)\s*")


def parse_span(text: object, unit: str) -> Span:
    """Read a range such as "6..16 mm2", "14 to 25 mm" or "-10 °C .. 45 °C".

    Parameters
    ----------
    text : two figures, the smaller first, with ".." or "to" between them; the unit stands
        behind the second, or behind both
    unit : canonical unit of the result, one of `UNITS`

    Returns
    -------
    both ends [unit]

    Raises
    ------
    BadQuantity : not two figures, a wrong unit, the larger one first
    KeyError : `unit` is not one of `UNITS` (a mistake in the program, not in the text)

    >>> parse_span("6..16 mm2", "mm2")
    Span(low=6.0, high=16.0)
    """
    ends = _BETWEEN.split(text.strip()) if isinstance(text, str) and len(text) <= _LONGEST else []
    if len(ends) != 2:
        example = f'"6..16 {UNITS[unit].shown[0]}"'
        raise _bad(text, unit, f"is not a range; write the least and the most, such as {example}")
    high = parse(ends[1], unit)
    if _NUMBER.fullmatch(ends[0]):  # "6..16 mm2": one unit for both
        number = _NUMBER.match(ends[1])
        ends[0] = ends[0] + " " + ends[1][number.end() if number else 0 :]
    low = parse(ends[0], unit)
    if low.spread is not None or high.spread is not None:
        raise _bad(text, unit, "has an uncertainty; a range has none, write its two ends")
    if low.value > high.value:
        raise _bad(text, unit, f'begins with the larger; write "{ends[1]}" first')
    return Span(low.value, high.value)


def _parse_long(text: str, unit: str) -> Quantity:
    """Read a quantity whose tail is not simply the unit: an uncertainty, or a mistake."""
    if _COMMA.search(text):
        mended = _COMMA.sub(r"\1.\2", text)
        raise _bad(text, unit, f'has a decimal comma; write "{mended}"')
    parts = _SPREAD.split(text)
    if len(parts) == 1:
        return Quantity(_figure(text, text, unit), None)
    if len(parts) > 2:
        raise _bad(text, unit, "has more than one uncertainty")
    head, tail = parts
    number = _NUMBER.fullmatch(head)
    if number is not None and not UNITS[unit].spellings.get(""):
        # "0.35 ± 0.02 ohm": one unit for both
        unit_words = tail[_end_of_number(tail, text, unit) :]
        head = f"{head} {unit_words}"
    value = _figure(head, text, unit)
    return Quantity(value, _spread(tail, value, text, unit))


def _end_of_number(tail: str, text: str, unit: str) -> int:
    match = _NUMBER.match(tail)
    if match is None:
        raise _bad(text, unit, "has an uncertainty without a number")
    return match.end()


def _spread(tail: str, value: float, text: str, unit: str) -> float:
    """Read an uncertainty: per cent of the value, or an amount in the unit itself."""
    end = _end_of_number(tail, text, unit)
    words = tail[end:].strip()
    if words == "" and unit not in ("-", "x"):
        raise _bad(text, unit, 'has an uncertainty without a unit; write "± 5 %"')
    if words == "%" and UNITS[unit] is not UNITS["%"]:
        # of a share, per cent means points: the wider reading, so the safe one
        spread = abs(value) * _finite(tail[:end], text, unit) / 100
    elif words == "K" and UNITS[unit] is UNITS["°C"]:
        spread = _finite(tail[:end], text, unit)
    else:
        spread = _figure(tail, text, unit)
    if spread < 0:
        raise _bad(text, unit, "has a negative uncertainty")
    return spread


def _figure(part: str, text: str, unit: str) -> float:
    """Read a number and its unit; `text` is the whole, for messages."""
    match = _NUMBER.match(part)
    if match is None:
        raise _no_number(text, unit)
    words = " ".join(part[match.end() :].split())
    scale = UNITS[unit].spellings.get(words)
    if scale is None:
        raise _wrong_unit(words, match[1], text, unit)
    value = _scaled(match[1], scale)
    if not math.isfinite(value):
        raise _bad(text, unit, "is not a finite number")
    return value


def _finite(number: str, text: str, unit: str) -> float:
    value = float(number)
    if not math.isfinite(value):
        raise _bad(text, unit, "is not a finite number")
    return value


def _bad(text: object, unit: str, what: str) -> BadQuantity:
    found = str(text)
    shown = found if len(found) <= 60 else found[:57] + "..."
    return BadQuantity(f'"{shown}" {what}', found, UNITS[unit].shown)


def _example(number: str, unit: str) -> str:
    return f'"{number} {UNITS[unit].shown[0]}"'.replace('  "', '"').replace(' "', '"')


def _no_number(text: object, unit: str) -> BadQuantity:
    found = str(text).strip()
    if re.fullmatch(r"[+-]?(nan|inf|infinity)\b.*", found, re.IGNORECASE):
        return _bad(text, unit, "is not a finite number")
    if found.startswith("\N{MINUS SIGN}"):
        return _bad(text, unit, 'begins with a long dash; write "-" for minus')
    return _bad(
        text, unit, f"does not begin with a number; write {UNITS[unit].kind}, such as "
        + _example("18", unit)
    )  # fmt: skip


def _wrong_unit(words: str, number: str, text: str, unit: str) -> BadQuantity:
    """Say which units are allowed, and which one was probably meant."""
    wanted = UNITS[unit]
    if words == "":
        return _bad(text, unit, f"has no unit; write {wanted.kind}, such as "
                    + _example(number, unit))  # fmt: skip
    if wanted is UNITS["-"]:
        return _bad(text, unit, f'has the unit "{words}"; write a plain number, such as "{number}"')
    allowed = _list_words(wanted.shown)
    near = _nearest(words, wanted)
    hint = f"; nearest is {near}" if near and len(wanted.shown) > 1 else ""
    verb = "are" if len(wanted.shown) > 1 else "is"
    return _bad(text, unit, f'has the unit "{words[:20]}"; allowed {verb} {allowed}{hint}')


def _nearest(words: str, wanted: _Unit) -> str:
    """The allowed spelling nearest to a wrong one, "" if none is near."""
    from difflib import get_close_matches  # only for a message

    folded = {spelling.casefold(): spelling for spelling in wanted.spellings}
    for name in wanted.shown:  # where only the case is wrong, take the spelling we name
        folded[name.casefold()] = name
    match = get_close_matches(words.casefold(), folded, n=1, cutoff=0.6)
    return folded[match[0]] if match else ""


def _list_words(words: tuple[str, ...]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]


# Printing. Steps of a unit, from the largest: smallest value shown in it, divisor, name.
_STEPS: dict[str, tuple[tuple[float, float, str], ...]] = {
    "V": ((10_000, 1000, "kV"), (0.1, 1, "V"), (0, 0.001, "mV")),
    "A": ((1000, 1000, "kA"), (1, 1, "A"), (0, 0.001, "mA")),
    "ohm": ((1e6, 1e6, "MΩ"), (10_000, 1000, "kΩ"), (0.1, 1, "Ω"), (0, 0.001, "mΩ")),
    "W": ((1000, 1000, "kW"), (0, 1, "W")),
    "VA": ((1000, 1000, "kVA"), (0, 1, "VA")),
    "var": ((1000, 1000, "kvar"), (0, 1, "var")),
    "Wh": ((1000, 1000, "kWh"), (0, 1, "Wh")),
    "s": ((3600, 3600, "h"), (120, 60, "min"), (0.1, 1, "s"), (0, 0.001, "ms")),
    "F": ((1e-3, 1e-3, "mF"), (1e-6, 1e-6, "µF"), (1e-9, 1e-9, "nF"), (0, 1e-12, "pF")),
    "F/m": ((0, 1e-12, "pF/m"),),
    "H": ((1e-3, 1e-3, "mH"), (0, 1e-6, "µH")),
    "mm2": ((0, 1, "mm²"),),
    "A2s": ((0, 1, "A²s"),),
    "ohm m": ((0, 1, "Ω m"),),
    "ohm/km": ((0, 1, "Ω/km"),),
    "deg": ((0, 1, "°"),),
    "x": ((0, 1, "x"),),
    "-": ((0, 1, ""),),
}


def show(value: float, unit: str, *, digits: int = 3) -> str:
    """Print a quantity for people: "16 A", "0.35 Ω", "30 mA", "7.2 kW".

    Three significant digits; ohms with two decimals, amperes whole above 30 and with one
    decimal below. Zeros that say nothing fall away: 16 A exactly is "16 A", 15.98 A is
    "16.0 A". What is all but nothing in the smallest unit is "< 0.001 mV".

    Parameters
    ----------
    value : the figure [unit]
    unit : canonical unit, one of `UNITS`
    digits : significant digits; more than three where two figures must be told apart

    Raises
    ------
    KeyError : no such unit
    """
    unit = _ALIAS.get(unit, unit)
    if math.isnan(value):
        return "unknown"
    if math.isinf(value):
        return ("never" if value > 0 else "-∞ s") if unit == "s" else f"{value:g} {unit}".strip()
    size = abs(value)
    steps = _STEPS.get(unit) or ((0.0, 1.0, UNITS[unit].shown[0] if unit != "°C" else "°C"),)
    step = next(s for s in steps if size >= s[0] or s is steps[-1])
    if value == 0:
        step = next((s for s in steps if s[1] == 1), steps[-1])
    scaled = value / step[1]
    least = 10.0**-digits
    if len(steps) > 1 and 0 < abs(scaled) < least:  # nothing that anyone could measure
        return f"{'< ' if value > 0 else '> -'}{least:.{digits}f} {step[2]}"
    return f"{_rounded(scaled, _decimals(scaled, step[2], digits))} {step[2]}".strip()


def _decimals(scaled: float, name: str, digits: int) -> int:
    """How many decimals a figure gets, by its size and by the habit of its unit."""
    if scaled == 0:
        return 0
    extra = digits - 3
    size = abs(scaled)
    if name == "A":
        return (0 if size >= 30 else 1) + extra
    if name == "Ω" and size < 100:
        return 2 + extra
    if name == "Hz":
        extra += 1
    decade = math.floor(math.log10(size))
    if round(size / 10.0**decade, 2 + extra) >= 10:  # 0.9998 is printed as 1.00, not as 1.000
        decade += 1
    return max(0, 2 - decade + extra)


def _rounded(scaled: float, decimals: int) -> str:
    text = f"{scaled:.{decimals}f}"
    short = text.rstrip("0").rstrip(".") if "." in text else text
    exact = math.isclose(float(short), scaled, rel_tol=1e-12)
    return short if exact or float(text) == 0 else text


def spell(value: float, spread: float | None, unit: str) -> str:
    """Write a quantity so that `parse` gives back this very float: "30 mA", "0.35 ± 0.02 ohm".

    In the unit that `show` would take.

    Parameters
    ----------
    value, spread : the figure and its uncertainty, None where none is stated [unit]
    unit : canonical unit, one of `UNITS`

    Raises
    ------
    KeyError : no such unit

    >>> spell(0.03, None, "A")
    '30 mA'
    """
    wanted = Quantity(float(value), None if spread is None else float(spread))
    known = UNITS[unit]
    steps = _STEPS.get(_ALIAS.get(unit, unit), ())
    size = abs(wanted.value) or 1.0
    best = next((over for least, over, _ in steps if size >= least), 1.0)
    names = sorted(known.shown, key=lambda name: not math.isclose(_ratio(known, name), best))
    texts = (_spelled(wanted, name, known.spellings[name]) for name in names)
    return next(text for text in texts if parse(text, unit) == wanted)


def _ratio(known: _Unit, name: str) -> float:
    times, over = known.spellings[name]
    return times / over


def spell_span(span: Span, unit: str) -> str:
    """Write a range so that `parse_span` gives back these very floats: "6..16 mm2".

    Raises
    ------
    KeyError : `unit` is not one of `UNITS`
    """
    known = UNITS[unit]
    own = (unit, *known.shown) if unit in known.spellings else known.shown
    name = next(name for name in own if _ratio(known, name) == 1)
    low, high = (_in(end, known.spellings[name]) for end in span)
    return f"{low}..{high} {name}"


def _spelled(wanted: Quantity, name: str, scale: tuple[float, float]) -> str:
    """In one spelling of the unit."""
    figures = [wanted.value] if wanted.spread is None else [wanted.value, wanted.spread]
    return f"{' ± '.join(_in(figure, scale) for figure in figures)} {name}".strip()


def _in(figure: float, scale: tuple[float, float]) -> str:
    """Digits of a float in another unit: its own, with the point moved."""
    from decimal import Decimal

    shifted = Decimal(repr(figure)) * Decimal(scale[1]) / Decimal(scale[0])
    plain = f"{shifted.normalize():f}"
    return plain if len(plain) <= 20 else str(shifted.normalize())


def show_apart(value: float, other: float, unit: str) -> tuple[str, str]:
    """Print two quantities with as many digits as it takes to tell them apart.

    For a value and its limit: "32.4 A" against "32.0 A" must not read "32 A" twice.
    """
    digits = 3
    while digits < 12:
        first, second = show(value, unit, digits=digits), show(other, unit, digits=digits)
        if first != second or value == other:
            break
        digits += 1
    return first, second
