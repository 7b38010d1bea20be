"""Habits that can be seen in the files themselves."""

import ast
import doctest
import importlib
import re
from pathlib import Path

import pytest

import islewright

LEFTOVERS = {"common", "helpers", "misc", "util", "utils"}
# A reader has this repository and nothing of the machine that it was written on.
MACHINE_PATH = re.compile(r"(?<![\w.~/:$}-])/(?:home|mnt|opt|root|tmp|work|Users)/[\w.-]+")
UPWARDS = re.compile(r"(?<![\w./])((?:\.\./)+)[\w.-]+")
# Codes of a bibliography that is not here; breakers (B16, C32) and threads (M20) are trade words.
BARE_CODE = re.compile(r"\b[PQRS]\d{2}\b")


def lines_with(pattern: re.Pattern[str], texts: dict[Path, str]) -> list[str]:
    return [
        f"{path}:{number}: {line.strip()[:100]}"
        for path, text in texts.items()
        if path.suffix not in {".lock", ".svg"}
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]


def test_no_file_speaks_of_a_place_on_somebodys_machine(own_texts):
    """An absolute path of a developer's machine leads a reader nowhere."""
    assert lines_with(MACHINE_PATH, own_texts) == []


def test_no_path_leads_out_of_the_repository(own_texts):
    """A relative path climbs at most to the root."""
    climbing = {
        path: text
        for path, text in own_texts.items()
        if any(len(up) // 3 > len(path.parent.parts) for up in UPWARDS.findall(text))
    }
    assert list(climbing) == []


def test_a_source_is_named_and_no_bare_code(own_texts):
    """A source is written out, so that a reader without our notes can find it."""
    assert lines_with(BARE_CODE, own_texts) == []


def test_no_file_is_a_place_for_leftovers(own_texts):
    """A file is called after its subject."""
    assert [path for path in own_texts if path.stem in LEFTOVERS] == []


def cases_in(tree: ast.Module) -> list[ast.FunctionDef]:
    found = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    return [node for node in found if node.name.startswith("test_")]


def test_every_test_says_what_it_expects(own_texts):
    """A test has a docstring whose first line says the expected behaviour."""
    silent = [
        f"{path}:{node.lineno}: {node.name}"
        for path, text in own_texts.items()
        if path.suffix == ".py" and path.parts[0] == "tests"
        for node in cases_in(ast.parse(text))
        if not ast.get_docstring(node)
    ]
    assert silent == []


def modules() -> list[str]:
    """Name every module from its file; a broken one then fails its own test, not all."""
    package = Path(islewright.__file__).parent
    paths = [path.relative_to(package.parent) for path in sorted(package.rglob("*.py"))]
    return [".".join(path.with_suffix("").parts).removesuffix(".__init__") for path in paths]


@pytest.mark.parametrize("name", modules())
def test_every_example_in_a_docstring_holds(name):
    """What a docstring shows is what one gets."""
    outcome = doctest.testmod(importlib.import_module(name))

    assert outcome.failed == 0
