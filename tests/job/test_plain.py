"""The quick way of reading gives what the careful one gives, or leaves the file to it."""

import random
from pathlib import Path

import pytest

from islewright.job.plain import read_plain
from islewright.job.problem import BadJob, Problem
from islewright.job.quick import read_quickly
from islewright.job.read import _read_with_care, read_job
from islewright.job.tree import read_tree

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.yaml"))
JOBS = [file for file in EXAMPLES if file.name != "equipment.yaml"]
#: signs and lines on which the two could part
BITS = (
    " ", "\n", ":", "#", "'", '"', "- ", ": ", " #", "  ", "{", "}", "[", ",", "yes", "null", "\t",
    "a: b", "\n  ", "'x'", "...", "---", "|", "&a", "\\", "%", "\x85", "\u2028", "\r\n", "~", "?",
    "!", "\n\n", "*", "''", "a:",
)  # fmt: skip


def with_care(data: bytes):
    """What the library makes of a file; None where anything in it is refused."""
    problems: list[Problem] = []
    root = read_tree(data, "a.yaml", problems)
    return None if problems or root is None else root.plain()


def in_order(tree):
    """Keys in their order, which a comparison of dicts leaves out."""
    if not isinstance(tree, dict):
        return tree
    return [(key, in_order(value)) for key, value in tree.items()]


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda f: f"{f.parent.name}/{f.name}")
def test_every_example_is_read_quickly(file):
    """With the same keys in the same order."""
    data = file.read_bytes()
    found = read_plain(data)

    assert found is not None
    assert in_order(found) == in_order(with_care(data))


@pytest.mark.parametrize("seed", range(20))
def test_a_damaged_file_is_read_alike_or_left_to_the_careful_reader(seed):
    """Thirty lines of an example, damaged at a few places."""
    rng = random.Random(seed)  # noqa: S311 - no secret
    taken = 0
    for _ in range(600):
        lines = rng.choice(EXAMPLES).read_text(encoding="utf-8").splitlines(keepends=True)
        begin = rng.randrange(len(lines) - 12)
        text = "".join(lines[begin : begin + 12])
        for _ in range(rng.randrange(3)):
            at = rng.randrange(len(text))
            cut = at if rng.random() < 0.6 else at + rng.randrange(1, 5)
            text = text[:at] + (rng.choice(BITS) if cut == at else "") + text[cut:]
        found = read_plain(text.encode())
        if found is not None:
            taken += 1
            assert in_order(found) == in_order(with_care(text.encode())), text
    assert taken > 3


@pytest.mark.parametrize(
    "text",
    ["a: b: c\n", "a:\n", "a: yes\n", "a: b\n  c: d\n", "a:\n- b\n", "a: b\n c\n", "a: {b: c}\n",
     "a: b\na: c\n", " a: b\n", "a:\n    b: c\n  d: e\n", "a:#b\n", "unknown: b\n", "a: ~\n",
     "a : b\n", "a: |\n  b\n", "# nothing\n", "", "a: b\n...\n", "a: b\n---\n", "\tb: c\n",
     "a: 'it''s'\n", "a: ''\n  b: c\n", "2nd: b\n", "a/b: c\n", f"{'a' * 81}: b\n"],
)  # fmt: skip
def test_what_is_odd_is_left_to_the_careful_reader(text):
    """Be it wrong or only rare."""
    assert read_plain(text.encode()) is None


@pytest.mark.parametrize(
    ("text", "tree"),
    [
        ("a: b # c\nd: e#f\n", None),
        ("a: b # c\n", {"a": "b"}),
        ("a: '# b: c'  # d\n", {"a": "# b: c"}),
        ("a: -5 °C\n\n  # x\nb:   # y\n  c: d  \n", {"a": "-5 °C", "b": {"c": "d"}}),
    ],
)
def test_remarks_and_blanks_are_left_out(text, tree):
    """A sign in the midst of a word begins no remark, and is left to the careful reader."""
    assert read_plain(text.encode()) == tree


@pytest.mark.parametrize("file", JOBS, ids=lambda f: f.name)
def test_both_ways_give_the_same_job(file):
    """With every figure, spread, path and the same hash."""
    quick, careful = read_quickly(str(file)), _read_with_care(str(file))

    assert quick is not None
    assert quick == careful
    assert repr(quick) == repr(careful)
    assert quick.input_hash == careful.input_hash
    assert [c.path for c in quick.circuits.values()] == [c.path for c in careful.circuits.values()]
    assert repr(quick.inverter) == repr(careful.inverter)


def test_a_file_with_a_mistake_goes_the_careful_way(tmp_path):
    """A circuit on a board that is not there, each of whose fields is right by itself."""
    source = JOBS[0]
    for file in source.parent.glob("*.yaml"):
        text = file.read_text(encoding="utf-8").replace("    board: ", "    board: no such ", 1)
        (tmp_path / file.name).write_text(text, encoding="utf-8")

    assert read_quickly(str(tmp_path / source.name)) is None
    with pytest.raises(BadJob, match="which is no board of this job"):
        read_job(tmp_path / source.name)


def test_a_group_where_a_word_belongs_goes_the_careful_way(tmp_path):
    """A sheet whose kind is a group of keys is refused in words by the careful reader."""
    source = JOBS[0]
    for file in source.parent.glob("*.yaml"):
        text = file.read_text(encoding="utf-8")
        spoilt = text.replace("  kind: islanding switch\n", "  kind:\n    at: house\n", 1)
        (tmp_path / file.name).write_text(spoilt, encoding="utf-8")

    assert read_quickly(str(tmp_path / source.name)) is None
    with pytest.raises(BadJob, match="nothing was read"):
        read_job(tmp_path / source.name)
