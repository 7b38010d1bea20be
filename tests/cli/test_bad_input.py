"""What cannot be taken: words on standard error, exit code 2, no traceback."""

import json

import pytest

COMMANDS = [["check"], ["explain", "house"], ["state"], ["race"], ["pack", "--to", "never.pdf"]]

FILES = {
    "an empty file": b"",
    "a unit that is none": None,
    "bytes that are no UTF-8": b"job:\n  name: \xff\xfe\n",
    "a file larger than any job": b"# " + b"x" * 10_000_000,
    "a bomb of aliases": (
        b"a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\n"
        b"c: &c [*b,*b,*b,*b,*b,*b,*b,*b,*b]\nd: [*c,*c,*c,*c,*c,*c,*c,*c,*c]\n"
    ),
    "a key that stands twice": b"job:\n  name: a\n  name: b\n",
    "brackets left open": b"job: {name: [",
    "a list instead of keys": b"- job\n- supply\n",
    "letters that steer a terminal": b'job:\n  name: "\\u001b[2J"\n',
}

EDITS = {
    "a length without a unit": ("length: 14 m", "length: 14"),
    "a unit that nobody knows": ("length: 14 m", "length: 14 furlongs"),
    "a negative length": ("length: 14 m", "length: -14 m"),
    "a cable to nowhere": ("to: backed-up board", "to: back board"),
    "a phase that is not there": ("lines: L1\n", "lines: L2\n"),
    "a misspelt key": ("system earthing:", "system earting:"),
    "no read as false": ("neutral: switched", "neutral: no"),
    "a model that no file describes": ("model: battery inverter 5 kVA", "model: inverter X"),
    "a profile that is not there": ("profile: IEC base", "profile: lunar base"),
}


@pytest.mark.parametrize("name", [name for name, data in FILES.items() if data is not None])
def test_a_file_that_is_no_job_is_refused_in_words(run, tmp_path, name):
    """Whatever the file holds, its problems are printed and the exit code is 2."""
    path = tmp_path / "house.yaml"
    path.write_bytes(FILES[name])
    done = run("check", path)

    assert done.exit_code == 2
    assert done.stdout == ""
    assert "nothing was read." in done.stderr
    assert "\x1b" not in done.stderr


@pytest.mark.parametrize("name", EDITS)
def test_a_job_with_a_mistake_is_refused_with_its_place(run, examples, tmp_path, root, name):
    """A mistake in a good file is found, with file, line and column."""
    old, new = EDITS[name]
    text = (root / "examples/cottage/cottage.yaml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "house.yaml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    shelf = (root / "examples/cottage/equipment.yaml").read_text(encoding="utf-8")
    (tmp_path / "equipment.yaml").write_text(shelf, encoding="utf-8")
    done = run("check", path)

    assert done.exit_code == 2
    assert str(path) in done.stderr
    assert "nothing was read." in done.stderr


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
@pytest.mark.parametrize("what", ["nothing there", "a folder"])
def test_a_path_without_a_file_is_refused_by_every_command(run, tmp_path, words, what):
    """A missing file and a folder are told, whatever was asked."""
    command, *rest = words
    done = run(command, tmp_path if what == "a folder" else tmp_path / "no.yaml", *rest)

    assert done.exit_code == 2
    assert str(tmp_path) in done.stderr


def test_the_problems_come_in_json_too(run, tmp_path):
    """A program gets them with their places; a person still reads them on standard error."""
    path = tmp_path / "house.yaml"
    path.write_text("job: {nme: x}\n", encoding="utf-8")
    done = run("check", path, "--json")
    answer = json.loads(done.stdout)

    assert done.exit_code == 2
    assert set(answer) == {"form", "islewright", "problems"}
    assert answer["problems"]
    assert {tuple(problem) for problem in answer["problems"]} == {
        ("file", "line", "column", "path", "found", "allowed", "why")
    }
    assert "nothing was read." in done.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["explain", "JOB", "coker"], "nearest is `cooker`"),
        (["explain", "JOB", "living"], "nearest is `living room sockets`"),
        (["explain", "JOB", "cooker", "--rule", "shok"], "nearest is `shock`"),
        (["state", "JOB", "on the moon"], "3 island, on the battery"),
        (["state", "JOB", "island, "], "more than one state"),
        (["state", "JOB", "99"], "no state"),
        (["state", "JOB", "grid", "--place", "bord"], "no place in this state"),
        (["state", "JOB", "grid", "--fault", "coker"], "nearest is `cooker`"),
        (["state", "JOB", "grid", "--fault", "cooker", "--kind", "L7-PE"], "no fault at"),
        (["state", "JOB", "island", "--fault", "cooker"], "is dead in the state island"),
        (["state", "JOB", "island", "--fault", "tails"], "is dead in the state island"),
        (["state", "JOB", "outage", "--fault", "boiler"], "it is alive in: grid;"),
        (["state", "JOB", "public supply back", "--fault", "cooker"], "inverter does not feed"),
        (["state", "JOB", "--place", "main board"], "need a STATE"),
        (["pack", "JOB"], "--to"),
        (["findings", "JOB", "--to", "/nowhere/open.xlsx"], "no form goes by that ending"),
        (["chekc", "JOB"], "No such command"),
    ],
)
def test_a_question_about_what_is_not_there_names_what_is(run, examples, words, told):
    """A slip of the pen is answered with the nearest name, and exit code 2."""
    done = run(*(examples["cottage"] if word == "JOB" else word for word in words))

    assert done.exit_code == 2
    assert told in " ".join(done.stderr.split())


def test_our_own_defect_is_owned_in_a_sentence(examples, monkeypatch):
    """A crash ends with 3 and says that nothing may be relied on."""
    from click.testing import CliRunner

    from islewright.cli import main
    from islewright.rules.study import Study

    monkeypatch.setattr(Study, "counts", property(lambda _: 1 / 0))
    done = CliRunner().invoke(main, ["check", examples["cottage"]])

    assert done.exit_code == 3
    assert "defect of Islewright" in done.stderr
    assert "Traceback" not in done.output

    monkeypatch.setenv("ISLEWRIGHT_TRACE", "1")
    traced = CliRunner().invoke(main, ["check", examples["cottage"]])
    assert isinstance(traced.exception, ZeroDivisionError)


def test_a_full_disk_is_no_defect_of_ours(examples, monkeypatch):
    """What cannot be written is said so, with exit code 2."""
    import errno

    from click.testing import CliRunner

    from islewright.cli import main
    from islewright.rules.study import Study

    def full(_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Study, "counts", property(full))
    done = CliRunner().invoke(main, ["check", examples["cottage"]])

    assert done.exit_code == 2
    assert done.stderr == "What was printed could not be written: No space left on device\n"


def test_a_stop_outside_a_command_ends_as_a_stop(examples, monkeypatch):
    """Ctrl-C while the words of the command are still read is no finding (1) and no defect (3)."""
    from click.testing import CliRunner

    from islewright.cli import main
    from islewright.cli.command import Commands

    def stopped(*_words, **_rest):
        raise KeyboardInterrupt

    monkeypatch.setattr(Commands, "make_context", stopped)
    done = CliRunner().invoke(main, ["check", examples["cottage"]])

    assert done.exit_code == 130
    assert done.stderr.split() == ["Stopped."]
