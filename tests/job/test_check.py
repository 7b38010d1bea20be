"""What must agree between fields: names, places, lines, PEN, rings, sizes."""

from itertools import pairwise

import pytest

from islewright.job import read_job
from islewright.job.ways import Way, live_rings, reached
from tests.job.sample import changed, equipment_text, job_text, marks, problems_of, write

SECOND_TAILS = (
    "  grid side:\n",
    "  «second tails: {from: supply, to: main board, cores: L1 N}\n  grid side:\n",
)

# changes with one mark, path, found, what is said
CASES = {
    "a circuit named as a cable": (
        [("  cooker:", "  «tails:")], "circuits.tails", "tails", "among the cables already"),
    "a board named as a fixed place": (
        [("  main board: {at: hall, busbar: 80 A}",
          "  main board: {at: hall, busbar: 80 A}\n  «inverter: {at: hall}")],
        "boards.inverter", "inverter", "a fixed place of every job"),
    "a cable to nowhere": (
        [("to: inverter\n", "to: «invertor\n")], "cables.inverter cable.to", "invertor",
        "which is no place of this job; nearest is `inverter`"),
    "a cable from nowhere": (
        [("from: islanding switch/house", "from: «islanding switch")],
        "cables.house side.from", "islanding switch", "nearest is `islanding switch/"),
    "a cable to itself": (
        [("to: inverter\n", "to: «islanding switch/house\n")], "cables.inverter cable.to",
        "islanding switch/house", "ends elsewhere than it begins"),
    "a device at the end of a cable that has none": (
        [("    size: 6 mm2\n  inverter cable", "    device at: «to\n  inverter cable")],
        "cables.house side.device at", "to", "the cable has no `device`"),
    "a circuit on no board": (
        [("board: main board\n", "board: «man board\n")], "circuits.cooker.board", "man board",
        "which is no board of this job; nearest is `main board`"),
    "a circuit behind no RCD": (
        [("behind: R1\n    device: B6", "behind: «R2\n    device: B6")],
        "circuits.lights.behind", "R2", "which is no RCD of backed-up board; nearest is `R1`"),
    "a circuit behind an RCD of another board": (
        [("board: main board\n", "board: main board\n    behind: «R1\n")],
        "circuits.cooker.behind", "R1", "which is no RCD of main board; there is none"),
    "a cable behind no RCD": (
        [("device: B32\n", "device: B32\n    behind: «R7\n")], "cables.grid side.behind", "R7",
        "which is no RCD of main board"),
    "a cable behind an RCD where no board is": (
        [("device: B25\n", "device: B25\n    behind: «R1\n")], "cables.inverter cable.behind",
        "R1", "only a cable that begins at a board"),
    "a line that the supply does not have": (
        [("lines: L1\n", "lines: «L2\n")], "circuits.cooker.lines", "L2",
        "but a supply of one phase has no L2; its lines are: L1"),
    "a core that the supply does not have": (
        [("cores: L1 N,", "cores: «L1 L2 N,")], "cables.tails.cores", "L1 L2 N", "has no L2"),
    "a main switch with a pole too many": (
        [("busbar: 80 A", "main switch: {poles: «L1 L3 N}")],
        "boards.main board.main switch.poles", "L1 L3 N", "has no L3"),
    "an inverter on a line that is not there": (
        [("model: battery inverter\n", "model: battery inverter\n    line: «L3\n")],
        "equipment.inverter.line", "L3", "has no L3"),
    "a circuit whose cable lacks its line": (
        [("lines: L1\n", "lines: L1\n    cores: «N PE\n")], "circuits.cooker.cores", "N PE",
        "the circuit is on L1, so its cable has that core"),
    "a neutral shared with no circuit": (
        [("lines: L1\n", "lines: L1\n    neutral with: «lihgts\n")],
        "circuits.cooker.neutral with", "lihgts", "nearest is `lights`"),
    "a neutral shared with itself": (
        [("lines: L1\n", "lines: L1\n    neutral with: «cooker\n")],
        "circuits.cooker.neutral with", "cooker", "which is no other circuit"),
    "a neutral on no bar": (
        [("lines: L1\n", "lines: L1\n    neutral at: «attic\n")], "circuits.cooker.neutral at",
        "attic", "which is no board or RCD of its board"),
    "a PEN where there is none": (
        [("cores: L1 N,", "cores: «L1 PEN,")], "cables.tails.cores", "L1 PEN",
        "a TT supply has no PEN"),
    "a circuit without a way back": (
        [("lines: L1\n", "lines: L1\n    cores: «L1 PE\n")],
        "circuits.cooker.cores", "L1 PE", "a current needs two live cores"),
    "a PEN that splits where there is none": (
        [("system earthing: TT", "system earthing: TT\n  PEN splits at: «main board")],
        "supply.PEN splits at", "main board", "in a TT supply no PEN comes in"),
    "a PEN in a final circuit": (
        [("system earthing: TT", "system earthing: TN-C-S"),
         ("lines: L1\n", "lines: L1\n    cores: «L1 PEN\n")],
        "circuits.cooker.cores", "L1 PEN", "a final circuit has N and PE"),
    "a PEN that splits nowhere": (
        [("system earthing: TT", "system earthing: TN-C-S\n  PEN splits at: «mein board"),
         ("cores: L1 N,", "cores: L1 PEN,")],
        "supply.PEN splits at", "mein board", "nearest is `main board`"),
    "a PEN behind its split": (
        [("system earthing: TT", "system earthing: TN-C-S\n  PEN splits at: main board"),
         ("cores: L1 N,", "cores: L1 PEN,"),
         ("to: backed-up board\n    cores: L1 N PE", "to: backed-up board\n    cores: «L1 PEN")],
        "cables.house side.cores", "L1 PEN", "behind main board, where the PEN splits"),
    "a PEN beside a neutral": (
        [("system earthing: TT", "system earthing: TN-C-S\n  PEN splits at: main board"),
         ("cores: L1 N,", "cores: «L1 N PEN,")],
        "cables.tails.cores", "L1 N PEN", "a cable has either PEN, or N and PE"),
    "a split that no PEN reaches": (
        [("system earthing: TT", "system earthing: TN-C-S\n  PEN splits at: «main board")],
        "supply.PEN splits at", "main board", "no cable with a PEN ends at main board"),
    "a second cable beside the first": (
        [SECOND_TAILS], "cables.second tails", "",
        "the live conductors of tails, second tails close a ring"),
    "a way round the islanding switch": (
        [("  inverter cable:",
          "  «way round: {from: main board, to: backed-up board, cores: L1}\n  inverter cable:")],
        "cables.way round", "", "the live conductors of"),
    "a board that nothing feeds": (
        [("  main board: {at: hall, busbar: 80 A}",
          "  main board: {at: hall, busbar: 80 A}\n  «shed: {at: shed}")],
        "boards.shed", "shed", "no cable leads here"),
    "a voltage that is none of a house": (
        [("nominal voltage: 230 V", "nominal voltage: «230 kV")], "supply.nominal voltage",
        "230 kV", "the most is 1000 V"),
    "the voltage between lines": (
        [("nominal voltage: 230 V", "nominal voltage: «400 V")], "supply.nominal voltage",
        "400 V", "from a line to neutral: 230 V where lines have 400 V between them"),
    "a rule set that is not there": (
        [("profile: IEC base", "profile: «IEC bas")], "job.profile", "IEC bas",
        "which is no rule set of this program; nearest is `IEC base`"),
    "a main fuse without figures": (
        [("main fuse: gG 63 A", "main fuse: «gG 35 A")], "supply.main fuse.rated current", "35 A",
        "nearest are 32 A and 40 A; where this one is there, write `main fuse: unknown`"),
    "a size that is not made": (
        [("size: 16 mm2", "size: «15 mm2")], "cables.tails.size", "15 mm2",
        "it is no listed size; nearest are 10 mm2 and 16 mm2"),
    "a bonding conductor that is not made": (
        [("water: {size: 10 mm2", "water: {size: «11 mm2")], "earthing.main bonding.water.size",
        "11 mm2", "it is no listed size; nearest are 10 mm2 and 16 mm2"),
    "a rating that is not made": (
        [("device: B6\n", "device: «B33\n")], "circuits.lights.device.rated current", "33 A",
        "it is no listed rating; nearest are 32 A and 40 A"),
    "a fuse that is not made, in the long form": (
        [("main fuse: gG 63 A", "main fuse: {curve: gG, rated current: «64 A}")],
        "supply.main fuse.rated current", "64 A", "nearest are 63 A and 80 A"),
    "a reading taken nowhere": (
        [("    at: main board\n", "    at: «shed\n")], "supply.measured.at", "shed",
        "which is no place of this job"),
    "an earthing terminal nowhere": (
        [("main earthing terminal: main board", "main earthing terminal: «cellar")],
        "earthing.main earthing terminal", "cellar", "which is no board of this job"),
    "a sensor on no cable": (
        [("{at: tails, points to: main board}", "{at: «tail, points to: main board}")],
        "equipment.inverter.current sensors.at", "tail", "nearest is `tails`"),
    "a sensor that points elsewhere": (
        [("{at: tails, points to: main board}", "{at: tails, points to: «inverter}")],
        "equipment.inverter.current sensors.points to", "inverter", "which is no end of tails"),
    "a model that no file describes": (
        [("model: battery inverter\n", "model: «batery inverter\n")], "equipment.inverter.model",
        "batery inverter", "nearest is `battery inverter`"),
    "a model of another kind": (
        [("model: battery inverter\n", "model: «two-pole enclosure\n")],
        "equipment.inverter.model", "two-pole enclosure", "its file calls it `islanding switch`"),
}  # fmt: skip


