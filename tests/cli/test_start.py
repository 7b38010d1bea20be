"""A job from nothing: a few answers, a file that reads, questions for the rest."""

import pytest

from islewright import Status, read_job, study


def test_a_new_job_reads_and_nothing_in_it_is_met_by_silence(run, tmp_path):
    """Answers by return key alone give a job whose every finding waits for a fact."""
    path = tmp_path / "house.yaml"
    done = run("start", path, input="Test house\n" + "\n" * 8)

    assert done.exit_code == 0
    assert (tmp_path / "equipment.yaml").exists()
    result = study(read_job(path))
    assert result.job.head.name == "Test house"
    assert result.findings
    assert result.counts[Status.MET] == 0
    checked = run("check", path)
    assert checked.exit_code == 1
    assert "questions are open" in checked.output
    last = checked.output.rpartition("Not covered")[2]
    assert "questions are open" in last  # where the eye is when the screen has scrolled


def test_an_answer_that_no_file_can_hold_is_asked_again(run, tmp_path):
    """A slip costs the one answer, not all that were given before and after it."""
    path = tmp_path / "house.yaml"
    typed = ["House", "tomorrow", "2026-03-02", "gb", "", "tt", "230", "230 V", "50", "50 Hz",
             "unknown", "porch", "spare"]  # fmt: skip
    done = run("start", path, input="\n".join(typed) + "\n")

    assert done.exit_code == 0, done.output
    for told in ("a date as year-month-day", "write a voltage", "write a frequency"):
        assert told in done.output
    job = read_job(path)
    assert (job.head.date, job.head.profile) == ("2026-03-02", "GB")
    assert list(job.boards) == ["porch", "spare"]


def test_every_rule_set_of_the_program_can_be_chosen():
    """Whoever adds a rule set adds it to the question."""
    from islewright.cli.start import RULE_SETS
    from islewright.tables.profile import profile_names

    assert set(RULE_SETS) == set(profile_names())


@pytest.mark.parametrize("form", ["one phase", "three phases", "split phase"])
@pytest.mark.parametrize("earthing", ["TN-C-S", "TN-S", "TT", "IT", "unknown"])
def test_every_answer_can_be_an_option(run, tmp_path, form, earthing):
    """With all options nothing is asked, and the file reads."""
    path = tmp_path / "house.yaml"
    done = run(
        "start", path, "--name", "Test house", "--date", "2026-03-02", "--profile", "GB",
        "--form", form, "--earthing", earthing, "--voltage", "230 V", "--frequency", "50 Hz",
        "--main-board", "porch board", "--backed-up-board", "essential board", input="",
    )  # fmt: skip

    assert done.exit_code == 0, done.output
    job = read_job(path)
    assert job.supply.form == form
    assert job.head.profile == "GB"
    assert list(job.boards) == ["porch board", "essential board"]


@pytest.mark.parametrize("there", ["house.yaml", "equipment.yaml"])
def test_a_file_that_is_there_is_left_alone(run, tmp_path, there):
    """Neither file is touched, and nothing is asked first."""
    (tmp_path / there).write_text("mine", encoding="utf-8")
    done = run("start", tmp_path / "house.yaml", input="")

    assert done.exit_code == 2
    assert "is there already; nothing was written" in " ".join(done.stderr.split())
    assert [file.name for file in tmp_path.iterdir()] == [there]
    assert (tmp_path / there).read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("option", "value", "told"),
    [
        ("--date", "tomorrow", "date"),
        ("--voltage", "230", "write a voltage"),
        ("--main-board", "unknown", "board"),
        ("--form", "two phases", "one phase"),
    ],
)
def test_an_answer_that_no_file_can_hold_is_refused(run, tmp_path, option, value, told):
    """A bad answer is told with what is allowed, and no file is written."""
    answers = {
        "--name": "x", "--date": "2026-03-02", "--profile": "IEC base", "--form": "one phase",
        "--earthing": "TT", "--voltage": "230 V", "--frequency": "50 Hz", "--main-board": "a",
        "--backed-up-board": "b",
    }  # fmt: skip
    words = [word for pair in {**answers, option: value}.items() for word in pair]
    done = run("start", tmp_path / "house.yaml", *words)

    assert done.exit_code == 2
    assert told in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_new_job_says_what_a_state_waits_for(run, tmp_path):
    """Where too little is stated for a network, the question stands there instead of figures."""
    path = tmp_path / "house.yaml"
    run("start", path, input="Test house\n" + "\n" * 8)
    for words in (["state", path], ["state", path, "island"], ["race", path]):
        done = run(*words)
        assert "system earthing" in done.output
        assert " V" not in done.output.replace(" V?", "")


def test_somebody_who_stops_halfway_has_written_nothing(run, tmp_path):
    """The end of input while it asks ends with 130 and leaves the folder empty."""
    done = run("start", tmp_path / "house.yaml", input="")

    assert done.exit_code == 130
    assert list(tmp_path.iterdir()) == []
