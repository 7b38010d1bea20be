"""A job written, read and written again: the same job, and the same bytes."""

import os
import shutil
from decimal import Decimal
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from islewright import units
from islewright.job import Gap, read_job, save_job, write_equipment, write_job
from islewright.job.keep import keep_bytes, keep_text
from islewright.job.part import Part
from islewright.rules.study import study
from islewright.tables.figure import Figure
from tests.job.files import FILES, ROOT
from tests.network.generated import houses, read
from tests.network.small import ONE_PHASE, job_of
from tests.rules.houses import leaves

every_house = pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)


def told(value):
    """All that a part says, and which of it was stated: figures with their spread, gaps apart."""
    if isinstance(value, Part):
        held = {name: told(v) for name, v in value.__dict__.items() if not name.startswith("_")}
        return type(value), held, value.model_fields_set, set(value._unknown), value._path
    if isinstance(value, dict):
        return [(name, told(v)) for name, v in value.items()]
    if isinstance(value, Figure):
        return float(value), value.spread
    return value


def everything(job):
    """The same of a job and its equipment."""
    return told(job), told(job._equipment)


def judged(job):
    """All findings, with the figures and texts that a reader sees."""
    return [f"{f}: {f.verdict.value!r} {f.verdict.limit!r} {f.verdict.spread!r}"
            for f in study(job).findings]  # fmt: skip


def put(folder, job):
    """Write job and equipment into a folder; returns the job file."""
    keep_text(folder / "equipment.yaml", write_equipment(job))
    save_job(job, folder / "house.yaml")
    return folder / "house.yaml"


@every_house
def test_a_job_that_was_written_reads_as_the_same_job(tmp_path, file):
    """Every fact, every gap of either kind, every spread, and the order of places."""
    job = read_job(file)

    again = read_job(put(tmp_path, job))

    assert everything(again) == everything(job)
    assert judged(again) == judged(job)


@every_house
def test_a_job_written_read_and_written_is_the_same_bytes(tmp_path, file):
    """Job file and equipment file."""
    job = read_job(file)
    first = write_job(job), write_equipment(job)

    again = read_job(put(tmp_path, job))

    assert (write_job(again), write_equipment(again)) == first


@settings(max_examples=25, deadline=None)
@given(house=houses(most=12))
def test_a_house_made_by_chance_comes_back(tmp_path_factory, house):
    """Boards in a row, rings, shared neutrals: the same job, bytes and findings."""
    job = read(*house)

    again = read_job(put(tmp_path_factory.mktemp("written"), job))

    assert everything(again) == everything(job)
    assert write_job(again) == write_job(job)
    assert judged(again) == judged(job)


@pytest.mark.parametrize(
    ("stated", "written"),
    [("  parallel earths: unknown\n", "  parallel earths: unknown\n"),
     ("  parallel earths: none\n", "  parallel earths: none\n"), ("", "")],
    ids=["unknown", "none", "left out"],
)  # fmt: skip
def test_each_kind_of_gap_stays_what_it_is(tmp_path, stated, written):
    """Unknown stays unknown, left out stays left out, and what is not there stays that."""
    job = job_of(tmp_path, ONE_PHASE, ("  parallel earths: none\n", stated))

    text = write_job(job)

    assert everything(read_job(put(tmp_path, job))) == everything(job)
    assert written in text
    assert ("parallel earths" in text) is bool(written)


def test_a_group_that_is_unknown_stays_unknown(tmp_path):
    """Each of its facts is then, and so is it written."""
    load = ("loads: {cooker: 2.3 kW}", "loads: {cooker: unknown, hob: {power: unknown}}")
    job = job_of(tmp_path, ONE_PHASE, load)

    again = read_job(put(tmp_path, job))

    assert everything(again) == everything(job)
    assert again.circuits["cooker"].loads["hob"].gap("power_w") is Gap.UNKNOWN


@pytest.mark.parametrize("note", ["a: b # c", "it's", "two\nlines", "yes", "", "- [x]", "\u00a0·",
                                  " blank ", 'say "so" \\', "0 V"])  # fmt: skip
def test_any_text_comes_back_as_it_was(tmp_path, note):
    """Signs that mean something to the file stand in quotation marks."""
    (tmp_path / "a").mkdir()
    head = (
        "equipment file: equipment.yaml}",
        f"equipment file: equipment.yaml, note: {quoted(note)}}}",
    )
    job = job_of(tmp_path / "a", ONE_PHASE, head)
    assert job.head.note == note

    assert read_job(put(tmp_path, job)).head.note == note


def quoted(text):
    """As the library would quote it."""
    return yaml.dump(text, default_style='"', width=1000, allow_unicode=False).strip()


@given(value=st.floats(1e-12, 1e12), spread=st.none() | st.floats(0, 1e9),
       unit=st.sampled_from(sorted(units.UNITS)))  # fmt: skip
def test_a_quantity_comes_back_to_the_last_bit(value, spread, unit):
    """Whatever the unit, with an uncertainty or without."""
    assert units.parse(units.spell(value, spread, unit), unit) == (value, spread)