@pytest.mark.parametrize(("changes", "path", "found", "said"), CASES.values(), ids=CASES)
def test_what_does_not_agree_is_told_at_its_place(tmp_path, changes, path, found, said):
    """One problem, at the field that names what is not there."""
    text, ((line, column),) = marks(changed(job_text(), *changes))
    (problem,) = problems_of(tmp_path, text)

    assert (problem.line, problem.column) == (line, column)
    assert (problem.path, problem.found) == (path, found)
    assert said in str(problem)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("switched poles: L1 N", "switched poles: L1 L2 L3 N", "a supply of one phase has L1 N"),
        ("output: single-phase", "output: three-phase with neutral", "three phases, not one"),
    ],
)
def test_equipment_has_the_lines_of_the_supply(tmp_path, old, new, said):
    """It is told at the model in the job file, where another one can be chosen."""
    (problem,) = problems_of(tmp_path, job_text(), changed(equipment_text(), (old, new)))

    assert problem.path.startswith("equipment.")
    assert said in problem.allowed


def three_phase(*changes):
    """The sample house on a supply of three phases, of which all but the tails use L1 only."""
    return changed(
        job_text(),
        ("form: one phase", "form: three phases"),
        ("cores: L1 N,", "cores: L1 L2 L3 N,"),
        *changes,
    )


