"""Findings for other programs and other papers."""

import csv
import io
import json
import math

import pytest

from islewright import read_job, study
from islewright.papers import elsewhere


@pytest.fixture(scope="module", params=["farmhouse", "cottage", "terrace"])
def studied(request):
    return study(read_job(f"examples/{request.param}/{request.param}.yaml"))


def test_csv_has_every_finding_with_its_figures(studied):
    """One line each, in the order of weight; figures can be read back."""
    rows = list(csv.DictReader(io.StringIO(elsewhere.csv_text(studied))))

    assert len(rows) == len(studied.findings)
    for row, finding in zip(rows, studied.findings, strict=True):
        assert row["status"] == finding.status.value
        assert row["rule"] == finding.rule
        assert row["place"].lstrip("'") == finding.place
        if row["value"]:
            assert float(row["value"]) == pytest.approx(finding.value, rel=1e-9)
        else:
            assert not math.isfinite(finding.value)


def test_markdown_tells_all_that_is_open_and_sums_up_the_rest(studied):
    """Each finding that is not met has its heading; every met demand its row."""
    text = elsewhere.markdown_text(studied)
    for finding in studied.findings:
        assert finding.title[1:] in text.replace("\\", "")
    for ranked in studied.questions:
        assert ranked.question.ask in text.replace("\\", "")


def test_a_name_cannot_become_a_formula_or_markup():
    """Names come from outside: a table must not reckon with them, nor a text obey them."""
    assert elsewhere._cell("=1+1") == "'=1+1"
    assert elsewhere._cell(-1.5) == "-1.5"
    assert elsewhere._plain("a|b *c*\nd") == "a\\|b \\*c\\* d"


@pytest.mark.parametrize("ending", ["csv", "md", "json"])
def test_the_ending_of_the_file_says_the_form(run, examples, tmp_path, ending):
    """The file holds that form, in UTF-8."""
    target = tmp_path / f"findings.{ending}"
    done = run("findings", examples["cottage"], "--to", target)
    text = target.read_text(encoding="utf-8")

    assert done.exit_code == 0, done.output
    first = {"csv": "status,place", "md": "# Cottage", "json": "{"}[ending]
    assert text.startswith(first)
    if ending == "json":
        assert json.loads(text)["counts"]


def test_without_a_file_they_are_printed(run, examples):
    """Markdown if nothing else is asked for."""
    assert run("findings", examples["cottage"]).output.startswith("# Cottage")
    assert run("findings", examples["cottage"], "--as", "csv").output.startswith("status,place")
    assert json.loads(run("findings", examples["cottage"], "--as", "json").output)["form"]


def test_a_folder_is_no_file(run, examples, tmp_path):
    """What cannot be written is told without a traceback."""
    done = run("findings", examples["cottage"], "--as", "csv", "--to", tmp_path)

    assert done.exit_code == 2
    assert "cannot be written" in done.output
