"""A good file read whole: figures, paths, short forms, what holds for all, the hash."""

import hashlib
import re
import subprocess
import sys

import pytest

from islewright.job import BadJob, Gap, Unknown, read_job
from tests.job.sample import DATA, changed, equipment_text, job_text, problems_of, write


@pytest.fixture(scope="module")
def cottage():
    return read_job(DATA / "cottage.yaml")


def test_figures_come_in_their_canonical_unit_with_their_spread(cottage):
    """What stands behind ± is kept, in the unit of the figure; else it is None, never zero."""
    loop = cottage.supply.measured.line_neutral_ohm

    assert loop == 0.42
    assert loop.spread == pytest.approx(0.05 * 0.42)
    assert cottage.supply.measured.line_earth_ohm.spread is None
    assert cottage.circuits["cooker"].device.residual.trips_at_a == 0.03


def test_every_part_knows_where_it_stands(cottage):
    """Paths are those of the file, through names as well."""
    assert cottage.circuits["kitchen"].path == "circuits.kitchen"
    assert cottage.circuits["kitchen"].loads["fridge"].path == "circuits.kitchen.loads.fridge"
    assert cottage.supply.measured.path == "supply.measured"
    assert cottage.boards["backed-up board"].rcds["R1"].path == "boards.backed-up board.RCDs.R1"
    assert cottage.inverter.surge.path == "battery inverter.surge"


def test_names_keep_the_order_of_the_file(cottage):
    """Papers list circuits as the survey does."""
    assert list(cottage.circuits) == ["lights", "kitchen", "cooker"]


def test_what_holds_for_all_cables_fills_in_where_nothing_is_stated(cottage):
    """A cable's own key stands above the one for all."""
    assert cottage.cables["house side"].method == "B2"
    assert cottage.cables["tails"].method == "B1"
    assert cottage.circuits["kitchen"].gap("method") is Gap.LEFT_OUT


def test_a_load_may_be_one_line(cottage):
    """`lamps: 220 W` states the power, `sockets: unknown` asks for it."""
    assert cottage.circuits["lights"].loads["lamps"].power_w == 220
    assert cottage.circuits["kitchen"].loads["sockets"].gap("power_w") is Gap.UNKNOWN
    assert cottage.circuits["cooker"].loads == {}


def test_equipment_is_found_by_its_model(cottage):
    """The sheet of the placed model, and None for what is not there."""
    assert cottage.switch.switched_poles == ("L1", "N")
    assert cottage.inverter.rated_va == 4000
    assert cottage.battery is None


def test_a_job_does_not_change(cottage):
    """Neither a field nor a group of names can be changed after reading."""
    with pytest.raises(ValueError, match="frozen"):
        cottage.supply.form = "three phases"
    with pytest.raises(TypeError, match="does not change"):
        cottage.circuits["garden"] = cottage.circuits["lights"]
    with pytest.raises(TypeError, match="does not change"):
        cottage.circuits.pop("lights")


def test_the_hash_covers_job_and_equipment(tmp_path):
    """Two inputs with one hash would be two designs with one footer."""
    whole = (job_text() + equipment_text()).encode()
    first = read_job(write(tmp_path, job_text()))
    other = changed(equipment_text(), ("4 kVA", "5 kVA"))

    assert first.input_hash == hashlib.sha256(whole).hexdigest()
    assert read_job(write(tmp_path, job_text(), other)).input_hash != first.input_hash


def test_a_byte_order_mark_and_other_line_ends_do_no_harm(tmp_path):
    """Files come from other systems, too."""
    plain = job_text().replace("\n", "\r\n").encode()

    assert read_job(write(tmp_path, b"\xef\xbb\xbf" + plain)).head.name == "Ferry cottage"


def test_equipment_may_lie_in_several_files(tmp_path):
    """A list of files, in the job's folder or below."""
    (tmp_path / "makers").mkdir()
    switch, _, inverter = equipment_text().partition("battery inverter:")
    (tmp_path / "makers" / "inverter.yaml").write_text("battery inverter:" + inverter)
    job = changed(
        job_text(),
        ("equipment file: invented.yaml", "equipment file: [invented.yaml, makers/inverter.yaml]"),
    )

    assert read_job(write(tmp_path, job, switch)).inverter.rated_va == 4000


@pytest.mark.parametrize(
    "name",
    ["../invented.yaml", "/etc/hosts", "a/../../b.yaml", '"x\\0y"', "itself.yaml"],
)
def test_equipment_does_not_lie_elsewhere(tmp_path, name):
    """A job file from a stranger reads nothing outside its own folder."""
    (tmp_path / "itself.yaml").symlink_to(tmp_path / "itself.yaml")
    job = changed(job_text(), ("file: invented.yaml", f"file: {name}"))
    (problem,) = problems_of(tmp_path, job)

    assert problem.path == "job.equipment file"
    assert problem.allowed == "an equipment file lies in the job's folder or below it"


@pytest.mark.parametrize("name", ["other.yaml", "x" * 5000, "."])
def test_equipment_that_is_not_there_is_told_where_it_is_named(tmp_path, name):
    """And the models that it should hold are not missed as well."""
    job = changed(job_text(), ("file: invented.yaml", f"file: {name}"))
    (problem,) = problems_of(tmp_path, job)

    assert (problem.line, problem.column) == (6, 19)
    assert problem.allowed == "there is no such file in the job's folder"


def test_a_link_does_not_lead_outside(tmp_path):
    """Nor does a link in the job's folder."""
    inside = tmp_path / "inside"
    inside.mkdir()
    (tmp_path / "secret.yaml").write_text(equipment_text())
    (inside / "link.yaml").symlink_to(tmp_path / "secret.yaml")
    job = changed(job_text(), ("file: invented.yaml", "file: link.yaml"))
    (problem,) = problems_of(inside, job)

    assert "in the job's folder or below" in problem.allowed


def test_a_file_that_is_not_there_is_told(tmp_path):
    """Without line and column, since there are none."""
    missing = tmp_path / "nowhere.yaml"
    said = f"{re.escape(str(missing))}: there is no such file\n1 problem; nothing was read."

    with pytest.raises(BadJob, match=said):
        read_job(missing)
    with pytest.raises(BadJob, match="this is a folder; name the job file in it"):
        read_job(tmp_path)


def test_a_file_of_ten_megabytes_is_refused_before_it_is_read(tmp_path):
    """A job has some kilobytes; the size alone is looked at."""
    big = tmp_path / "big.yaml"
    with big.open("wb") as file:
        file.truncate(10_000_000)

    with pytest.raises(BadJob, match="larger than 1 MB"):
        read_job(big)


def test_the_room_loads_its_models_on_first_use():
    """`import islewright` and its help stay quick."""
    code = "import sys, islewright.job; sys.exit('pydantic' in sys.modules)"

    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_a_touched_gap_names_its_question(cottage):
    """The question says field, words, way and person."""
    with pytest.raises(Unknown, match="How long is the cable") as caught:
        _ = cottage.cables["inverter cable"].length_m
    (question,) = caught.value.questions

    assert question.field == "cables.inverter cable.length"
    assert question.how == "measure along the route"
    assert question.whom == "the site"
