"""The modules of the command line import each other one way only."""

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import islewright.cli

FOLDER = Path(islewright.cli.__file__).parent


def imports(path: Path) -> set[str]:
    """Other modules of the command line that a module imports, wherever in it that stands."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("islewright.cli"):
            own = node.module.removeprefix("islewright.cli").lstrip(".")
            found |= {own} if own else {alias.name for alias in node.names}
    return found - {path.stem}


def test_no_module_of_the_command_line_imports_one_that_imports_it():
    """An order of all modules exists; a circle would raise and name it."""
    graph = {path.stem: imports(path) for path in FOLDER.glob("*.py") if path.stem != "__init__"}
    order = list(TopologicalSorter(graph).static_order())

    assert order.index("missing") < order.index("state_view") < order.index("state")
    assert order.index("fault_view") < order.index("state")
