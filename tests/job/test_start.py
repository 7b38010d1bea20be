"""A new job file reads at once, asks for all that is missing, and guesses nothing."""

import re
from itertools import pairwise

import pytest

from islewright.job import Gap, read_job
from islewright.job.questions import open_gaps
from islewright.job.start import Answers, BadAnswer, new_job_text, write_new_job

FORMS = ["one phase", "three phases", "split phase"]
SYSTEMS = ["TN-C-S", "TN-S", "TT", "IT"]


def answers(**changes):
    given = {
        "name": "Mill house", "date": "2026-05-01", "form": "one phase", "system_earthing": "TT",
        "nominal_voltage": "230 V", "frequency": "50 Hz",
    }  # fmt: skip
    return Answers(**{**given, **changes})


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("system", SYSTEMS)
def test_a_new_file_reads_without_a_problem(tmp_path, form, system):
    """For every supply that can be answered."""
    path, _ = write_new_job(tmp_path / "new.yaml", answers(form=form, system_earthing=system))
    job = read_job(path)

    assert job.supply.form == form
    assert job.supply.system_earthing == system
    assert job.head.profile == "IEC base"
    assert ("PEN" in job.cables["tails"].cores) == (system == "TN-C-S")


def test_nothing_is_guessed(tmp_path):
    """What nobody answered is a gap, the equipment's facts too."""
    job = read_job(write_new_job(tmp_path / "new.yaml", answers())[0])
    gaps = {q.field for q in open_gaps(job)}

    assert job.switch.gap("switched_poles") is Gap.LEFT_OUT
    assert job.inverter.gap("output") is Gap.LEFT_OUT
    assert job.earthing.gap("in_island_mode") is Gap.UNKNOWN
    for room in (job.cables, job.circuits):
        for part in room.values():
            assert part.gap("length_m") is Gap.LEFT_OUT
    assert {"supply.measured", "circuits.first circuit.device", "cables.tails.size"} <= gaps


def test_every_gap_stands_in_the_file_with_its_question(tmp_path):
    """So that the survey can go through the file from top to bottom."""
    path, shelf = write_new_job(tmp_path / "new.yaml", answers())
    text = path.read_text(encoding="utf-8") + shelf.read_text(encoding="utf-8")
    shared = ("equipment.islanding switch.line", "equipment.islanding switch.settings",
              "equipment.islanding switch.current sensors")  # fmt: skip

    for question in open_gaps(read_job(path)):
        if question.field in shared or question.field == "earthing.in island mode":
            continue
        key = question.field.rpartition(".")[2] if "a.c." not in question.field else "a.c.-coupled"
        key = "smooth d.c. fault current" if "smooth" in question.field else key
        asked = re.escape(question.ask)
        assert re.search(rf"^ *# {re.escape(key)}.*:  # {asked}", text, re.MULTILINE), question


def test_a_choice_is_told_with_all_its_words():
    """`none` too, where the field takes it."""
    text = new_job_text(answers())

    assert re.search(
        r"# battery side:  .* One of: suitable for isolation, not suitable, none\.", text
    )
    assert re.search(r"# material:  .* One of: copper, aluminium\.", text)


def test_what_circuits_have_in_common_can_be_said_once(tmp_path):
    """The lines that show how become facts by taking their sign and blank away."""
    path, _ = write_new_job(tmp_path / "new.yaml", answers())
    text = path.read_text(encoding="utf-8")
    shared = re.search(r"(# same for all cables:\n(?:#   .*\n|# same .*\n)+)", text)
    assert shared is not None
    path.write_text(text.replace(shared[1], re.sub("(?m)^# ", "", shared[1])), encoding="utf-8")
    job = read_job(path)

    assert job.cables["tails"].material == job.circuits["first circuit"].material == "copper"


def all_unknown(text):
    """Every question of a new file answered with `unknown`, as the file tells how to."""
    text = text.replace("#   name of", "  name of").replace(":  # such as", ":")
    lines = [re.sub(r"^( *)# ( *[^:#]+:)  #.*", r"\1\2 unknown", x) for x in text.splitlines()]
    lines = [line for line in lines if line.lstrip()[:1] not in ("", "#")]
    depth = [len(line) - len(line.lstrip()) for line in lines]
    for i, (here, below) in enumerate(pairwise(depth)):
        if below > here:
            lines[i] = lines[i].removesuffix(" unknown")
    return "\n".join(lines) + "\n"


