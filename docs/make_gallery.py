"""Make docs/gallery.md and its pictures: one page of each section, and the phone forms.

Run `python docs/make_gallery.py` after a change to the pack or to the examples.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from islewright import read_job, study
from islewright.papers import pack, typeset

if TYPE_CHECKING:
    from islewright.rules.study import Study

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / "docs" / "pictures" / "gallery"
PAGE = ROOT / "docs" / "gallery.md"
#: which house shows a section best; the farmhouse where none is named
SHOWN = {"letters": "terrace", "neutral": "cottage"}
#: pages of a section that are shown, where the first alone does not tell
MORE = {"drawings": (0, 1), "curves": (0, 2), "dead": (0, 1)}
WIDTH_PX, A4_WIDTH_INCH = 420, 210 / 25.4

HEAD = """# Gallery

Pages of the packs of the houses under `examples/`, as they are set; made by
`docs/make_gallery.py`, not by hand. All data are invented.
"""


def house(name: str) -> Study:
    """One of the examples, studied."""
    return study(read_job(ROOT / "examples" / name / f"{name}.yaml"))


def shown() -> Iterator[tuple[str, str, bytes]]:
    """File name, what it shows, and the picture."""
    studies = {name: house(name) for name in ("farmhouse", "cottage", "terrace")}
    for section, what in pack.SECTIONS.items():
        name = SHOWN.get(section, "farmhouse")
        of = studies[name]
        date = datetime.date.fromisoformat(of.job.head.date)
        content = pack.pages(of, sections=[section])
        pages = typeset.set_pictures(content, date, ppi=WIDTH_PX / A4_WIDTH_INCH)
        for number in MORE.get(section, (0,)):
            if number < len(pages):
                yield f"{section}-{number + 1}.png", f"{what} ({name})", pages[number]
    form = typeset.set_pictures(
        pack.survey_pages(None), pack.FORM_DAY, ppi=WIDTH_PX / A4_WIDTH_INCH
    )
    yield "survey-1.png", "the survey sheet, blank", form[0]


if __name__ == "__main__":
    FOLDER.mkdir(parents=True, exist_ok=True)
    for old in FOLDER.glob("*.png"):
        old.unlink()
    lines = [HEAD]
    for name, what, picture in shown():
        (FOLDER / name).write_bytes(picture)
        lines.append(f"![{what}](pictures/gallery/{name})\n\n{what[:1].upper()}{what[1:]}.\n")
    PAGE.write_text("\n".join(lines), encoding="utf-8")
