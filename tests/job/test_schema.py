"""The schema admits what the reader admits, and is silent about what it does not know."""

from pathlib import Path

import jsonschema
import pytest
import yaml

from islewright.job import job_schema
from islewright.job.schema import equipment_schema
from tests.job.sample import DATA, changed, job_text

EXAMPLES = Path(__file__).parents[2] / "examples"
FILES = sorted([*EXAMPLES.glob("*/*.yaml"), *DATA.glob("*.yaml")])


def as_text(text):
    """A file with all scalars as text."""
    return yaml.load(text, Loader=yaml.BaseLoader)  # noqa: S506 - it makes texts only


def errors(schema, text):
    """Paths of what the schema refuses, those within alternatives too."""

    def below(error):
        yield ".".join(map(str, error.absolute_path))
        for inner in error.context:
            yield from below(inner)

    validator = jsonschema.Draft202012Validator(schema)
    return [path for error in validator.iter_errors(as_text(text)) for path in below(error)]


def test_both_are_schemas_of_their_dialect():
    """An editor takes nothing else."""
    for schema in (job_schema(), equipment_schema()):
        assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
        jsonschema.Draft202012Validator.check_schema(schema)


def test_there_are_examples_to_hold_it_against():
    """Without files the next test would pass over nothing."""
    assert len(FILES) >= 8


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_the_examples_fit_their_schema(path):
    """What reads without a problem shows none in an editor."""
    text = path.read_text(encoding="utf-8")
    schema = (
        job_schema() if text.startswith(("job:", "# ")) and "\njob:" in text else equipment_schema()
    )

    assert errors(schema, text) == []


@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        ("form: one phase", "form: one phaze", "supply.form"),
        ("form: one phase", "form: unknown", "supply.form"),
        ("nominal voltage: 230 V", "nominal volts: 230 V", "supply"),
        ("loads: {lamps: 220 W}", "loads: {lamps: [220 W]}", "circuits.lights.loads"),
        ("loads: {lamps: 220 W}", "loads: {2 lamps: 220 W}", "circuits.lights.loads"),
        ("    board: main board\n", "", "circuits.cooker"),
        ('wet soil"}', 'wet soil", date: {}}', "earthing.electrode"),
    ],
)
def test_what_the_reader_refuses_shows_in_an_editor(old, new, path):
    """As far as one field goes."""
    assert path in errors(job_schema(), changed(job_text(), (old, new)))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("length: 24 m", "length: unknown"),
        ("loads: {lamps: 220 W}", "loads: none"),
        ("loads: {lamps: 220 W}", "loads: {lamps: {power: 220 W}}"),
        ("main fuse: gG 63 A", "main fuse: {curve: gG, rated current: 63 A}"),
        ("main fuse: gG 63 A", "main fuse: unknown"),
        ("file: invented.yaml", "file: [invented.yaml]"),
        ("R1: {rating: 40 A, trips at: 30 mA, type: A}", "R1: unknown"),
    ],
)
def test_gaps_and_short_forms_fit(old, new):
    """Every field admits `unknown`, and what may be absent `none`."""
    assert errors(job_schema(), changed(job_text(), (old, new))) == []


def everywhere(schema):
    """Every dict within a schema."""
    if isinstance(schema, dict):
        yield schema
        for inner in schema.values():
            yield from everywhere(inner)
    elif isinstance(schema, list):
        for inner in schema:
            yield from everywhere(inner)


def test_no_default_is_printed_for_a_gap():
    """A default in an editor is a figure that nobody measured."""
    for schema in (job_schema(), equipment_schema()):
        assert [part for part in everywhere(schema) if "default" in part] == []


def test_the_question_stands_at_the_key():
    """So that an editor asks what the survey asks."""
    circuit = job_schema()["$defs"]["Circuit"]["properties"]

    assert circuit["length"]["description"] == "How long is the cable?"
    assert circuit["length"]["anyOf"][1] == {"const": "unknown"}
