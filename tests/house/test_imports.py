"""What loads when, and which room may know which."""

import subprocess
import sys
import tomllib

import pytest

HEAVY = {"numpy", "pydantic", "typst", "yaml", "ziafont"}

BARE = "import islewright"
HELP = """
import sys
from islewright.cli import main
sys.argv = ["islewright", "--help"]
try:
    main()
except SystemExit as end:
    assert not end.code, end.code
else:
    raise AssertionError("--help did not end the command")
"""


@pytest.mark.parametrize("doing", [BARE, HELP], ids=["import", "help"])
def test_nothing_heavy_loads_before_it_is_needed(doing):
    """A bare import and `--help` load none of the large libraries."""
    tell = "\nimport sys\nprint('LOADED', *sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", doing + tell], capture_output=True, encoding="utf-8", check=False
    )

    assert done.returncode == 0, done.stderr
    loaded = set(done.stdout.rpartition("LOADED")[2].split())
    assert "islewright" in loaded
    assert HEAVY & loaded == set()


def test_the_contract_between_rooms_lets_none_out(root):
    """Every room has its place in the contract, from units at the bottom to cli on top."""
    settings = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    (rooms,) = settings["tool"]["importlinter"]["contracts"]

    assert rooms["exhaustive"] is True
    assert "exhaustive_ignores" not in rooms
    assert "ignore_imports" not in rooms
    assert rooms["layers"] == [
        "cli", "papers", "drawing", "rules", "network", "job", "tables | findings",
        "units | collector",
    ]  # fmt: skip
