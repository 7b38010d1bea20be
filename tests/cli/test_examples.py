"""Every command on every example: exit code, width, letters."""

import os
import subprocess
import sys

import pytest

from islewright import Status, read_job, study
from islewright.cli.verdict import exit_code, headline
from islewright.papers.verdict import verdict
from tests.cli.conftest import EXAMPLES

#: what is typed after the job, and the exit code; None: that of the counts
COMMANDS = {
    "check": (["check"], None),
    "states": (["state"], 0),
    "grid": (["state", "grid"], 0),
    "island": (["state", "island"], 0),
    "outage": (["state", "outage, inverter off"], 0),
    "third state": (["state", "3"], 0),
    "a place": (["state", "island", "--place", "backed-up board"], 0),
    "a fault in grid mode": (["state", "grid", "--fault", "cooker"], 0),
    "a fault at the near end": (["state", "grid", "--fault", "cooker", "--end", "near"], 0),
    "a fault between line and neutral": (
        ["state", "island", "--fault", "house side", "--kind", "L1-N"], 0),
    "race": (["race"], 0),
    "explain": (["explain", "cooker"], 0),
    "explain the house": (["explain", "house", "--mode", "island"], 0),
    "explain a cable": (["explain", "house side"], 0),
}  # fmt: skip


@pytest.mark.parametrize("example", EXAMPLES)
@pytest.mark.parametrize("columns", [80, 100])
@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_answers_within_the_terminal(
    run, examples, example, columns, name, monkeypatch
):
    """The answer fits the terminal that it is printed on, and the exit code is as promised."""
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.chdir(examples[example].rpartition("/")[0])
    (command, *rest), code = COMMANDS[name]
    done = run(command, f"{example}.yaml", *rest)

    if code is None:
        code = exit_code(study(read_job(examples[example])).counts)
    assert done.exit_code == code
    assert len(done.output.splitlines()) > 4
    assert [line for line in done.output.splitlines() if len(line) > columns] == []


@pytest.mark.parametrize("example", EXAMPLES)
def test_the_printed_check_names_every_place_that_is_not_met(run, examples, example):
    """No finding against the house hides behind a count."""
    said = " ".join(run("check", examples[example]).output.split())
    result = study(read_job(examples[example]))

    assert headline(result.counts) in said
    for finding in result.findings:
        if finding.status is Status.NOT_MET:
            assert finding.place in said


@pytest.mark.parametrize(
    ("counts", "code"),
    [
        ({Status.MET: 3}, 0),
        ({Status.MET: 3, Status.NEAR: 1}, 1),
        ({Status.MET: 3, Status.UNDECIDED: 1}, 1),
        ({Status.MET: 3, Status.NOT_MET: 1}, 1),
        ({Status.MET: 0}, 1),
        ({}, 1),
    ],
)
def test_only_a_house_whose_every_finding_is_met_ends_with_nought(counts, code):
    """Near, undecided and not met end with 1, and so does a house of which nothing is said."""
    assert exit_code(counts) == code


@pytest.mark.parametrize("against", [None, *Status])
def test_the_screen_and_the_pack_give_the_same_verdict(against):
    """A page and a command never disagree."""
    counts = {Status.MET: 5} if against is None else {Status.MET: 5, against: 2}
    screen, paper = headline(counts), verdict(counts)[0]

    assert screen.replace("check goes", "pack goes") == paper


def test_the_pack_is_written_whatever_its_verdict(run, examples, tmp_path):
    """Exit code 0 once the file is there, though the house has mistakes."""
    target = tmp_path / "papers" / "farmhouse.pdf"
    done = run("pack", examples["farmhouse"], "--to", target)

    assert done.exit_code == 0
    assert str(target) in done.output
    assert target.read_bytes().startswith(b"%PDF-")


def test_a_pack_that_cannot_be_written_is_the_users_to_mend(run, examples, tmp_path):
    """A folder in the way is said in words, with exit code 2."""
    done = run("pack", examples["cottage"], "--to", tmp_path)

    assert done.exit_code == 2
    assert "cannot be written" in done.stderr


@pytest.mark.parametrize("words", [["check"], ["state", "island"], ["race"], ["explain", "cooker"]])
def test_an_ascii_terminal_can_print_every_answer(examples, words):
    """Ω and ≤ become words on a terminal that has no such letters."""
    command, *rest = words
    done = subprocess.run(
        [sys.executable, "-c", "from islewright.cli import main; main()",
         command, examples["farmhouse"], *rest],
        capture_output=True, check=False, text=True, encoding="ascii",
        env={"PYTHONIOENCODING": "ascii", "LC_ALL": "C", "COLUMNS": "100",
             "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip

    assert done.returncode in {0, 1}, done.stderr
    assert done.stderr == ""
    assert max(map(len, done.stdout.splitlines())) <= 100
    assert {"check": "<= ", "state": "island", "race": "by 40 ms", "explain": "<= "}[command] in (
        done.stdout
    )


def test_a_reader_who_leaves_early_is_not_scolded(examples):
    """`islewright check ... | head -1` ends without a complaint."""
    line = (
        f'"{sys.executable}" -c "from islewright.cli import main; main()" state '
        + examples["farmhouse"]
    )
    done = subprocess.run(
        ["sh", "-c", f"{line} island | head -1"], capture_output=True, text=True, check=False
    )

    assert done.stdout.startswith("island, on the battery")
    assert done.stderr == ""
