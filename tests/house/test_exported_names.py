"""The names that other programs may use."""

import ast
import importlib
import pkgutil

import pytest

import islewright

PROMISED = {
    "BadJob": "islewright.job",
    "Finding": "islewright.findings",
    "Mode": "islewright.network",
    "State": "islewright.network",
    "Status": "islewright.findings",
    "Unknown": "islewright.job",
    "job_schema": "islewright.job",
    "read_job": "islewright.job",
    "study": "islewright.rules",
    "write_pack": "islewright.papers",
}


def test_the_exported_names_are_these_and_no_others():
    """A name added or lost is a change that users see, so it must be made here too."""
    assert islewright.__all__ == sorted(PROMISED)
    assert set(PROMISED) <= set(dir(islewright))


@pytest.mark.parametrize("name", sorted(PROMISED))
def test_an_exported_name_is_its_rooms_own(name):
    """Each name is the very object that its room gives, documented there."""
    found = getattr(islewright, name)

    assert found is getattr(importlib.import_module(PROMISED[name]), name)
    assert found.__doc__


def test_a_name_that_is_not_there_is_answered_with_those_that_are():
    """A typing error names what there is."""
    with pytest.raises(AttributeError, match=r"has no 'read_jop'.*read_job"):
        _ = islewright.read_jop


def rooms() -> list[str]:
    return [found.name for found in pkgutil.iter_modules(islewright.__path__) if found.ispkg]


@pytest.mark.parametrize("room", rooms())
def test_a_rooms_front_door_says_what_belongs_there_and_holds_no_work(room, root):
    """An `__init__` has a docstring and the names it gives, nothing else."""
    source = (root / "src" / "islewright" / room / "__init__.py").read_text(encoding="utf-8")
    tree = ast.parse(source)

    assert ast.get_docstring(tree)
    working = [node.name for node in tree.body if isinstance(node, ast.ClassDef)]
    working += [
        node.name
        for node in tree.body
        if isinstance(node, ast.FunctionDef) and node.name not in {"__getattr__", "__dir__"}
    ]
    assert working == []
