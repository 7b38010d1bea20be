"""Run the command as a user does, in this process."""

import json

import pytest
from click.testing import CliRunner

from islewright.cli import main

EXAMPLES = ("farmhouse", "cottage", "terrace", "flat", "workshop", "cabin", "bungalow")


@pytest.fixture(scope="session")
def examples(root):
    return {name: str(root / "examples" / name / f"{name}.yaml") for name in EXAMPLES}


@pytest.fixture(scope="session")
def root():
    from pathlib import Path

    return Path(__file__).resolve().parents[2]


@pytest.fixture
def run(monkeypatch):
    """Give a function that runs the command; a traceback of ours fails the test that met it."""
    monkeypatch.setenv("COLUMNS", "100")

    def run(*words, **how):
        done = CliRunner().invoke(main, [str(word) for word in words], **how)
        assert "Traceback" not in done.output
        assert "defect of Islewright" not in done.output
        return done

    return run


@pytest.fixture
def ask(run):
    """Give a function that runs a command with `--json` and reads the answer."""

    def ask(*words):
        done = run(*words, "--json")
        assert done.exit_code in {0, 1}, done.output
        assert done.stdout.isascii()
        return json.loads(done.stdout)

    return ask