def test_every_question_becomes_a_fact_by_taking_its_sign_and_blank_away(tmp_path):
    """All at once, each left to be found out: the keys stand in their groups as they come."""
    path, shelf = write_new_job(tmp_path / "new.yaml", answers())
    for file in (path, shelf):
        file.write_text(all_unknown(file.read_text(encoding="utf-8")), encoding="utf-8")
    text = path.read_text(encoding="utf-8")
    for key in ("battery", "PV array"):  # of which only a model can be named
        text = re.sub(rf"  {key}:\n(    .*\n)+", f"  {key}: unknown\n", text)
    path.write_text(text, encoding="utf-8")
    job = read_job(path)

    assert job.supply.measured.gap("line_neutral_ohm") is Gap.UNKNOWN
    assert job.site.gap("wall") is Gap.UNKNOWN
    assert job.inverter.fault_current.gap("to_earth_a") is Gap.UNKNOWN
    assert job.cables["tails"].gap("device_at") is Gap.UNKNOWN


def test_a_comment_becomes_a_fact_by_taking_its_sign_away(tmp_path):
    """Indentation fits as it stands."""
    path, _ = write_new_job(tmp_path / "new.yaml", answers())
    text = path.read_text(encoding="utf-8")
    for key, value in (
        ("measured", ""),
        ("line-neutral loop", "0.3 ohm"),
        ("main fuse", "gG 63 A"),
    ):
        text = re.sub(rf"^( *)# ({key}):", rf"\1\2: {value}", text, count=1, flags=re.MULTILINE)
    path.write_text(text, encoding="utf-8")
    supply = read_job(path).supply

    assert supply.measured.line_neutral_ohm == 0.3
    assert supply.main_fuse.name == "gG 63 A"


@pytest.mark.parametrize(
    "name",
    ["no", "Mill: 'the old one' #2", "a: {b", '"quoted"', "- dash", "Haus Grüne Aue", "12",
     "none of it", "*star", "%x", "true", "with, comma", "[list]", "null",
     "back\\slash", "key: value"],
)  # fmt: skip
def test_a_name_comes_back_as_it_was_given(tmp_path, name):
    """Whatever it holds for YAML."""
    path, _ = write_new_job(tmp_path / "new.yaml", answers(name=name))

    assert read_job(path).head.name == name


def test_boards_may_have_their_own_names(tmp_path):
    """And are found by the cables."""
    given = answers(main_board="Board: 'cellar'", backed_up_board="yes, this one")
    job = read_job(write_new_job(tmp_path / "new.yaml", given)[0])

    assert list(job.boards) == ["Board: 'cellar'", "yes, this one"]
    assert job.cables["house side"].to == "yes, this one"


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"form": "two phases"}, 'form: found "two phases"'),
        ({"system_earthing": "TN"}, 'system_earthing: found "TN"'),
        ({"nominal_voltage": "230"}, 'nominal_voltage: found "230"; write a voltage'),
        ({"frequency": "fifty"}, 'frequency: found "fifty"'),
        ({"date": "1 May"}, "date as year-month-day"),
        ({"name": " "}, "name: found"),
        ({"name": "a\nb"}, "words that can be printed"),
        ({"name": "unknown"}, "words that can be printed"),
        ({"main_board": "backed-up board"}, "each has its own name"),
        ({"main_board": "supply"}, "not the name of another place"),
        ({"main_board": "1st board"}, "begins with a letter"),
        ({"backed_up_board": "a/b"}, "has no `/`"),
        ({"backed_up_board": "tails"}, "not the name of another place"),
    ],
)
def test_an_answer_that_no_file_can_hold_is_refused(changes, said):
    """Before anything is written."""
    with pytest.raises(BadAnswer, match=re.escape(said)):
        new_job_text(answers(**changes))


def test_nothing_is_written_over(tmp_path):
    """A survey is worth more than a new start."""
    write_new_job(tmp_path / "new.yaml", answers())
    with pytest.raises(FileExistsError, match=r"new\.yaml is there already; nothing was written"):
        write_new_job(tmp_path / "new.yaml", answers())
    with pytest.raises(FileExistsError, match=r"equipment\.yaml is there already"):
        write_new_job(tmp_path / "other.yaml", answers())

    assert not (tmp_path / "other.yaml").exists()


def test_a_bad_answer_writes_nothing(tmp_path):
    """Neither of the two files."""
    with pytest.raises(BadAnswer, match="date"):
        write_new_job(tmp_path / "new.yaml", answers(date="soon"))

    assert list(tmp_path.iterdir()) == []
