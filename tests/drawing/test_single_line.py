"""The single-line drawing: nothing meets, shape tells positions, the job tells the layout."""

from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from islewright.drawing import single_line, single_lines
from islewright.drawing.ink import PLUM
from islewright.drawing.single_line import HEIGHT, WIDTH, canvases
from islewright.findings import Question
from islewright.job import read_job
from islewright.job.gap import Gap as LeftOut
from islewright.job.gap import Unknown
from tests.drawing.geometry import collisions
from tests.drawing.houses import house, sheet

MODES = ("grid mode", "island mode")
EXAMPLES = sorted(folder.name for folder in Path("examples").iterdir())
SVG = "{http://www.w3.org/2000/svg}"
KINDS = {
    "three phases, TN-C-S": {},
    "one phase, TT": {"phases": 1, "system": "TT"},
    "split phase, system not known": {"phases": 2, "system": ""},
    "TN-S, bond on the grid side": {"system": "TN-S", "bond": "grid"},
    "one board": {"boards": 1},
    "three boards": {"boards": 3},
    "bond in the inverter, neutral through": {"bond": "inside", "neutral_pole": False},
    "bypass, no main switch": {"main_switch": False, "bypass": True},
    "no bond": {"bond": ""},
    "generator inlet": {"inlet": True},
}


def texts(svg):
    return [element.text for element in ET.fromstring(svg).iter(f"{SVG}text")]


def group(svg, ident):
    """The group with this id, as it is drawn."""
    return next(g for g in ET.fromstring(svg).iter(f"{SVG}g") if g.get("id") == ident)


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("circuits", [6, 12, 20, 40, 60, 130])
def test_nothing_on_a_sheet_meets(circuits, kind, mode):
    """No text meets a text, symbol or stroke, and none leaves the sheet, whatever the house."""
    job = house(circuits, **KINDS[kind])

    found = [c for canvas in canvases(job, sheet(job, mode)) for c in collisions(canvas)]

    assert found == []


@pytest.mark.parametrize("circuits", [6, 12, 20, 40, 60])
def test_a_house_on_two_boards_fits_one_sheet(circuits):
    """Up to 60 circuits on two boards take one A4 sheet."""
    job = house(circuits, main_switch=False)
    job.circuits = {f"circuit {n}": c for n, c in enumerate(job.circuits.values())}

    assert len(single_lines(job, sheet(job))) == 1


@pytest.mark.parametrize("circuits", [6, 40, 60, 130])
@pytest.mark.parametrize("boards", [1, 2, 3])
def test_every_circuit_stands_once_on_the_sheets(circuits, boards):
    """Splitting a board over columns and sheets neither loses nor doubles a row."""
    job = house(circuits, boards=boards)
    drawn = [
        g.find(f"{SVG}title").text
        for svg in single_lines(job, sheet(job))
        for g in ET.fromstring(svg).iter(f"{SVG}g")
        if g.get("id").startswith("circuit-")
        and g.get("id") != "circuit-breaker"
        and not g.get("id").startswith("circuit-breaker")
    ]

    assert sorted(drawn) == sorted(f"{n} {name}" for n, name in enumerate(job.circuits, 1))


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("mode", MODES)
def test_the_examples_are_drawn_without_a_collision(name, mode):
    """The houses that come with the program, with the other mode beside."""
    job = read_job(f"examples/{name}/{name}.yaml")
    other = sheet(job, MODES[mode == MODES[0]])

    found = [
        c for canvas in canvases(job, sheet(job, mode), beside=other) for c in collisions(canvas)
    ]

    assert found == []


def test_a_joint_letter_stands_at_both_ends():
    """A cable to a third board bears the same letter where it leaves and where it arrives."""
    job = house(41, boards=3, main_switch=False)

    letters = [t for svg in single_lines(job, sheet(job)) for t in texts(svg) if t == "A"]

    assert len(letters) == 2


def test_a_group_that_is_cut_bears_a_letter_at_both_ends():
    """A bus and the RCD group that go on in another column are joined by letters, no loose end."""
    job = house(130, boards=1)
    joints = [
        title.text.removeprefix("goes on at ")
        for svg in single_lines(job, sheet(job))
        for title in ET.fromstring(svg).iter(f"{SVG}title")
        if title.text.startswith("goes on at ")
    ]

    assert len(joints) >= 6
    assert all(joints.count(letter) == 2 for letter in joints)


