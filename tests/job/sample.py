"""The sample job of these tests, changed in a few places, and where the change stands."""

from __future__ import annotations

from pathlib import Path

import pytest

from islewright.job import BadJob, read_job

DATA = Path(__file__).parent / "data"
#: stands before the place at which a problem is expected
MARK = "«"


def job_text():
    return (DATA / "cottage.yaml").read_text(encoding="utf-8")


def equipment_text():
    return (DATA / "invented.yaml").read_text(encoding="utf-8")


def changed(text, *changes):
    """Replace in a text, each old part standing there exactly once."""
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


def marks(text):
    """The text without its marks, and line:column of each mark, counted here by hand."""
    places = []
    while MARK in text:
        before, _, after = text.partition(MARK)
        places.append((before.count("\n") + 1, len(before.rpartition("\n")[2]) + 1))
        text = before + after
    return text, places


def write(folder, job, equipment=None):
    """Put a job file and its equipment into a folder."""
    (folder / "invented.yaml").write_text(equipment or equipment_text(), encoding="utf-8")
    path = folder / "cottage.yaml"
    path.write_bytes(job if isinstance(job, bytes) else job.encode())
    return path


def problems_of(folder, job, equipment=None):
    """Problems of a job that must not be read."""
    path = write(folder, job, equipment)
    with pytest.raises(BadJob, match="nothing was read") as caught:
        read_job(path)
    return caught.value.problems
