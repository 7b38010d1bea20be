"""The contacts of a state, as `islewright state` prints them."""

import re

import pytest

THREE_PHASES = (
    ("form: one phase", "form: three phases"),
    ("    cores: L1 N\n", "    cores: L1 L2 L3 N\n"),
)


@pytest.fixture
def house(tmp_path, root):
    """Give a function that writes the cottage with changes in its files."""

    def house(*changes):
        for file in ("cottage.yaml", "equipment.yaml"):
            text = (root / "examples/cottage" / file).read_text(encoding="utf-8")
            for old, new in changes:
                text = text.replace(old, new)
            (tmp_path / file).write_text(text, encoding="utf-8")
        return tmp_path / "cottage.yaml"

    return house


def islanding_switch(done):
    (line,) = re.findall(r"^  islanding switch  .*$", done.output, re.MULTILINE)
    return line.split(maxsplit=2)[2]


def test_a_switch_on_one_line_of_three_has_no_contact_on_the_others(run, house):
    """No cable brings L2 and L3 there, so nothing is said of them."""
    done = run("state", house(*THREE_PHASES), "island, on the battery")

    assert islanding_switch(done).split() == ["L1", "N", "open"]


def test_a_neutral_that_passes_the_switch_is_not_called_closed(run, house):
    """It has no contact that could be open."""
    done = run("state", house(("switched poles: L1 N", "switched poles: L1")), "3")

    assert islanding_switch(done).split(maxsplit=2)[2] == "L1 open, N not switched"