def test_the_layout_hangs_on_the_job_alone():
    """Rows stand at the same place in every state, so that sheets can be laid over each other."""
    job = house(40)
    grid, island = (
        {t.text: (t.get("x"), t.get("y")) for t in ET.fromstring(svg).iter(f"{SVG}text")}
        for svg in (single_line(job, sheet(job, mode)) for mode in MODES)
    )

    assert {name: grid[name] for name in job.circuits if name in grid} == {
        name: island[name] for name in job.circuits if name in island
    }
    assert sum(name in grid for name in job.circuits) > 20


def test_an_open_pole_is_told_by_its_shape():
    """Open: a slanting blade and a gap; closed: one level line through, in the same place."""
    job = house(6)

    def pole(mode):
        lines = group(single_line(job, sheet(job, mode)), "islanding-switch").find(
            f"{SVG}g[{SVG}title='switch-disconnector']"
        )
        first = lines.find(f"{SVG}polyline").get("points").split()
        (x0, y0), (x1, y1) = (map(float, point.split(",")) for point in first)
        return x0, y0, x1, y1

    x0, y0, x1, y1 = pole("grid mode")
    assert y0 == y1
    assert (x0, x1) == (60, 70)
    x0, y0, x1, y1 = pole("island mode")
    assert y1 - y0 > 3
    assert x1 == 70


def test_alive_and_dead_are_told_by_weight():
    """Without any colour, lines that are alive are more than twice as wide as dead ones."""
    job = house(12)
    svg = single_line(job, sheet(job))

    def widths(ident):
        return {
            float(line.get("stroke-width")) for line in group(svg, ident).findall(f"{SVG}polyline")
        }

    assert min(widths("board-backed-up-board")) > 0  # the head's rule is thin
    assert 0.8 in widths("board-backed-up-board")
    assert 0.8 not in widths("board-main-board")


def test_plum_is_worn_by_nothing_on_a_dead_house():
    """Apart from the d.c. side, which cannot be made dead, and the legend."""
    job = house(12)
    dead = sheet(job)
    dead = type(dead)(
        **{f: getattr(dead, f) for f in dead.__slots__}
        | {"alive": dict.fromkeys(dead.alive, False)}
    )
    root = ET.fromstring(single_line(job, dead))
    plum = {
        g.get("id")
        for g in root.findall(f"{SVG}g")
        if any(e.get("stroke") == PLUM or e.get("fill") == PLUM for e in g.iter())
    }

    assert plum == {"inverter-side", "legend"}


def test_what_the_state_does_not_name_is_drawn_as_not_known():
    """A position or place that the sheet leaves out never looks closed, open, alive or dead."""
    job = house(6)
    full = sheet(job)
    empty = type(full)(
        **{f: getattr(full, f) for f in full.__slots__} | {"alive": {}, "closed": {}}
    )
    words = texts(single_line(job, empty))
    said = words[: words.index("line alive")] + words[words.index("open") + 1 :]

    assert said.count("not known") >= 4
    assert not {"closed", "alive", "dead", "bond open", "bond closed"} & set(said)


def test_a_gap_in_the_job_is_printed_as_not_known():
    """A missing figure leaves words, not a traceback and not a number."""

    class Gap:
        def __getattr__(self, name):
            raise Unknown(self.question(name))

        def gap(self, _name):
            return LeftOut.UNKNOWN

        def question(self, name):
            return Question(field=name, ask="?")

    job = house(6)
    job.supply.measured = Gap()
    job.supply.main_fuse = Gap()
    job.earthing = Gap()
    job.inverter.fault_current = Gap()
    words = texts(single_line(job, sheet(job)))

    assert "loop L-N not known" in words
    assert "main fuse not known" in words
    assert "electrode not known" in words
    assert "fault current not known" in words


def test_poles_that_stand_differently_are_told_one_by_one():
    """A welded pole is drawn closed, the dangerous way, and the words name it."""
    job = house(6)
    island = sheet(job)
    island.closed["islanding switch L2"] = True

    words = texts(single_line(job, island))

    assert any("L2 closed" in w for w in words)