def test_a_circuit_lies_on_a_line_that_reaches_its_board(tmp_path):
    """The supply has L2, but nothing brings it to the backed-up board."""
    (sound,) = problems_of(tmp_path, three_phase(("profile: IEC base", "profile: other")))
    assert sound.path == "job.profile"

    changes = [("behind: R1\n    device: B6\n", "behind: R1\n    lines: L2\n    device: B6\n")]
    (problem,) = problems_of(tmp_path, three_phase(*changes))

    assert (problem.path, problem.found) == ("circuits.lights.lines", "L2")
    assert problem.why == "but no cable brings L2 to backed-up board"
    assert problem.allowed == "its lines are: L1"


def test_the_cable_of_an_inverter_has_the_line_it_works_on(tmp_path):
    """Else the island would stay dead, and every finding would speak of something else."""
    line = ("model: battery inverter\n", "model: battery inverter\n    line: L2\n")
    (problem,) = problems_of(tmp_path, three_phase(line))

    assert (problem.path, problem.found) == ("equipment.inverter.line", "L2")
    assert problem.allowed == "its cable, inverter cable, has L1"


def test_the_cable_of_a_three_phase_inverter_has_all_lines(tmp_path):
    """It is told at the cable, where a core was forgotten."""
    equipment = changed(
        equipment_text(), ("output: single-phase", "output: single units per phase")
    )
    (problem,) = problems_of(tmp_path, three_phase(), equipment)

    assert problem.path == "cables.inverter cable.cores"
    assert "so its cable has L1 L2 L3" in problem.allowed


