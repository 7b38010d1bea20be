"""Profiles: figures of one country, and how a missing one is answered."""

import pytest

from islewright.tables import (
    NotApplicable,
    NotInTable,
    NotStated,
    Profile,
    profile,
    profile_names,
)
from islewright.tables.profile import ProfileRow
from islewright.units import UNITS

each_profile = pytest.mark.parametrize("name", profile_names())


@pytest.fixture
def iec():
    """The base that all profiles are compared with."""
    return profile("IEC base")


def row(key, value):
    """A row of an invented profile."""
    return ProfileRow(key, value, "V", "1.2", "2020", "invented", "memory")


def test_a_profile_is_loaded_once_by_its_name(iec):
    """The same object for all who ask."""
    assert iec is profile("IEC base")
    assert profile_names() == ("IEC base", "GB")
    assert "IEC 60364-4-41" in iec.edition


@each_profile
def test_every_row_is_a_figure_a_word_or_openly_missing(name):
    """A number has a unit that the program knows; a word has none."""
    rules, missing = profile(name), []
    for key in rules.keys:
        entry = rules.row(key)
        if entry.value == "":
            missing.append(key)
        elif not rules.applies(key):
            assert not entry.unit or entry.unit in UNITS
        elif entry.unit:
            assert entry.unit in UNITS
            assert rules.number(key) == float(entry.value)
            assert rules.number(key).source == entry.source
        else:
            assert rules.text(key)
    assert "volt.rise" in missing


@each_profile
def test_all_profiles_have_the_same_keys_in_the_same_units(name, iec):
    """A key that one lacks could only be answered out of another, which nobody would see."""
    rules = profile(name)

    assert rules.keys == iec.keys
    assert [rules.row(key).unit for key in rules.keys] == [iec.row(key).unit for key in iec.keys]


@each_profile
def test_a_figure_names_the_text_of_its_own_rule_set(name):
    """A row of one country that names only another country's standard would be inherited."""
    rules = profile(name)
    others = [o for n in profile_names() if n != name for o in profile(n).clause_openings]
    for key in rules.keys:
        entry = rules.row(key)
        if entry.value and not key.startswith(("basis.", "supply.")):
            assert not any(entry.edition.startswith(one) for one in others), key


def test_great_britain_differs_where_its_rules_do():
    """The figures that BS 7671 is known for; a key that it does not state is blank."""
    gb = profile("GB")

    assert float(gb.number("loop.c_min")) == 0.95
    assert float(gb.number("loop.measured_factor")) == 0.8
    assert float(gb.number("supply.tolerance_down")) == 6
    assert float(gb.number("ring.device_max")) == 32
    assert gb.text("rcd.type_ac") == "restricted"
    assert gb.clause_openings == ("BS ", "PAS ", "ESQCR ", "EREC ")
    assert float(gb.number("island.electrode_max")) == 200
    with pytest.raises(NotStated, match='profile "GB" states no figure for island'):
        gb.number("island.parallel_max")


def test_a_missing_figure_is_not_stated_and_never_another_one(iec):
    """The rule that needs it stays undecided; the exception carries the key."""
    with pytest.raises(NotStated, match=r"states no figure for volt\.rise") as caught:
        iec.number("volt.rise")

    assert caught.value.key == "volt.rise"
    assert caught.value.profile == "IEC base"
    assert iec.applies("volt.rise")


def test_a_key_that_does_not_exist_is_our_mistake(iec):
    """The message lists the keys of the same room."""
    with pytest.raises(NotInTable, match=r"no key loop.c_mid; it has loop.c_min, loop.c_max"):
        iec.number("loop.c_mid")
    with pytest.raises(NotInTable, match='no profile "Atlantis"; there is IEC base, GB'):
        profile("Atlantis")


def test_not_applicable_switches_a_rule_off_and_is_no_figure():
    """A rule set without the concept has neither figure nor gap."""
    ours = Profile("invented", (row("loop.c_min", "not applicable"), row("loop.c_max", "1.1")))

    assert not ours.applies("loop.c_min")
    with pytest.raises(NotApplicable, match=r"loop\.c_min is not a concept") as caught:
        ours.number("loop.c_min")
    assert isinstance(caught.value, NotStated)
    with pytest.raises(NotApplicable, match=r"loop\.c_min is not a concept"):
        ours.text("loop.c_min")


def test_a_key_twice_is_refused():
    """The later row would hide the earlier one."""
    with pytest.raises(ValueError, match="a key twice"):
        Profile("invented", (row("a", "1"), row("a", "2")))


@pytest.mark.parametrize(
    ("final", "sockets", "i_n_a", "time_s"),
    [
        (True, True, 63, 0.4),
        (True, True, 64, 5),
        (True, False, 32, 0.4),
        (True, False, 40, 5),
        (False, True, 16, 5),
    ],
)
def test_the_time_of_a_circuit_hangs_on_the_scope(iec, final, sockets, i_n_a, time_s):
    """Sockets up to 63 A, fixed equipment up to 32 A, all others 5 s."""
    found = iec.disconnection_time_s("TN", u0_v=230, final=final, sockets=sockets, i_n_a=i_n_a)

    assert found == time_s


@each_profile
def test_assumptions_of_the_program_say_so(name):
    """No standard is named for what is ours, and no spread is zero."""
    rules = profile(name)
    for key in rules.keys:
        if key.startswith(("spread.", "network.")):
            assert "assumption of this program" in rules.row(key).source
            assert rules.number(key) > 0
