"""Make docs/pictures from the demo house's own job pack: two of its pages, as they are set.

Run `python docs/make_pictures.py` after a change to the pack or to the demo.
"""

from __future__ import annotations

import datetime
import io
from collections.abc import Iterator
from pathlib import Path

import pypdf

from islewright import read_job, study
from islewright.papers import pack, typeset

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "examples" / "farmhouse" / "farmhouse.yaml"
FOLDER = ROOT / "docs" / "pictures"
#: file -> what the head of its page begins with
PAGES = {"single-line.png": "Single line, island", "opens-first.png": "What opens first Earth"}
WIDTH_PX, A4_WIDTH_INCH = 1000, 210 / 25.4


def pictures() -> Iterator[tuple[str, bytes]]:
    """Name and PNG of each picture, about 1000 px wide.

    Raises
    ------
    StopIteration : the pack has no such page
    """
    content = pack.pages(study(read_job(DEMO)))
    date = datetime.date.fromisoformat(read_job(DEMO).head.date)
    pages = pypdf.PdfReader(io.BytesIO(typeset.set_pdf(content, date))).pages
    heads = [" ".join(page.extract_text().split())[:120] for page in pages]
    set_pages = typeset.set_pictures(content, date, ppi=WIDTH_PX / A4_WIDTH_INCH)
    for name, words in PAGES.items():
        page = next(i for i, head in enumerate(heads) if words in head)
        yield name, set_pages[page]


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, picture in pictures():
        (FOLDER / name).write_bytes(picture)
