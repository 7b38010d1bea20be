"""The examples, and one with a shared neutral, read and built once for these tests."""

from __future__ import annotations

import shutil
import tempfile
from functools import cache
from pathlib import Path

from islewright.job import Job, read_job
from islewright.network.build import build
from islewright.network.solve import Network
from islewright.tables.profile import profile

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = (
    "cottage", "terrace", "farmhouse", "flat", "workshop", "cabin", "bungalow", "shared neutral",
)  # fmt: skip


@cache
def job(name: str) -> Job:
    if name == "shared neutral":
        return _shared()
    return read_job(EXAMPLES / name / f"{name}.yaml")


def _shared() -> Job:
    """The cottage, its lights downstairs on the neutral of those upstairs."""
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(EXAMPLES / "cottage", folder, dirs_exist_ok=True)
        file = Path(folder) / "cottage.yaml"
        text = file.read_text(encoding="utf-8")
        changed = text.replace(
            "  lights downstairs:\n", "  lights downstairs:\n    neutral with: lights upstairs\n"
        )
        assert changed != text
        file.write_text(changed, encoding="utf-8")
        return read_job(file)


@cache
def network(name: str) -> Network:
    return Network(build(job(name), profile("IEC base")))
