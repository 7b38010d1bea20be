"""Quantities as people write them, and as they are shown to people."""

import math

import pytest

from islewright.units import UNITS, BadQuantity, Quantity, parse, show, show_apart


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("230 V", "V", 230),
        ("1.2 kA", "A", 1200),
        ("30 mA", "A", 0.03),
        ("9 mohm", "ohm", 0.009),
        ("0.35Ω", "ohm", 0.35),
        ("0.35 \N{OHM SIGN}", "ohm", 0.35),
        ("1 Mohm", "ohm", 1e6),
        ("2.2 kΩ", "ohm", 2200),
        ("18 m", "m", 18),
        ("45 cm", "m", 0.45),
        ("12 mm", "m", 0.012),
        ("1.8 m", "mm", 1800),
        ("2.5 mm2", "mm2", 2.5),
        ("2.5 mm²", "mm2", 2.5),
        (" 16  mm2 ", "mm2", 16),
        ("7.2 kW", "W", 7200),
        ("4 kVA", "VA", 4000),
        ("0.9 kvar", "var", 900),
        ("50 Hz", "Hz", 50),
        ("300 ms", "s", 0.3),
        ("5 min", "s", 300),
        ("2 h", "s", 7200),
        ("100 Ah", "Ah", 100),
        ("7.2 kWh", "Wh", 7200),
        ("25 °C", "°C", 25),
        ("-5 degC", "°C", -5),
        ("35000 A2s", "A2s", 35000),
        ("35000 A²s", "A2s", 35000),
        ("220 nF", "F", 220e-9),
        ("1 uF", "F", 1e-6),
        ("1 \N{GREEK SMALL LETTER MU}F", "F", 1e-6),
        ("1 \N{MICRO SIGN}F", "F", 1e-6),
        ("30 %", "%", 30),
        ("14 kg", "kg", 14),
        ("2.2 N m", "N m", 2.2),
        ("2.2 Nm", "N m", 2.2),
        ("120 ohm m", "ohm m", 120),
        ("2.5 K m/W", "K m/W", 2.5),
        ("6 x", "x", 6),
        ("0.82", "-", 0.82),
        ("1e3 V", "V", 1000),
        (".5 V", "V", 0.5),
    ],
)
def test_a_quantity_is_read_into_its_canonical_unit(text, unit, value):
    """Prefixes and spellings of the trade are read, to the last digit."""
    assert parse(text, unit) == Quantity(value, None)


@pytest.mark.parametrize(
    ("text", "unit", "value", "spread"),
    [
        ("0.4 ohm ± 5 %", "ohm", 0.4, 0.02),
        ("0.4 ohm +-5%", "ohm", 0.4, 0.02),
        ("0.4 ohm +/- 0.02 ohm", "ohm", 0.4, 0.02),
        ("0.4 ohm ± 20 mohm", "ohm", 0.4, 0.02),
        ("0.4 ± 0.02 ohm", "ohm", 0.4, 0.02),
        ("400 ± 20 mohm", "ohm", 0.4, 0.02),
        ("-10 °C ± 10 %", "°C", -10, 1),
        ("20 °C ± 2 K", "°C", 20, 2),
        ("20 °C ± 2 °C", "°C", 20, 2),
        ("30 % ± 5 %", "%", 30, 5),
        ("0.8 ± 0.1", "-", 0.8, 0.1),
        ("0.8 ± 10 %", "-", 0.8, 0.08),
        ("18 m ± 0 m", "m", 18, 0),
    ],
)
def test_an_uncertainty_beside_the_figure_is_kept(text, unit, value, spread):
    """Per cent of the value or an amount in the unit, always absolute; of a share, points."""
    found = parse(text, unit)

    assert found.value == value
    assert found.spread == pytest.approx(spread, abs=1e-15)


@pytest.mark.parametrize(
    ("text", "unit", "message"),
    [
        ("18", "m", r'"18" has no unit; write a length, such as "18 m"'),
        ("18 kV", "m", r"has the unit \"kV\"; allowed are m, cm, mm and km"),
        ("18 v", "V", r"has the unit \"v\"; .*; nearest is V"),
        ("12 Kva", "VA", r"nearest is kVA"),
        ("24,5 ohm", "ohm", r'has a decimal comma; write "24.5 ohm"'),
        ("24,5", "ohm", r"has a decimal comma"),
        ("1 000 V", "V", r"has the unit"),
        ("1_000 V", "V", r"has the unit"),
        ("5 V", "-", r"has the unit \"V\"; write a plain number, such as \"5\""),
        ("nan V", "V", r"is not a finite number"),
        ("-inf V", "V", r"is not a finite number"),
        ("1e999 V", "V", r"is not a finite number"),
        ("1e308 kV", "V", r"is not a finite number"),
        ("1 V ± 1e999 V", "V", r"is not a finite number"),
        ("", "m", r"does not begin with a number"),
        ("long", "m", r"does not begin with a number; write a length"),
        ("٣ m", "m", r"does not begin with a number"),
        ("\N{MINUS SIGN}5 °C", "°C", r"long dash"),
        ("5 ohm ± 2", "ohm", r"has an uncertainty without a unit"),
        ("5 ohm ±", "ohm", r"has an uncertainty without a number"),
        ("5 ohm ± -2 ohm", "ohm", r"has a negative uncertainty"),
        ("5 ohm ± 1 ohm ± 1 ohm", "ohm", r"more than one uncertainty"),
        ("5 ohm ± 1 V", "ohm", r"has the unit \"V\""),
        ("3 m m", "m", r"has the unit \"m m\""),
        ("5 kA2s", "A2s", r"allowed is A2s"),
        ("9" * 300 + " m", "m", r"\.\.\."),
    ],
)
def test_what_is_no_quantity_is_refused_with_what_would_be(text, unit, message):
    """The message holds what was found and what is allowed."""
    with pytest.raises(BadQuantity, match=message) as caught:
        parse(text, unit)

    assert caught.value.found == text
    assert caught.value.allowed == UNITS[unit].shown


