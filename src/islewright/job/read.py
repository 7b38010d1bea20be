"""Read a job file and the equipment files that it names.

All problems are told in one go, in the order of the files. Does not belong here: what
YAML admits (`tree`), what a field admits (`kinds`), what must agree (`check`).
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from islewright.collector import collector_paused
from islewright.job.check import check
from islewright.job.checked import NOT_READ
from islewright.job.model import Job
from islewright.job.part import NONE, UNKNOWN
from islewright.job.problem import BadJob, Problem
from islewright.job.quick import SAME, read_quickly, settle
from islewright.job.refusal import Loc, Places, name_the_words, problems_of
from islewright.job.shelf import Shelf, bytes_of
from islewright.job.tree import Node, read_tree


def read_job(path: str | os.PathLike[str]) -> Job:
    """Read a job and its equipment.

    Parameters
    ----------
    path : the job file; equipment files are looked for in its folder and below

    Returns
    -------
    the job, whose parts cannot be changed

    Raises
    ------
    BadJob : the files cannot be taken as a job; it holds every problem, with places
    """
    file = os.fspath(path)
    with collector_paused():
        return read_quickly(file) or _read_with_care(file)


def _read_with_care(file: str) -> Job:
    """Read a job that may be wrong, and tell all that is."""
    problems: list[Problem] = []
    data = bytes_of(Path(file), file, problems)
    root = None if data is None else read_tree(data, file, problems)
    if data is None or root is None:
        raise BadJob(problems)
    _fill_same(root)
    places = Places(root, file, noted=problems)
    job, whole = _job_of(root, places, problems)
    shelf = Shelf(Path(file).parent, places, problems)
    shelf.read(_files_of(root))
    if job is not None:
        job._equipment.update(shelf.entries)  # noqa: SLF001 - the job is still being made
        problems += check(job, places, whole=whole, unread=shelf, refused=bool(problems))
    if problems or job is None:
        raise BadJob(_in_order(problems, [file, *shelf.files]))
    job._input_hash = hashlib.sha256(b"".join([data, *shelf.data])).hexdigest()  # noqa: SLF001
    settle(job, "")
    for model, sheet in job._equipment.items():  # noqa: SLF001
        settle(sheet, model)
    return job


def _fill_same(root: Node) -> None:
    """Fill what holds for all cables or circuits into those that do not state their own."""
    for block, room in SAME.items():
        same, members = root.value.get(block), root.value.get(room)
        if not (same and members and isinstance(same.value, dict)):
            continue
        for member in members.value.values() if isinstance(members.value, dict) else ():
            if isinstance(member.value, dict):
                for key, node in same.value.items():
                    if key not in member.value:
                        member.value[key] = node


def _job_of(root: Node, places: Places, problems: list[Problem]) -> tuple[Job | None, bool]:
    """Read the job; where fields are wrong, read what is left, so that checks can run on it.

    Returns
    -------
    the job, None where too little is left; whether all its parts are there
    """
    raw = root.plain()
    first = True
    whole = True
    while True:
        try:
            return Job.model_validate(raw), whole
        except ValidationError as error:
            if first:
                name_the_words(error, Job, places, problems)
                problems += problems_of(error, Job, places)
            first = False
            cuts = []  # places are looked up before anything goes: one may lie within another
            for each in error.errors(include_url=False, include_context=False):
                loc = tuple(each["loc"])
                if loc in _STAND_INS:
                    whole = whole and loc[-1] != "form"
                    _put(raw, loc, _STAND_INS[loc])
                    continue
                cut = loc[:-1] if each["type"] == "missing" else loc
                whole = whole and len(cut) > 2
                found = _innermost(raw, cut)
                if found is None:
                    return None, False
                cuts.append(found)
            for held, key in cuts:
                held.pop(key, None)


#: what lets the checks run on a job that is refused anyway
_STAND_INS: dict[Loc, str] = {
    ("job", "name"): NOT_READ,
    ("job", "date"): "2000-01-01",
    ("job", "profile"): NOT_READ,
    ("supply", "form"): "three phases",
    ("supply", "nominal voltage"): "230 V",
    ("supply", "frequency"): "50 Hz",
    ("equipment", "islanding switch", "model"): NOT_READ,
    ("equipment", "inverter", "model"): NOT_READ,
}


def _put(raw: Any, loc: Loc, value: str) -> None:
    """Put a value into nested dicts; what leads there is known to be dicts."""
    for step in loc[:-1]:
        raw = raw[step]
    raw[loc[-1]] = value


def _innermost(raw: Any, loc: Loc) -> tuple[Any, Any] | None:
    """What is there of a place: the dict that holds it, and its key; None where nothing is.

    A kind of field with several forms tells of its forms behind the place; a short form or a
    list stands where keys were looked for. So the place may end before its name does.
    """
    found = None
    for step in loc:
        if not isinstance(raw, dict) or step not in raw:
            break
        found, raw = (raw, step), raw[step]
    return found


def _files_of(root: Node) -> Iterator[tuple[Loc, str]]:
    """Equipment files as the head names them, each with its place."""
    head = root.value.get("job")
    named = head.value.get("equipment file") if head and isinstance(head.value, dict) else None
    if named is None:
        return
    loc: Loc = ("job", "equipment file")
    if isinstance(named.value, str):
        if named.value not in (UNKNOWN, NONE):
            yield loc, named.value
    elif isinstance(named.value, list):
        for i, node in enumerate(named.value):
            if isinstance(node.value, str):
                yield (*loc, i), node.value


def _in_order(problems: list[Problem], files: list[str]) -> list[Problem]:
    """Order of the files, each problem once (what holds for all cables is read for each)."""
    once: dict[tuple[object, ...], Problem] = {}
    for p in problems:
        once.setdefault((p.file, p.line, p.column, p.found, p.allowed), p)
    return sorted(once.values(), key=lambda p: (files.index(p.file), p.line, p.column))