@pytest.mark.parametrize(
    ("text", "unit", "written"),
    [
        ("18 m", "m", "18 m"),
        ("30 mA", "A", "30 mA"),
        ("0.03 A", "A", "30 mA"),
        ("0.35 ± 0.02 ohm", "ohm", "0.35 ± 0.02 ohm"),
        ("0.4 ohm ± 5 %", "ohm", "0.4 ± 0.02 ohm"),
        ("7.2 kW", "W", "7.2 kW"),
        ("12.50 mm²", "mm2", "12.5 mm2"),
    ],
)
def test_a_quantity_is_written_as_people_write_it(text, unit, written):
    """The shortest spelling that gives back the figure."""
    assert units.spell(*units.parse(text, unit), unit) == written


# ---------------------------------------------------------------- spelling of units

#: keys whose text looks like a quantity and is one of a few words
WORDS = {"spacing"}


def spellings(text):
    """Other spellings of a quantity, exact in decimal; none where it is no plain quantity."""
    number, _, words = text.partition(" ")
    try:
        figure = Decimal(number)
    except ArithmeticError:
        return []
    known = [unit.spellings for unit in units.UNITS.values() if words in unit.spellings]
    if not known or not words:
        return []
    found = []
    for name in sorted(set.intersection(*(set(spelled) for spelled in known))):
        (times, over), (to_times, to_over) = known[0][words], known[0][name]
        scaled = figure * Decimal(times) / Decimal(over) * Decimal(to_over) / Decimal(to_times)
        found.append(f"{scaled:f} {name}")
    return [other for other in found if other != text]


def respelled(folder, to, draw):
    """Copy a house with every quantity of its job file spelled some other way; how many were."""
    changed = 0
    for name in folder[1], "equipment.yaml":
        tree = yaml.load((folder[0] / name).read_text("utf-8"), yaml.CBaseLoader)  # noqa: S506
        for path in leaves(tree):
            inner = tree
            for key in path[:-1]:
                inner = inner[key]
            text = inner[path[-1]]
            if isinstance(text, str) and path[-1] not in WORDS and (other := spellings(text)):
                inner[path[-1]] = draw(other)
                changed += 1
        (to / name).write_text(yaml.dump(tree, sort_keys=False, allow_unicode=True), "utf-8")
    return changed


@settings(max_examples=8, deadline=None)
@given(data=st.data())
@pytest.mark.parametrize("name", ["cottage", "farmhouse", "flat", "workshop"])
def test_the_spelling_of_units_does_not_matter(tmp_path_factory, name, data):
    """18 m, 1800 cm or 0.018 km: the same findings, whatever mixture of them a file has."""
    folder = tmp_path_factory.mktemp("spelled")
    choice = data.draw(st.randoms(use_true_random=False))

    changed = respelled((ROOT / "examples" / name, f"{name}.yaml"), folder, choice.choice)

    assert changed > 100
    ours = study(read_job(ROOT / "examples" / name / f"{name}.yaml")).findings
    theirs = study(read_job(folder / f"{name}.yaml")).findings
    assert [(f.rule, f.place, f.mode, f.status) for f in theirs] == [
        (f.rule, f.place, f.mode, f.status) for f in ours
    ]
    for a, b in zip(ours, theirs, strict=True):
        assert (b.value, b.limit) == pytest.approx((a.value, a.limit), rel=1e-9, nan_ok=True)


# ---------------------------------------------------------------- interruptions


class Stopped(BaseException):
    """Somebody pulls the plug."""


@pytest.mark.parametrize("at", ["fsync", "write", "replace"])
def test_an_interrupted_write_leaves_the_old_file(tmp_path, monkeypatch, at):
    """At whatever step it stops, the old content stands there whole, and nothing beside it."""
    file = tmp_path / "house.yaml"
    file.write_text("old", "utf-8")

    def stop(*_, **__):
        raise Stopped("the plug")

    if at == "write":
        monkeypatch.setattr(os, "fdopen", lambda *_: _Half())
    else:
        monkeypatch.setattr(*((os, at) if at == "fsync" else (Path, at)), stop)
    with pytest.raises(Stopped, match="the plug"):
        keep_text(file, "new and longer")
    monkeypatch.undo()

    assert file.read_text("utf-8") == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["house.yaml"]


class _Half:
    """A file whose writing stops."""

    def __enter__(self):
        return self

    def __exit__(self, *_):
        return False

    def write(self, _):
        raise Stopped("the plug")


def test_a_new_file_is_whole_and_old_rights_stay(tmp_path):
    """Who could read the file before can read it after, and nobody else."""
    file = tmp_path / "pack.pdf"
    keep_bytes(file, b"first")
    assert file.stat().st_mode & 0o777 == 0o666 & ~_mask()
    file.chmod(0o640)

    keep_bytes(file, b"second")

    assert file.read_bytes() == b"second"
    assert file.stat().st_mode & 0o777 == 0o640


def _mask():
    mask = os.umask(0)
    os.umask(mask)
    return mask


def test_a_link_stays_a_link(tmp_path):
    """What it leads to is written, not the link itself."""
    real = tmp_path / "real.yaml"
    real.write_text("old", "utf-8")
    link = tmp_path / "link.yaml"
    link.symlink_to(real)

    keep_text(link, "new")

    assert link.is_symlink()
    assert real.read_text("utf-8") == "new"


def test_where_nothing_can_be_written_the_old_file_stays(tmp_path):
    """A job that cannot be saved is told as the system tells it."""
    source = ROOT / "examples" / "cottage"
    shutil.copy(source / "equipment.yaml", tmp_path)
    job = read_job(source / "cottage.yaml")

    with pytest.raises(FileNotFoundError, match="nowhere"):
        save_job(job, tmp_path / "nowhere" / "house.yaml")
