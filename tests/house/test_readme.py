"""The first page keeps its word."""

import os
import re
import subprocess
import sys

import pytest

FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\(([^)#:]+)\)")
DEMO = "python3 run.py demo\n"
TEST = "python3 run.py test\n"


@pytest.fixture(scope="module")
def readme(root):
    return (root / "README.md").read_text(encoding="utf-8")


def test_two_commands_stand_right_below_the_first_paragraph(readme):
    """Heading, one paragraph, the demo alone in its block, the tests alone in theirs."""
    heading, job, demo, test, *_ = readme.split("\n\n")

    assert heading == "# Islewright"
    assert "```" not in job
    assert demo == f"```\n{DEMO}```"
    assert test == f"```\n{TEST}```"


def test_ci_runs_the_command_that_the_readme_gives(root):
    """CI and a newcomer type the same."""
    ci = (root / ".ci" / "run").read_text(encoding="utf-8")

    assert "\nexec python3 run.py ci" in ci
    assert os.access(root / ".ci" / "run", os.X_OK)


@pytest.mark.parametrize("page", ["README.md", "CONTRIBUTING.md", "CHANGELOG.md"])
def test_every_link_leads_to_a_file(page, root):
    """What a page points to is there."""
    links = LINK.findall((root / page).read_text(encoding="utf-8"))

    assert [link for link in links if not (root / link).exists()] == []


def test_the_python_example_runs_as_printed(readme, root, tmp_path):
    """Copied from the page and run in the clone, it prints findings and writes the pack."""
    (example,) = [code for language, code in FENCE.findall(readme) if language == "python"]
    pack = tmp_path / "pack.pdf"
    assert example.count('"out/farmhouse.pdf"') == 1
    done = subprocess.run(
        [sys.executable, "-c", example.replace('"out/farmhouse.pdf"', repr(str(pack)))],
        cwd=root,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )

    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) > 1
    assert pack.read_bytes().startswith(b"%PDF-")
