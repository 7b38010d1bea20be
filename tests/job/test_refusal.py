"""Fields that hold what they cannot: what is said, and at which line and column."""

import pytest

from islewright.job import BadJob, Problem, read_job
from tests.job.sample import changed, equipment_text, job_text, marks, problems_of, write

# old text, new text with a mark at the place, path, found, what is said
FIELDS = {
    "a figure without a unit": (
        "length: 24 m", "length: «18", "circuits.lights.length", "18",
        'which has no unit; write a length, such as "18 m"'),
    "an unknown unit": (
        "length: 24 m", "length: «18 yards", "circuits.lights.length", "18 yards",
        'which has the unit "yards"; allowed are m, cm, mm and km'),
    "a negative length": (
        "length: 24 m", "length: «-24 m", "circuits.lights.length", "-24 m", "the least is 0 m"),
    "a current of nothing": (
        "busbar: 80 A", "busbar: «0 A", "boards.main board.busbar", "0 A", "more than 0 A"),
    "a figure that is not finite": (
        "size: 1.5 mm2", "size: «1e999 mm2", "circuits.lights.size", "1e999 mm2",
        "which is not a finite number"),
    "a decimal comma in block form": (
        "size: 1.5 mm2", "size: «1,5 mm2", "circuits.lights.size", "1,5 mm2",
        'has a decimal comma; write "1.5 mm2"'),
    "words where a figure stands": (
        "length: 24 m", "length: «about ten", "circuits.lights.length", "about ten",
        "does not begin with a number"),
    "a group where a figure stands": (
        "length: 24 m", "length: «{leg: 3 m}", "circuits.lights.length", "a group of keys",
        'one figure with its unit, such as "18 m"'),
    "a group where one of a few words or nothing stands": (
        "supply:\n", "isolation: {inverter output: «{means: switch}}\nsupply:\n",
        "isolation.inverter output", "a group of keys", "one of: suitable for isolation"),
    "a word that is none of the listed": (
        "method: C\n", "method: «H\n", "circuits.lights.method", "H",
        "one of: A1, A2, B1, B2, C, D1, D2, E, F, G"),
    "a listed word misspelt": (
        "form: one phase", "form: «one phaze", "supply.form", "one phaze",
        "one of: one phase, three phases, split phase"),
    "yes to a question that takes other words": (
        "  system earthing: TT\n", "  system earthing: TT\n  confirmed by operator: «yes\n",
        "supply.confirmed by operator", "yes", "one of: confirmed, not confirmed"),
    "lines with commas": (
        "lines: L1\n", "lines: «L1, L2\n", "circuits.cooker.lines", "L1, L2",
        "conductors with a blank between them, such as L1 L2 L3"),
    "a misspelt key": (
        "behind: R1\n    device: B6", "behnid«: R1\n    device: B6".replace("behnid«", "«behnid"),
        "circuits.lights.behnid", "behnid", "which is no key here; nearest is `behind`"),
    "a key like no other": (
        "at: hall, busbar: 80 A", "«weather: fine, busbar: 80 A", "boards.main board.weather",
        "weather", "allowed are `at`, `busbar`, `demand factor`"),
    "a device that is none": (
        "device: B6\n", "device: «Z6\n", "circuits.lights.device", "Z6", "a device such as B16"),
    "a device whose figure is none": (
        "device: B6\n", "device: «B6.0.1\n", "circuits.lights.device.rated current", "6.0.1 A",
        'which has the unit ".1 A"'),
    "a conductor that is none": (
        "cores: L1 N,", "cores: «L1 L4,", "cables.tails.cores", "L1 L4",
        "conductors with a blank between them"),
    "a date that is none": (
        "date: 2026-03-02", "date: «2026-02-30", "job.date", "2026-02-30", "year-month-day"),
    "text where keys stand": (
        '  electrode: {resistance: 23.8 ohm, measured by: "three-pole, lifted, wet soil"}',
        "  electrode: «a rod", "earthing.electrode", "a rod",
        "here stands a group of keys, such as `resistance`"),
    "text where names stand": (
        "loads: {lamps: 220 W}", "loads: «220 W", "circuits.lights.loads", "220 W",
        "here stand names, each with its own keys"),
    "a list where names stand": (
        "loads: {lamps: 220 W}", "loads: «[220 W]", "circuits.lights.loads", "a list",
        "here stand names, each with its own keys"),
    "a word that is none of a choice with `none`": (
        "boards:\n", "isolation: {battery side: «perhaps}\n\nboards:\n", "isolation.battery side",
        "perhaps", "one of: suitable for isolation, not suitable, none"),
    "`none` for what is always there": (
        "length: 24 m", "length: «none", "circuits.lights.length", "none",
        "it is always there; state it, or write `unknown`"),
    "`unknown` for what must be stated": (
        "form: one phase", "form: «unknown", "supply.form", "unknown", "it must be stated"),
    "a power factor above one": (
        "{power: 120 W, starts at: 6 x}", "{power: 120 W, power factor: «1.2}",
        "circuits.kitchen.loads.fridge.power factor", "1.2", "the most is 1"),
}  # fmt: skip