@pytest.mark.parametrize("text", [18, None, True, 2.5, ["18 m"]])
def test_only_text_is_read(text):
    """A number without a unit is no quantity, whatever type it arrives in."""
    with pytest.raises(BadQuantity, match="does not begin with a number"):
        parse(text, "m")


@pytest.mark.parametrize("unit", sorted(UNITS))
def test_every_spelling_of_a_unit_is_read(unit):
    """What the table of spellings names is accepted, with a finite scale."""
    for spelling in UNITS[unit].spellings:
        value = parse(f"2 {spelling}", unit).value
        assert math.isfinite(value)
        assert value > 0


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (16, "A", "16 A"),
        (15.98, "A", "16.0 A"),
        (26.087, "A", "26.1 A"),
        (43.48, "A", "43 A"),
        (0.03, "A", "30 mA"),
        (1440, "A", "1.44 kA"),
        (0.349, "ohm", "0.35 Ω"),
        (2.731, "ohm", "2.73 Ω"),
        (0.0241, "ohm", "24.1 mΩ"),
        (1666.67, "ohm", "1667 Ω"),
        (1e6, "ohm", "1 MΩ"),
        (230, "V", "230 V"),
        (126.54, "V", "127 V"),
        (3.236, "%", "3.24 %"),
        (2.5, "mm2", "2.5 mm²"),
        (0.4, "s", "0.4 s"),
        (0.04, "s", "40 ms"),
        (3600, "s", "1 h"),
        (math.inf, "s", "never"),
        (7200, "W", "7.2 kW"),
        (220e-9, "F", "220 nF"),
        (49.95, "Hz", "49.95 Hz"),
        (-5, "°C", "-5 °C"),
        (35000, "A2s", "35000 A²s"),
        (2.2, "N m", "2.2 N m"),
        (0.82, "-", "0.82"),
        (0, "A", "0 A"),
        (-0.001, "V", "-1 mV"),
        (math.nan, "V", "unknown"),
        (0.35, "Ω", "0.35 Ω"),
    ],
)
def test_a_quantity_is_shown_as_the_trade_writes_it(value, unit, text):
    """Three significant digits, in the prefix that a person would choose."""
    assert show(value, unit) == text


@pytest.mark.parametrize("unit", sorted(UNITS))
@pytest.mark.parametrize("value", [0.00412, 0.0412, 0.9, 0.9999, 1.25, 17.3, 412.0, 8765.0, 3.2e7])
def test_what_is_shown_is_close_to_the_figure(unit, value):
    """Read back, the text gives the figure, to the digits that the unit's habit leaves."""
    assert parse(show(value, unit), unit).value == pytest.approx(value, rel=0.06)


def test_two_figures_that_differ_are_shown_apart():
    """A value just above its limit must not read the same as the limit."""
    assert show_apart(32.4, 32, "A") == ("32.4 A", "32 A")
    assert show_apart(1.3661, 1.3659, "ohm") == ("1.3661 Ω", "1.3659 Ω")
    assert show_apart(16, 16, "A") == ("16 A", "16 A")


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (5.17e-7, "V", "< 0.001 mV"),
        (-5.17e-7, "V", "> -0.001 mV"),
        (1e-9, "A", "< 0.001 mA"),
        (0.0, "V", "0 V"),
        (1.3e-6, "V", "0.0013 mV"),
        (0.0003, "x", "0.0003 x"),
    ],
)
def test_what_nobody_could_measure_is_shown_as_less_than_that(value, unit, text):
    """Near nothing a row of digits would only feign knowledge; a plain ratio keeps them."""
    assert show(value, unit) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(0.99998, "-", "1.00"), (9.996, "V", "10.0 V"), (99.96, "V", "100 V"), (99.94, "V", "99.9 V")],
)
def test_rounding_into_the_next_decade_gains_no_digit(value, unit, text):
    """Three significant digits also where the last one carries over."""
    assert show(value, unit) == text


def test_figures_near_nothing_are_still_told_apart():
    """Two that differ are never shown alike."""
    first, second = show_apart(4e-7, 5e-7, "V")

    assert first != second


@pytest.mark.parametrize(
    ("texts", "unit"),
    [
        (("30 mA", "0.03 A", "0.00003 kA", "30000 uA", "3e-5 kA", "3.0E4 µA"), "A"),
        (("18.7 m", "1870 cm", "18700 mm", "0.0187 km"), "m"),
        (("0.07 ohm", "70 mohm", "0.00007 kohm", "7e-8 Mohm"), "ohm"),
        (("4.6 kVA", "4600 VA", "0.0046 MVA"), "VA"),
        (("100 nF", "0.1 uF", "100000 pF", "0.0001 mF", "1e-7 F"), "F"),
        (("300 ms", "0.3 s", "300000 us"), "s"),
    ],
)
def test_a_figure_is_the_same_in_whatever_unit_it_is_written(texts, unit):
    """To the last bit, so that a limit is met in one spelling and in all."""
    assert len({parse(text, unit) for text in texts}) == 1
