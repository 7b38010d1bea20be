"""The pack in part: which sections are printed."""

import pypdf
import pytest

from islewright.cli.pack import SECTIONS
from islewright.papers import pack


def test_the_command_knows_the_sections_of_the_pack():
    """Neither has one that the other lacks, and their order is the same."""
    assert tuple(SECTIONS) == tuple(pack.SECTIONS)


def test_only_what_is_asked_for_is_printed(run, examples, tmp_path):
    """The order is the pack's, however the sections are asked for."""
    target = tmp_path / "part.pdf"
    done = run("pack", examples["cottage"], "--to", target, "--only", "sources,Circuits")
    texts = [page.extract_text() for page in pypdf.PdfReader(target).pages]

    assert done.exit_code == 0, done.output
    assert "Circuits and cables" in texts[0]
    assert "Assumptions and sources" in texts[-1]
    assert not any("Not ready" in text for text in texts)


def test_what_is_left_out_is_not_printed(run, examples, tmp_path):
    """All other sections stay."""
    target = tmp_path / "part.pdf"
    run("pack", examples["cottage"], "--to", target, "--leave-out", "curves")
    everything = " ".join(page.extract_text() for page in pypdf.PdfReader(target).pages)

    assert "Time and current" not in everything
    assert "Surveyed by" in everything
    assert "Assumptions and sources" in everything


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--only", "curvs"], "curves"),
        (["--only", "curves", "--leave-out", "curves"], "no section is left"),
    ],
)
def test_a_section_that_is_not_there_is_the_users_to_mend(run, examples, tmp_path, words, told):
    """Exit code 2, with the sections that there are; nothing is written."""
    target = tmp_path / "part.pdf"
    done = run("pack", examples["cottage"], "--to", target, *words)

    assert done.exit_code == 2
    assert told in done.output
    assert not target.exists()


@pytest.mark.parametrize("name", ["cottage", "terrace"])
@pytest.mark.parametrize("section", SECTIONS)
def test_each_section_can_stand_alone(run, examples, tmp_path, section, name):
    """No section needs what another one brings."""
    assert (
        run("pack", examples["terrace"], "--to", tmp_path / "p.pdf", "--only", section).exit_code
        == 0
    )
