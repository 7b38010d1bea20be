"""The gallery of the docs: a picture of each section, made by its script, not too heavy."""

import re
from pathlib import Path

from islewright.papers.pack import SECTIONS

DOCS = Path(__file__).resolve().parents[2] / "docs"
#: pictures are for a first look; a clone should not weigh more for them [bytes]
MOST = 1_500_000


def test_every_section_of_the_pack_has_a_picture():
    """Each picture that the page names is there, and each section is shown."""
    page = (DOCS / "gallery.md").read_text(encoding="utf-8")
    named = re.findall(r"\((pictures/gallery/([a-z]+)-\d\.png)\)", page)

    assert [path for path, _section in named if not (DOCS / path).is_file()] == []
    assert {section for _path, section in named} == {*SECTIONS, "survey"}


def test_the_gallery_is_small():
    """All its pictures together."""
    files = list((DOCS / "pictures" / "gallery").glob("*.png"))

    assert sum(file.stat().st_size for file in files) < MOST
