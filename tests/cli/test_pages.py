"""What the pages show is what the command does."""

import json
import re

import pytest

from islewright.job import job_schema


def test_the_finding_in_the_readme_is_printed_so(run, examples, root):
    """The example on the first page is this version's own output, but for line breaks."""
    readme = (root / "README.md").read_text(encoding="utf-8")
    (shown,) = re.findall(r"^```text\n(.*?)^```$", readme, re.MULTILINE | re.DOTALL)
    done = run("explain", examples["farmhouse"], "attic sockets", "--rule", "overload")

    assert " ".join(shown.split()) in " ".join(done.output.split())


def test_every_command_of_the_readme_is_there(run, root):
    """Each command in the table takes the words that stand there."""
    readme = (root / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"^\| `islewright (\w+)", readme, re.MULTILINE))

    commands = "start survey check explain state race findings drawings pack schema"

    assert named == set(commands.split())
    for name in named:
        done = run(name, "--help")
        assert done.exit_code == 0
        for option in re.findall(rf"`islewright {name}[^`]*?(--\w+)", readme):
            assert option in done.output


@pytest.mark.parametrize("option", [[], ["--equipment"]])
def test_the_schema_is_printed_whole(run, option):
    """What is printed is JSON, and that of a job is the library's."""
    printed = json.loads(run("schema", *option).output)

    assert printed["$schema"].startswith("https://json-schema.org/")
    assert (printed == job_schema()) is not bool(option)


def test_the_version_is_told(run):
    """`--version` names the program and its version."""
    assert re.fullmatch(r"islewright, version \d+\.\d+\.\d+\n", run("--version").output)
