"""The survey sheet: read off the parts of a job, blank for the first visit, filled for the next."""

import re
from pathlib import Path

import pypdf
import pytest

from islewright import read_job, study
from islewright.job.equipment import KINDS
from islewright.job.model import Job
from islewright.job.part import Part
from islewright.job.schema import parts_below
from islewright.papers import form_tables, survey_form, write_survey
from islewright.papers.form_shape import NOT_ASKED


def classes():
    found = {}
    for root in (Job, *KINDS.values()):
        found |= parts_below(root)
    return found


def keys(form):
    """Every key that stands on a form, at a box or over a column."""
    for section in form["sections"]:
        for block in section["blocks"]:
            if block["kind"] == "boxes":
                yield from (box["key"].lower() for box in block["boxes"])
            else:
                for piece in block["pieces"]:
                    yield from (column["key"].lower() for column in piece["columns"])


def test_every_fact_of_the_job_file_is_asked_or_said_not_to_be():
    """A new field is on the form by itself; what is left out stands in the list with a reason."""
    asked = " | ".join(keys(survey_form.blank()))
    in_short = {"Device", "Residual", "SameFor"}  # written in one line: B16 6 kA class 3
    for name, part in classes().items():
        for field, info in part.model_fields.items():
            plain = survey_form.fields_of_form(part)
            if name in in_short or not any(f.path == (field,) for f in plain):
                continue
            assert (info.alias or field).lower() in asked, (name, field)


def test_nothing_is_left_out_that_a_rule_reads(monkeypatch):
    """What the form does not ask is touched by no rule, in any of the example houses."""
    touched = set()
    plain = Part.__getattribute__

    def noted(self, name):
        touched.add((type(self).__name__, name))
        return plain(self, name)

    jobs = [read_job(f"examples/{n}/{n}.yaml") for n in ("cottage", "farmhouse", "terrace")]
    studies = [study(job) for job in jobs]
    monkeypatch.setattr(Part, "__getattribute__", noted)
    for of in studies:
        _ = of.findings

    wanted = {("Head", "profile")}  # chosen at the desk, and stated by every job
    assert touched & set(NOT_ASKED) <= wanted | {
        at for at, why in NOT_ASKED.items() if why == "the head of its sheet says so"
    }


def test_what_is_not_asked_still_exists():
    """The list names fields of the job file and no others."""
    found = classes()

    assert [at for at in NOT_ASKED if at[1] not in found[at[0]].model_fields] == []


def test_the_walk_has_an_order():
    """From the meter to the boards, the last point, the wall, the sheets of the makers."""
    heads = [section["head"] for section in survey_form.blank()["sections"]]
    walk = ["Public supply", "Earth", "Boards", "Circuits", "Equipment", "Sheet: inverter"]

    assert [head for head in heads if head in walk] == walk


@pytest.mark.parametrize("name", ["cottage", "farmhouse", "terrace"])
def test_the_second_visit_has_what_is_known_and_marks_what_is_not(name):
    """Every circuit stands there, and each open question about it is marked where it goes."""
    of = study(read_job(f"examples/{name}/{name}.yaml"))
    form = survey_form.filled(of)
    blocks = [b for s in form["sections"] for b in s["blocks"]]
    tables = [piece for b in blocks if b["kind"] == "table" for piece in b["pieces"]]
    names = {row["name"] for piece in tables for row in piece["rows"]}
    counts = [c["count"] for piece in tables for row in piece["rows"] for c in row["cells"]]
    counts += [box["count"] for b in blocks if b["kind"] == "boxes" for box in b["boxes"]]

    assert set(of.job.circuits) <= names
    asked = [r for r in of.questions if r.question.whom != "the local rules"]
    assert sum(count > 0 for count in counts) >= len(asked)


def test_no_piece_of_a_table_is_wider_than_the_page():
    """Columns are cut into as many tables as it takes."""
    for section in survey_form.blank()["sections"]:
        for block in section["blocks"]:
            for piece in block.get("pieces", ()):
                assert sum(c["wide"] for c in piece["columns"]) <= form_tables.ROOM


def test_both_forms_can_be_set(tmp_path):
    """The blank one is the same every time; the other bears the name of the house."""
    first = write_survey(None, tmp_path / "blank.pdf").read_bytes()
    of = study(read_job("examples/farmhouse/farmhouse.yaml"))
    told = pypdf.PdfReader(write_survey(of, tmp_path / "filled.pdf"))

    assert write_survey(None, tmp_path / "again.pdf").read_bytes() == first
    assert "Survey, second visit" in told.pages[0].extract_text()
    assert "Farmhouse with a well" in told.pages[0].extract_text()


