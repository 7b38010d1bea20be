"""A job of which little is known has a pack too: its questions are what one takes along."""

import io

import pypdf


def test_a_new_job_has_a_pack_with_its_questions(run, tmp_path):
    """Exit code 0 once it is written, and the pack does not call the house ready."""
    path, target = tmp_path / "house.yaml", tmp_path / "pack.pdf"
    run("start", path, input="Test house\n" + "\n" * 8)
    done = run("pack", path, "--to", target)

    assert done.exit_code == 0
    pages = pypdf.PdfReader(io.BytesIO(target.read_bytes())).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "Not ready to build" in text
    assert "Which system earthing has the supply?" in text
