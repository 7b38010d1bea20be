"""The typesetter: templates and plain data in, a tagged archival PDF out.

The data reach the templates as values, never as markup, so no name can become a command.
"""

from __future__ import annotations

import datetime
import json
from functools import lru_cache
from pathlib import Path
from typing import Any

from islewright.papers.letters import font_folders

TEMPLATES = Path(__file__).parent / "templates"
#: archival, tagged, and readable by a screen reader
STANDARDS = ["a-2a", "ua-1"]


class PaperError(Exception):
    """The typesetter refused the pages or complained about them: a defect of ours."""


def set_pdf(content: dict[str, Any], date: datetime.date) -> bytes:
    """Set the pack; the document bears `date`, so that the same input gives the same bytes.

    Raises
    ------
    PaperError : a template does not compile, or compiles with a complaint
    """
    noon = datetime.datetime(date.year, date.month, date.day, 12, tzinfo=datetime.UTC)
    made = _set(content, date, format="pdf", pdf_standards=STANDARDS, timestamp=noon)
    assert isinstance(made, bytes)  # noqa: S101 - a PDF is one file
    return made


def set_pictures(content: dict[str, Any], date: datetime.date, ppi: float = 144) -> list[bytes]:
    """Set the pack as one PNG a page, to look at."""
    made = _set(content, date, format="png", ppi=ppi)
    return [made] if isinstance(made, bytes) else list(made)


def _set(content: dict[str, Any], date: datetime.date, **how: Any) -> bytes | list[bytes]:
    import typst

    compiler = typst.Compiler(
        TEMPLATES / "pack.typ",
        root=TEMPLATES,
        font_paths=_fonts(),
        ignore_system_fonts=True,
        sys_inputs={
            "pack": json.dumps(content, ensure_ascii=False),
            "date": json.dumps([date.year, date.month, date.day]),
        },
    )
    try:
        made, warnings = compiler.compile_with_warnings(**how)
    except typst.TypstError as refused:
        raise PaperError(f"the pack cannot be set: {refused.diagnostic}") from refused
    if warnings:
        said = "; ".join(warning.diagnostic for warning in warnings)
        raise PaperError(f"the pack was set with complaints: {said}")
    assert made is not None  # noqa: S101 - without an output path it comes back
    return made


@lru_cache(maxsize=1)
def _fonts() -> Any:
    """Our two families and nothing else, the typesetter's own fonts included."""
    import typst

    return typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[str(folder) for folder in font_folders()],
    )