@pytest.mark.parametrize(("old", "new", "path", "found", "said"), FIELDS.values(), ids=FIELDS)
def test_a_field_is_refused_at_its_place(tmp_path, old, new, path, found, said):
    """One problem: place, path, what was found, what is allowed."""
    text, ((line, column),) = marks(changed(job_text(), (old, new)))
    (problem,) = problems_of(tmp_path, text)

    assert (problem.line, problem.column) == (line, column)
    assert (problem.path, problem.found) == (path, found)
    assert said in str(problem)


@pytest.mark.parametrize(
    ("old", "new", "path", "said"),
    [
        ("  lights:\n    board: backed-up board", "  «lights:", "circuits.lights", "`board`"),
        ("tails: {from: supply, ", "«tails: {", "cables.tails", "`from`"),
        ("  profile: IEC base\n", "", "job", "`profile`"),
    ],
)
def test_what_is_missing_is_named_at_the_group_it_belongs_to(tmp_path, old, new, path, said):
    """There is no place for what is not there, so its group stands for it."""
    text, places = marks(changed(job_text(), (old, new)))
    (problem,) = problems_of(tmp_path, text)

    assert (problem.line, problem.column) == (places or [(2, 1)])[0]
    assert problem.path == path
    assert problem.allowed == f"{said} must be stated"
    assert str(problem).endswith(f": {path}: {said} must be stated")


def test_all_problems_come_in_one_go_in_the_order_of_the_files(tmp_path):
    """Reading, fields and references together: nobody likes to be told bit by bit."""
    job, places = marks(
        changed(
            job_text(),
            ("nominal voltage: 230 V", "nominal voltage: «230"),
            ("busbar: 80 A", "busbar: «no"),
            ("method: B2", "methd: B2".replace("methd", "«methd")),
            ("to: backed-up board\n", "to: «backup board\n"),
            ("behind: R1\n    device: B6", "behind: «R9\n    device: B6"),
            ("length: 17 m", "length: «-17 m"),
        )
    )
    sheets, more = marks(
        changed(equipment_text(), ("limits: unknown", "limits: «each"), ("50 A", "«50 V"))
    )
    problems = problems_of(tmp_path, job, sheets)

    assert [(p.line, p.column) for p in problems] == [*places, *more]
    assert {p.file.rpartition("/")[2] for p in problems[:-2]} == {"cottage.yaml"}
    assert {p.file.rpartition("/")[2] for p in problems[-2:]} == {"invented.yaml"}
    assert problems[-1].path == "battery inverter.limits"


def test_what_is_wrong_for_all_is_told_once(tmp_path):
    """A mistake in the block for all cables is one mistake, not one for each cable."""
    text, ((line, column),) = marks(changed(job_text(), ("method: B2", "method: «H2")))
    (problem,) = problems_of(tmp_path, text)

    assert (problem.line, problem.column) == (line, column)
    assert problem.path == "same for all cables.method"


