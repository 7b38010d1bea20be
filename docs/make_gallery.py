"""Make docs/gallery.md and its pictures: one page of each section, and the phone forms.

Run `python docs/make_gallery.py` after a change to the pack or to the examples.
"""

from __future__ import annotations

import datetime
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import typst

from islewright import read_job, study
from islewright.papers import pack, typeset
from islewright.papers.letters import font_folders
from islewright.papers.pictures import pictures

if TYPE_CHECKING:
    from islewright.rules.study import Study

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / "docs" / "pictures" / "gallery"
PAGE = ROOT / "docs" / "gallery.md"
#: which house shows a section best; the farmhouse where none is named
SHOWN = {"letters": "terrace", "neutral": "cottage", "dead": "cabin"}
#: pages of a section that are shown, where the first alone does not tell
MORE = {"drawings": (0, 1), "curves": (0, 2), "dead": (0, 1)}
WIDTH_PX, A4_WIDTH_INCH = 420, 210 / 25.4
#: drawings for a phone, as wide as one
PHONE_PX = 400
PHONE = {
    "single-line-island-mode-phone": "single line of island mode, for a phone",
    "where-an-rcd-sees-phone": "where a residual current device sees, for a phone",
}

HEAD = """# Gallery

Pages of the packs of the houses under `examples/`, as they are set; made by
`docs/make_gallery.py`, not by hand. All data are invented.
"""


def house(name: str) -> Study:
    """One of the examples, studied."""
    return study(read_job(ROOT / "examples" / name / f"{name}.yaml"))


def shown() -> Iterator[tuple[str, str, bytes]]:
    """File name, what it shows, and the picture."""
    studies = {name: house(name) for name in ("farmhouse", "cottage", "terrace", "cabin")}
    for section, what in pack.SECTIONS.items():
        name = SHOWN.get(section, "farmhouse")
        of = studies[name]
        date = datetime.date.fromisoformat(of.job.head.date)
        content = pack.pages(of, sections=[section])
        pages = typeset.set_pictures(content, date, ppi=WIDTH_PX / A4_WIDTH_INCH)
        for number in MORE.get(section, (0,)):
            if number < len(pages):
                yield f"{section}-{number + 1}.png", f"{what} ({name})", pages[number]
    for name, what, of in (
        ("survey-1.png", "the survey sheet, blank", None),
        ("survey-2.png", "the survey sheet for the second visit (farmhouse)", studies["farmhouse"]),
    ):
        form = typeset.set_pictures(
            pack.survey_pages(of), pack.FORM_DAY, ppi=WIDTH_PX / A4_WIDTH_INCH
        )
        yield name, what, form[0]
    drawn = dict(pictures(studies["cottage"]))
    for name, what in PHONE.items():
        yield f"{name}.png", f"{what} (cottage)", phone(drawn[f"{name}.svg"])


def phone(svg: str) -> bytes:
    """A drawing as a phone of 400 px shows it."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "drawing.svg").write_text(svg, encoding="utf-8")
        page = Path(folder) / "page.typ"
        page.write_text(
            f"#set page(width: {PHONE_PX}pt, height: auto, margin: 0pt)\n"
            '#image("drawing.svg", width: 100%)\n',
            encoding="utf-8",
        )
        fonts = typst.Fonts(
            include_system_fonts=False,
            include_embedded_fonts=False,
            font_paths=[str(path) for path in font_folders()],
        )
        made = typst.Compiler(page, root=folder, font_paths=fonts).compile(format="png", ppi=72)
    assert isinstance(made, bytes)  # noqa: S101 - one page is one picture
    return made


if __name__ == "__main__":
    FOLDER.mkdir(parents=True, exist_ok=True)
    for old in FOLDER.glob("*.png"):
        old.unlink()
    lines = [HEAD]
    for name, what, picture in shown():
        (FOLDER / name).write_bytes(picture)
        lines.append(f"![{what}](pictures/gallery/{name})\n\n{what[:1].upper()}{what[1:]}.\n")
    PAGE.write_text("\n".join(lines), encoding="utf-8")
