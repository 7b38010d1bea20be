"""A house that is wired wrongly gets its pack all the same, and the pack says so."""

from pathlib import Path

import pypdf
import pytest

from islewright import read_job, study, write_pack

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "cottage"
BOND = "  neutral-earth bond:\n    at: house\n    closed: in island mode\n"
MISTAKES = {
    "no bond": (BOND, "  neutral-earth bond: none\n", "joined at: nowhere"),
    "bond on the grid side": ("    at: house\n", "    at: grid\n", "joined at: nowhere"),
    "bond always closed": ("closed: in island mode", "closed: always", "joints = 2"),
    "neutral not switched": ("poles: L1 N", "poles: L1", "joints = 2"),
}


@pytest.fixture(params=MISTAKES)
def mistake(request, tmp_path):
    was, becomes, told = MISTAKES[request.param]
    text = (EXAMPLE / "equipment.yaml").read_text(encoding="utf-8")
    assert text.count(was) == 1
    text = text.replace(was, becomes)
    if becomes.endswith("none\n"):  # what described the bond goes with it
        start = text.index(becomes) + len(becomes)
        text = text[:start] + text[text.index("  bypass poles:") :]
    (tmp_path / "equipment.yaml").write_text(text, encoding="utf-8")
    job = (EXAMPLE / "cottage.yaml").read_text(encoding="utf-8")
    (tmp_path / "cottage.yaml").write_text(job, encoding="utf-8")
    return tmp_path / "cottage.yaml", told


def test_the_pack_of_a_wrongly_joined_neutral_says_so(mistake, tmp_path):
    """Not ready to build, the demand named, the joints counted."""
    path, told = mistake

    pages = pypdf.PdfReader(write_pack(study(read_job(path)), tmp_path / "pack.pdf")).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())

    assert "Not ready to build" in text
    assert "The neutral of every board must be joined to earth exactly once" in text
    assert told in text
