"""YAML that is refused: what else a file could hold, and the place where it stands."""

import pytest

from islewright.job.problem import Problem
from islewright.job.tree import MOST_PROBLEMS, read_tree
from tests.job.sample import changed, job_text, marks, problems_of


def refused(text):
    """Problems of a small file, as (line, column, path, found, allowed)."""
    problems: list[Problem] = []
    read_tree(text if isinstance(text, bytes) else text.encode(), "a.yaml", problems)
    return [(p.line, p.column, p.path, p.found, p.allowed) for p in problems]


CASES = {
    "a word that reads as false": (
        "job:\n  name: «no\n", "job.name", "no", "reads as true or false"),
    "a word that reads as true": (
        "job:\n  note: «On\n", "job.note", "On", "such as `none` for what is not there"),
    "a name that reads as true": (
        "boards:\n  «yes: {at: hall}\n", "boards.yes", "yes", "choose another name"),
    "nothing": (
        "job:\n  name:«\n", "job.name", "nothing", "write `unknown` or `none`, or leave"),
    "null": ("job: {name: «~}\n", "job.name", "~", "write `unknown` or `none`, or leave"),
    "an empty group": ("supply: «{}\n", "supply", "", "write `none` where there is nothing"),
    "an empty list": ("job: {equipment file: «[]}\n", "job.equipment file", "", "an empty group"),
    "an anchor": ("job: {name: «&a Mill}\n", "job.name", "&a", "an anchor is not admitted"),
    "a tag": ("job: {name: «!!str Mill}\n", "job.name", "tag:yaml.org,2002:str", "a tag is not"),
    "a merge key": ("job:\n  «<<: {name: Mill}\n", "job.<<", "<<", "a merge key is not admitted"),
    "a key twice": (
        "job: {name: Mill}\nsupply:\n  form: one phase\n«job: {name: Other}\n",
        "job", "job", "the key stands in line 1 already"),
    "a decimal comma": (
        "cables: {tails: {length: «24,5 m, size: 2.5 mm2}}\n",
        "cables.tails.length", "24,5 m", 'a figure has a decimal point; write "24.5 m"'),
    "a name that begins with a digit": (
        "boards:\n  «2nd board: {at: hall}\n", "boards.2nd board", "2nd board", "with a letter"),
    "a name that stands for a gap": (
        "boards:\n  «unknown: {at: hall}\n", "boards.unknown", "unknown", "stands for a gap"),
    "a name with a stroke": ("boards:\n  «a/b: {at: hall}\n", "boards.a/b", "a/b", "none a `/`"),
    "a second document": ("job: {name: Mill}\n«---\na: b\n", "", "---", "one file holds one job"),
    "a directive": ("«%YAML 1.1\n---\njob: {name: Mill}\n", "", "%", "a directive is not admitted"),
    "a key of several": ("job:\n  ? «[a, b]\n  : c\n", "job", "", "a key must be one text"),
    "a list at the top": ("«- a\n- b\n", "", "", "the file must hold keys"),
    "an empty file": ("«", "", "", "the file must hold keys"),
    "a tab": ("job:\n«\tname: Mill\n", "", "", "a tab stands here; indent with blanks"),
    "two colons": ("job:\n  name: Mill«: one\n", "", "", "a second `:` on one line"),
    "an open bracket": (
        "job: {name: Mill\nsupply«: {form: one phase}\n", "", "", "a bracket is not closed"),
    "an open quotation mark": ('job: {name: "Mill}\n«', "", "", "a quotation mark or bracket"),
    "a wrong indentation": (
        "job:\n    name: Mill\n  «date: 2026-03-02\n", "", "", "check its indentation"),
    "a line that begins too far in": (
        "job:\n  name: Mill\n   «date: 2026-03-02\n", "", "",
        "begins further in than the one above"),
    "a line whose group was left out": (
        "supply:\n  form: one phase\n    «at: supply\n", "", "", "write the key above it"),
    "a sign that begins no text": ("job: {name: «@mill}\n", "", "", "put it in quotation marks"),
    "a text that is no sign": ('job: {name: «"\\0"}\n', "job.name", "\\0", "write words"),
    "a sign that cannot be printed": ("job: {name: M«\x07ill}\n", "", "\x07", "remove it"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "path", "found", "allowed"), CASES.values(), ids=CASES)
def test_each_is_refused_at_its_place(text, path, found, allowed):
    """One clear problem, at the line and column where it stands."""
    text, ((line, column),) = marks(text)
    problem, *others = refused(text)

    assert problem[:4] == (line, column, path, found)
    assert allowed in problem[4]
    assert others == []


def test_text_in_quotation_marks_is_text():
    """Only a plain word can be mistaken for another thing."""
    assert refused("job: {name: 'no', note: \"\", date: '~'}\n") == []


def test_what_is_not_utf_8_is_told_with_its_byte(tmp_path):
    """The place is counted in bytes, since nothing else can be."""
    raw = job_text().encode()
    at = raw.index(b"Ferry cottage")
    broken = raw[:at] + b"F\xe4hre" + raw[at + 5 :]
    (problem,) = problems_of(tmp_path, broken)

    assert (problem.line, problem.column) == (3, 10)
    assert problem.found == "byte 0xe4"
    assert problem.why == f"byte {at + 2} of the file, which is not UTF-8"


def test_a_bomb_of_aliases_goes_off_nowhere():
    """Nine levels of nine aliases would be four hundred million texts; none is made."""
    levels = ["a0: &a0 [x, x]"]
    levels += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 10)]
    problems = refused("\n".join(levels))

    assert problems[0][:4] == (1, 5, "a0", "&a0")
    assert (2, 10, "a1[1]", "*a0") in [p[:4] for p in problems]
    assert len(problems) == 10 + 81


def test_depth_is_bounded():
    """A file of brackets alone is left at the first that lies too deep."""
    (problem,) = refused("a: " + "[" * 100 + "]" * 100)

    assert problem[:2] == (1, 19)
    assert problem[4] == "nothing lies deeper than 16 groups of keys"
    assert len(refused("a: " + "[" * 400_000)) == 1


def test_the_list_of_problems_is_bounded():
    """Nobody reads more; a hostile file cannot fill the memory with them."""
    assert len(refused("\n".join(f"k{n}: no" for n in range(1000)))) == MOST_PROBLEMS


def test_a_problem_of_the_file_is_told_once(tmp_path):
    """What was refused as YAML is not refused again by its field."""
    job = changed(job_text(), ("busbar: 80 A", "busbar: no"), ("size: 4 mm2", "size:"))

    assert [p.path for p in problems_of(tmp_path, job)] == [
        "boards.main board.busbar",
        "cables.inverter cable.size",
    ]


def test_the_slower_parser_says_the_same(monkeypatch):
    """Where the YAML library came without its part in C, reading works all the same."""
    import yaml

    monkeypatch.delattr(yaml, "CLoader")
    for text, path, found, allowed in CASES.values():
        plain, ((line, _),) = marks(text)
        (problem,) = refused(plain)
        assert problem[2:4] == (path, found)
        assert problem[0] == line or not path
        assert allowed in problem[4] or not path
