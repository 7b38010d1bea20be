"""Every drawing of a house as a file."""

from xml.etree import ElementTree as ET

import pytest


@pytest.mark.parametrize("name", ["cottage", "farmhouse", "terrace"])
def test_the_drawings_are_written_and_are_svg(run, examples, tmp_path, name):
    """Both modes, sheet and phone, curves; each can be read and bears a title."""
    done = run("drawings", examples[name], "--to", tmp_path / "new")
    files = {file.name: file for file in (tmp_path / "new").iterdir()}

    assert done.exit_code == 0, done.output
    assert f"Wrote {len(files)} drawings" in done.output
    for wanted in ("single-line-grid-mode-1.svg", "single-line-island-mode-phone.svg",
                   "touch-voltage.svg", "where-an-rcd-sees-1.svg"):  # fmt: skip
        assert wanted in files
    for file in files.values():
        root = ET.fromstring(file.read_text(encoding="utf-8"))
        assert root[0].text
        ids = [e.get("id") for e in root.iter() if e.get("id")]
        assert len(ids) == len(set(ids))


def test_a_file_in_the_way_is_told(run, examples, tmp_path):
    """A folder cannot be made where a file lies."""
    (tmp_path / "taken").write_text("")
    done = run("drawings", examples["cottage"], "--to", tmp_path / "taken")

    assert done.exit_code == 2
    assert "cannot be written" in done.output