def test_a_switch_on_one_line_of_three_is_drawn_open_when_its_poles_are():
    """Lines that no cable brings to the islanding switch have no way past its poles."""
    job = house(6)
    for name in ("grid side", "house side", "inverter cable"):
        job.cables[name].cores = ("L2", "N", "PE")
    job.switch.switched_poles = ("L2", "N")

    words = texts(single_line(job, sheet(job)))

    assert "open" in words
    assert "L2" in words
    assert not any("not switched" in word for word in words)


def test_a_line_that_passes_the_switch_unswitched_is_told():
    """A cable brings it, no pole opens it: drawn closed, the dangerous way."""
    job = house(6)
    job.switch.switched_poles = ("L2", "L3", "N")

    words = " ".join(texts(single_line(job, sheet(job))))

    assert "L1 not switched" in words


def test_both_bonds_are_drawn():
    """Two bonds are a mistake that the drawing must show, not swallow."""
    job = house(6)
    job.inverter.bond = house(6, bond="inside").inverter.bond
    svg = single_line(job, sheet(job))

    titles = [
        g.find(f"{SVG}title").text
        for g in ET.fromstring(svg).iter(f"{SVG}g")
        if g.find(f"{SVG}title") is not None
    ]
    assert titles.count("neutral-earth bond") == 1
    assert titles.count("neutral-earth bond in the inverter") == 1


def test_same_house_same_bytes():
    """Nothing of time or chance stands in a drawing."""
    first, second = (single_line(house(40), sheet(house(40))) for _ in range(2))

    assert first == second


@pytest.mark.parametrize(
    "name",
    [
        "<script>alert(1)</script>",
        "\"quoted\" & 'so'",
        "\u202eright to left",
        "מטבח עברית",
        "a\x00b\x0bc\ud800",
        "W" * 300,
        "]]> -->",
        "  ",
    ],
)
def test_a_hostile_name_stays_a_text(name):
    """Any name gives a sheet that parses, with nothing in it that acts, and no collision."""
    job = house(12, name=name)
    job.circuits = {f"{name}{n}": c for n, c in enumerate(job.circuits.values())}
    job.boards = dict(zip((f"{name} 1", f"{name} 2"), job.boards.values(), strict=True))
    boards = dict(zip(("main board", "backed-up board"), job.boards, strict=True))
    for part in job.circuits.values():
        part.board = boards[part.board]
    for cable in job.cables.values():
        cable.from_, cable.to = (boards.get(end, end) for end in (cable.from_, cable.to))

    for canvas in canvases(job, sheet(job)):
        root = ET.fromstring(canvas.to_svg())
        assert not [e for e in root.iter() if e.tag.rpartition("}")[2] == "script"]
        assert not set("\u202e\x00") & set(canvas.to_svg())
        assert collisions(canvas) == []


def test_ids_are_single_and_titles_speak():
    """Every group has an id of its own; every symbol has a title for a screen reader."""
    job = house(40)
    root = ET.fromstring(single_line(job, sheet(job)))
    ids = [g.get("id") for g in root.iter(f"{SVG}g")]

    assert len(ids) == len(set(ids)) > 100
    assert (
        root.find(f"{SVG}title").text == "Mill house, single-line drawing, island, on the battery"
    )
    assert (root.get("width"), root.get("height")) == (f"{WIDTH:g}mm", f"{HEIGHT:g}mm")


@pytest.mark.parametrize("many", [0, 1, 3, 12])
def test_what_is_always_alive_is_never_cut(many):
    """All of it where there is room, else how much more there is and where it stands."""
    job = house(12)
    always = tuple(f"cables of source number {n} up to their own switch" for n in range(many))
    told = replace(sheet(job), always_alive=always)
    [canvas] = canvases(job, told)
    words = " ".join(texts(canvas.to_svg()))

    assert collisions(canvas) == []
    assert "…" not in words[words.index("Always alive") :][:400]
    if many == 12:
        assert "more: see the cautions" in words
    else:
        assert all(text in words for text in always)