def test_the_message_reads_as_a_list_and_says_what_was_done(tmp_path):
    """What a person sees: one line each, then that nothing was read."""
    job = changed(job_text(), ("length: 24 m", "length: 18"), ("size: 16 mm2", "size: 16 mm"))
    path = write(tmp_path, job)
    with pytest.raises(BadJob, match="nothing was read") as caught:
        read_job(path)

    has_no_unit = 'which has no unit; write a length, such as "18 m"'

    assert str(caught.value).splitlines() == [
        f'{path}:40:60: cables.tails.size: found "16 mm", which has the unit "mm"; allowed is mm2',
        f'{path}:66:13: circuits.lights.length: found "18", {has_no_unit}',
        "2 problems; nothing was read.",
    ]


def test_a_message_moves_no_cursor():
    """Signs from a file that would steer a terminal are shown, not sent."""
    problem = Problem(
        file="a.yaml", line=1, column=1, path="job.name", found="\x1b[2J", allowed="words"
    )

    assert str(problem) == 'a.yaml:1:1: job.name: found "\\x1b[2J"; words'


def test_a_long_text_is_shown_short():
    """A message stays one line."""
    problem = Problem(file="a", line=1, column=1, path="job.name", found="x" * 5000, allowed="y")

    assert len(str(problem)) < 200


@pytest.mark.parametrize(
    ("old", "new", "path", "said"),
    [
        (
            "output: single-phase",
            "output: «no",
            "battery inverter.output",
            "one of: single-phase, ",
        ),
        ("kind: inverter", "kind: «invertor", "battery inverter.kind", "nearest is `inverter`"),
        ("  kind: inverter\n", "", "battery inverter", "`kind` must be stated, one of:"),
        ("rated power: 4 kVA", "rated power: «4 kV", "battery inverter.rated power", "VA and"),
        ("at: house", "«ad: house", "two-pole enclosure.neutral-earth bond.ad", "nearest is `at`"),
    ],
)
def test_a_sheet_is_refused_at_its_place(tmp_path, old, new, path, said):
    """Equipment files are held to the same, with their own file's name."""
    text = changed(equipment_text(), (old, new))
    text, places = marks(text)
    (problem,) = problems_of(tmp_path, job_text(), text)

    assert problem.file == str(tmp_path / "invented.yaml")
    assert (problem.line, problem.column) == (places or [(7, 1)])[0]
    assert problem.path == path
    assert said in problem.allowed


def test_a_model_is_described_once(tmp_path):
    """Two sheets of one name in two files: which one counts?"""
    (tmp_path / "more.yaml").write_text(equipment_text(), encoding="utf-8")
    job = changed(job_text(), ("file: invented.yaml", "file: [invented.yaml, more.yaml]"))
    problems = problems_of(tmp_path, job)

    assert [(p.line, p.column, p.path) for p in problems] == [
        (2, 1, "two-pole enclosure"),
        (7, 1, "battery inverter"),
    ]
    assert "invented.yaml describes it already" in problems[0].allowed


def test_a_file_is_named_once(tmp_path):
    """The same file twice is a slip of the hand."""
    text, ((line, column),) = marks(
        changed(job_text(), ("file: invented.yaml", "file: [invented.yaml, «invented.yaml]"))
    )
    (problem,) = problems_of(tmp_path, text)

    assert (problem.line, problem.column) == (line, column)
    assert problem.path == "job.equipment file[2]"
    assert problem.allowed == "the file is named twice"


def test_a_long_path_is_told_to_its_last_key():
    """Which is what the reader looks for in the file."""
    path = "two-pole box 40.neutral-earth bond.sequence.bond closes after poles open"
    told = str(
        Problem(file="e.yaml", line=3, column=1, path=path, found="x" * 99, allowed="a time")
    )

    assert f"{path}: found" in told
    assert "x" * 61 not in told