def test_a_board_name_that_is_wrong_is_not_missed_as_well(tmp_path):
    """A part that could not be read is no reason to complain about those that name it."""
    job = changed(job_text(), ("    size: 4 mm2\n", "    size: 4 mm2\n    to: x\n"))
    job = changed(job, ("tails: {from: supply, ", "tails: {"))
    told = [(p.path, p.allowed) for p in problems_of(tmp_path, job)]

    assert [path for path, _ in told] == ["cables.tails", "cables.inverter cable.to"]


def test_a_pen_up_to_its_split_is_right(tmp_path):
    """TN-C-S as it should be written."""
    job = changed(
        job_text(),
        ("system earthing: TT", "system earthing: TN-C-S\n  PEN splits at: main board"),
        ("cores: L1 N,", "cores: L1 PEN,"),
    )

    assert read_job(write(tmp_path, job)).cables["tails"].cores == ("L1", "PEN")


def test_protective_conductors_may_mesh(tmp_path):
    """Only live conductors may close no ring."""
    second = "second earth: {from: main board, to: backed-up board, cores: PE}"
    job = changed(
        job_text(),
        ("  grid side:\n", f"  {second}\n  grid side:\n"),
    )

    assert "second earth" in read_job(write(tmp_path, job)).cables


def test_a_ring_final_circuit_needs_no_length(tmp_path):
    """Its two legs say more."""
    job = changed(
        job_text(),
        ("    length: 17 m\n", "    ring: {first leg: 30 m, second leg: 22 m}\n"),
    )

    assert read_job(write(tmp_path, job)).circuits["kitchen"].ring.second_leg_m == 22


def test_single_cores_side_by_side_close_no_ring():
    """Two cables between the same places, each with other conductors."""
    ways = [Way("line", ("a", "b"), ("L1",)), Way("neutral", ("a", "b"), ("N",))]

    assert list(live_rings(ways, ("L1", "N"))) == []
    assert list(live_rings([*ways, Way("third", ("b", "a"), ("PEN",))], ("L1", "N"))) == [
        ("neutral", "third")
    ]


def test_a_long_ring_names_each_of_its_cables_once():
    """The ring is told once, though three conductors close it."""
    ends = ["a", "b", "c", "d", "a"]
    ways = [Way(f"{x}{y}", (x, y), ("L1", "L2", "N")) for x, y in pairwise(ends)]
    (ring,) = live_rings([*ways, Way("spur", ("b", "e"), ("L1", "N"))], ("L1", "L2", "N"))

    assert sorted(ring) == ["ab", "bc", "cd", "da"]
    assert ring[-1] == "da"


def test_a_place_at_which_to_stop_is_reached_but_not_passed():
    """Upstream of a split is what lies before it, the split itself included."""
    ways = [Way("1", ("s", "a"), ("N",)), Way("2", ("a", "b"), ("N",))]

    assert reached(ways, ["s"]) == {"s", "a", "b"}
    assert reached(ways, ["s"], stop="a") == {"s", "a"}
