"""Speed of the job pack: `python benchmarks/papers.py`, from a set-up with the tests' tools.

Prints a table, and writes `results/pack.json` and the page `docs/benchmarks.md`. Figures are
medians; what falls short of its aim is written down as it is.
"""

from __future__ import annotations

import io
import os
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # the matrices are small; before numpy is loaded
sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

import page  # noqa: E402 - the environment comes first
from measure import leave, median_s, versions  # noqa: E402
from work import EXAMPLE  # noqa: E402

if TYPE_CHECKING:
    from islewright.rules.study import Study

#: the first sections, as many as make about eleven pages
FEW = ("cover", "drawings", "neutral", "dead", "alive", "circuits")


def main() -> None:
    """Run everything, print and write it."""
    from islewright.job import read_job
    from islewright.papers import write_pack
    from islewright.papers.pack import SECTIONS
    from islewright.rules.study import study

    told = study(read_job(EXAMPLE))
    _ = told.findings
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "pack.pdf"
        figures: dict[str, float] = {
            "pack_s": median_s(lambda: write_pack(told, target), runs=7),
            "pack_pages": pages(target),
            "pack_kb": round(target.stat().st_size / 1000),
        }
        few_s = median_s(lambda: write_pack(told, target, sections=FEW), runs=7)
        figures |= {"few_pages_s": few_s, "few_pages": pages(target)}

        def from_the_file() -> None:
            write_pack(study(read_job(EXAMPLE)), target)

        figures["pack_from_the_file_s"] = median_s(from_the_file, runs=5)
        each = {s: lone_s(told, target, s) for s in SECTIONS}
    leave("pack", figures, versions("typst", "pydantic"), {"section_s": each})
    page.write()
    for key, value in figures.items():
        print(f"{key:32s} {value:10.4g}")


def lone_s(told: Study, target: Path, section: str) -> float:
    """Time of one section by itself [s]."""
    from islewright.papers import write_pack

    def alone() -> None:
        write_pack(told, target, sections=[section])

    return round(median_s(alone, runs=3, before=1), 3)


def pages(file: Path) -> int:
    """How many pages a PDF has."""
    import pypdf

    return len(pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages)


if __name__ == "__main__":
    main()
