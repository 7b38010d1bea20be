"""Read a job file and the equipment files that it names.

All problems are told in one go, in the order of the files. Does not belong here: what
YAML admits (`tree`), what a field admits (`kinds`), what must agree (`check`).
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path, PurePath
from typing import Any

from pydantic import ValidationError

from islewright.job.check import NOT_READ, check
from islewright.job.equipment import KINDS, AnyEquipment
from islewright.job.model import Job
from islewright.job.part import NONE, UNKNOWN, Named, Part, fields_of, parts_in
from islewright.job.problem import BadJob, Problem, nearest
from islewright.job.refusal import Loc, Places, problems_of
from islewright.job.tree import REFUSED, Node, read_tree

LARGEST_BYTES = 1_000_000
_SAME = {"same for all cables": "cables", "same for all circuits": "circuits"}


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
    problems: list[Problem] = []
    data = _bytes_of(Path(file), file, problems)
    root = None if data is None else read_tree(data, file, problems)
    if data is None or root is None:
        raise BadJob(problems)
    _fill_same(root)
    places = Places(root, file, noted=problems)
    job, whole = _job_of(root, places, problems)
    shelf = _Shelf(Path(file).parent, places, problems)
    shelf.read(_files_of(root))
    if job is not None:
        job._equipment.update(shelf.entries)  # noqa: SLF001 - the job is still being made
        problems += check(job, places, whole=whole, unread=shelf)
    if problems or job is None:
        raise BadJob(_in_order(problems, [file, *shelf.files]))
    job._input_hash = hashlib.sha256(b"".join([data, *shelf.data])).hexdigest()  # noqa: SLF001
    _settle(job, "")
    for model, sheet in job._equipment.items():  # noqa: SLF001
        _settle(sheet, model)
    return job


def _bytes_of(path: Path, file: str, problems: list[Problem]) -> bytes | None:
    """Read a whole file, unless it is absent or too large."""
    allowed = ""
    try:
        if not path.is_file():
            allowed = "there is no such file"
        elif path.stat().st_size > LARGEST_BYTES:
            allowed = f"the file is larger than {LARGEST_BYTES // 1_000_000} MB; no job is"
        else:
            with path.open("rb") as opened:
                return opened.read(LARGEST_BYTES)
    except (OSError, ValueError) as bad:
        allowed = f"the file cannot be read ({getattr(bad, 'strerror', None) or bad})"
    problems.append(Problem(file=file, line=0, column=0, path="", found="", allowed=allowed))
    return None


def _fill_same(root: Node) -> None:
    """Fill what holds for all cables or circuits into those that do not state their own."""
    for block, room in _SAME.items():
        same, members = root.value.get(block), root.value.get(room)
        if not (same and members and isinstance(same.value, dict)):
            continue
        for member in members.value.values() if isinstance(members.value, dict) else ():
            if isinstance(member.value, dict):
                for key, node in same.value.items():
                    if key not in member.value:
                        member.value[key] = node
                        member.keys[key] = same.keys[key]


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
                problems += problems_of(error, Job, places)
            first = False
            for each in error.errors(include_url=False, include_context=False):
                loc = tuple(each["loc"])
                if loc in _STAND_INS:
                    whole = whole and loc[-1] != "form"
                    _put(raw, loc, _STAND_INS[loc])
                    continue
                cut = loc[:-1] if each["type"] == "missing" else loc
                whole = whole and len(cut) > 2
                if not _cut(raw, cut):
                    return None, False


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


def _cut(raw: Any, loc: Loc) -> bool:
    """Take a value out of nested dicts, or what holds it; False where the whole would go."""
    for step in loc[:-1]:
        held = raw.get(step)
        if not isinstance(held, dict):
            raw.pop(step, None)  # a short form, or a list; or it went with another one
            return True
        raw = held
    if loc:
        raw.pop(loc[-1], None)
    return bool(loc)


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


class _Shelf:
    """The equipment that a job can choose from, out of all its files."""

    def __init__(self, folder: Path, places: Places, problems: list[Problem]) -> None:
        self.folder, self.places, self.problems = folder, places, problems
        self.entries: dict[str, AnyEquipment] = {}
        self.files: list[str] = []
        self.data: list[bytes] = []
        self._whole = True
        self._first: dict[str, str] = {}

    def __contains__(self, model: object) -> bool:
        """Whether a model may well be described, but could not be read."""
        return not self._whole or (model in self._first and model not in self.entries)

    def read(self, named: Iterator[tuple[Loc, str]]) -> None:
        """Read every file once."""
        for loc, name in named:
            if self._stays_inside(name):
                self._read_file(loc, name)
            else:
                allowed = "an equipment file lies in the job's folder or below it"
                self._refuse(loc, name, allowed)

    def _refuse(self, loc: Loc, name: str, allowed: str) -> None:
        self._whole = False
        self.problems.append(self.places.problem(loc, name, allowed))

    def _stays_inside(self, name: str) -> bool:
        pure = PurePath(name)
        if pure.is_absolute() or ".." in pure.parts or not name.isprintable():
            return False
        return (self.folder / pure).resolve().is_relative_to(self.folder.resolve())

    def _read_file(self, loc: Loc, name: str) -> None:
        path = self.folder / name
        file = str(path)
        if file in self.files:
            self._refuse(loc, name, "the file is named twice")
            return
        if not path.is_file():
            self._refuse(loc, name, "there is no such file in the job's folder")
            return
        self.files.append(file)
        data = _bytes_of(path, file, self.problems)
        root = None if data is None else read_tree(data, file, self.problems)
        if data is None or root is None:
            self._whole = False
            return
        self.data.append(data)
        for model, node in root.value.items():
            self._entry(model, node, Places(root, file, noted=self.problems))

    def _entry(self, model: str, node: Node, places: Places) -> None:
        """Read the sheet of one model."""
        if model in self._first:
            allowed = f"{self._first[model]} describes it already; each model stands once"
            self.problems.append(places.problem((model,), model, allowed, at_key=True))
            return
        self._first[model] = places.file
        kind = node.value.get("kind") if isinstance(node.value, dict) else None
        if node.value is REFUSED or (kind is not None and kind.value is REFUSED):
            return
        sheet = KINDS.get(kind.value) if kind and isinstance(kind.value, str) else None
        if sheet is None:
            self.problems.append(self._no_kind(model, kind, places))
            return
        try:
            self.entries[model] = sheet.model_validate(node.plain())
        except ValidationError as error:
            inner = Places(node, places.file, (model,), noted=self.problems)
            self.problems += problems_of(error, sheet, inner)

    @staticmethod
    def _no_kind(model: str, kind: Node | None, places: Places) -> Problem:
        allowed = "one of: " + ", ".join(KINDS)
        if kind is None:
            return places.problem(
                (model,), "", f"`kind` must be stated, {allowed}", at_key=True
            )  # fmt: skip
        found = kind.value if isinstance(kind.value, str) else "a group of keys"
        close = nearest(found, list(KINDS))
        return places.problem((model, "kind"), found, f"{allowed}; {close}")


def _in_order(problems: list[Problem], files: list[str]) -> list[Problem]:
    """Order of the files, each problem once (what holds for all cables is read for each)."""
    once: dict[tuple[object, ...], Problem] = {}
    for p in problems:
        once.setdefault((p.file, p.line, p.column, p.found, p.allowed), p)
    return sorted(once.values(), key=lambda p: (files.index(p.file), p.line, p.column))


def _settle(part: Part, path: str) -> None:
    """Tell every part where it stands in the file, and make its groups unchangeable."""
    part._path = path  # noqa: SLF001 - only reading knows the path
    for below, held in parts_in(part):
        _settle(held, ".".join((path, *below) if path else below))
    for known in fields_of(type(part)).values():
        if known.named and part.has(known.name):
            part.__dict__[known.name] = Named(part.__dict__[known.name])