def test_a_filled_form_leaves_out_what_there_is_none_of():
    """The farmhouse has one place alone; on a blank form nobody knows yet."""
    forms = {name: survey_form.filled(study(read_job(f"examples/{name}/{name}.yaml")))
             for name in ("cottage", "farmhouse")}  # fmt: skip
    forms["blank"] = survey_form.blank()

    has = {
        n for n, form in forms.items() if "Other places" in [s["head"] for s in form["sections"]]
    }

    assert has == {"cottage", "blank"}


@pytest.mark.parametrize("name", sorted(path.name for path in Path("examples").iterdir()))
def test_ranges_and_words_are_written_as_people_write_them(name):
    """No one could read how the program holds a range, or an earth as thick as the lines."""
    form = survey_form.filled(study(read_job(f"examples/{name}/{name}.yaml")))
    told = str(form)
    values = {cell["value"] for row in rows_of(form) for cell in row["cells"]}

    assert re.search(r"[0-9] to [0-9.]+ mm", told)
    assert "Span(" not in told
    assert "Takes(" not in told
    assert "mm2" not in told
    assert not {value for value in values if value.startswith("-")}


def rows_of(form, head=None):
    """Rows of every table, or of the tables under one head."""
    for section in form["sections"]:
        for block in section["blocks"]:
            if block["kind"] == "table" and head in (None, block["head"]):
                yield from (row for piece in block["pieces"] for row in piece["rows"])


@pytest.fixture(scope="module")
def farmhouse():
    return survey_form.filled(study(read_job("examples/farmhouse/farmhouse.yaml")))


def test_an_earth_as_thick_as_the_lines_says_so(farmhouse):
    """The cooker's cable has five equal cores."""
    cooker = [row for row in rows_of(farmhouse) if row["name"] == "cooker"]

    assert "as line" in {cell["value"] for row in cooker for cell in row["cells"]}


def test_what_few_circuits_have_is_a_table_of_these_few(farmhouse):
    """Rings and charging points stand by themselves, under the numbers of their circuits."""
    rings = [(row["number"], row["name"]) for row in rows_of(farmhouse, "Ring")]

    assert rings == [("2", "kitchen ring"), ("7", "upstairs ring"), ("31", "living room ring")]
    assert {row["number"] for row in rows_of(farmhouse, "Charging")} == {"11"}
    assert [row["number"] for row in rows_of(farmhouse, "Loads")][20:23] == ["21", "21", "22"]


def test_what_is_stated_not_to_be_there_is_not_asked_again(farmhouse):
    """No generator, no bond in the inverter: no empty boxes for either."""
    heads = [section["head"] for section in farmhouse["sections"]]
    inverter = next(s for s in farmhouse["sections"] if s["head"] == "Sheet: inverter")

    assert "Generator inlet" not in heads
    assert {"kind": "none", "head": "Neutral-earth bond"} in inverter["blocks"]
    assert "Generator inlet" in [s["head"] for s in survey_form.blank()["sections"]]


def test_a_default_does_not_answer_what_does_not_arise(farmhouse):
    """Rotation is a question of three lines, the soil one of buried cables."""
    by_name = {}
    for section in farmhouse["sections"]:
        for block in section["blocks"]:
            if block["kind"] == "table" and not block["head"]:
                for piece in block["pieces"]:
                    for row in piece["rows"]:
                        cells = zip(piece["columns"], row["cells"], strict=True)
                        told = by_name.setdefault(row["name"], {})
                        told |= {column["key"]: cell["value"] for column, cell in cells}

    assert by_name["oven"]["On three lines"] == "–"
    assert by_name["heat pump"]["On three lines"] == "needs rotation"
    assert by_name["oven"]["Soil resistivity"] == "–"
    assert by_name["barn sockets"]["Soil resistivity"] == "2.5"


def test_no_head_stands_over_nothing(tmp_path):
    """A table without a row has no head: no arrester, no head for its overvoltages."""
    of = study(read_job("examples/cottage/cottage.yaml"))
    pages = pypdf.PdfReader(write_survey(of, tmp_path / "filled.pdf")).pages
    text = " ".join(page.extract_text() for page in pages)

    assert list(rows_of(survey_form.filled(of), "Temporary overvoltages")) == []
    assert "Temporary overvoltages" not in text
    assert "Surge arrester" not in text
