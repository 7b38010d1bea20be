"""The equipment that a job can choose from: the sheets in all the files that it names.

A job file may come from a stranger, so nothing outside its own folder is read.
"""

from __future__ import annotations

import stat
from collections.abc import Iterator
from pathlib import Path, PurePath

from pydantic import ValidationError

from islewright.job.equipment import KINDS, AnyEquipment
from islewright.job.problem import Problem, nearest
from islewright.job.refusal import Loc, Places, name_the_words, problems_of
from islewright.job.tree import REFUSED, Node, read_tree

LARGEST_BYTES = 1_000_000


def bytes_of(path: Path, file: str, problems: list[Problem]) -> bytes | None:
    """Read a whole file, unless it is absent or too large."""
    allowed = ""
    try:
        if path.is_dir():
            allowed = "this is a folder; name the job file in it"
        elif not path.is_file():
            allowed = "there is no such file"
        elif path.stat().st_size > LARGEST_BYTES:
            allowed = f"the file is larger than {LARGEST_BYTES // 1_000_000} MB; no job is"
        else:
            return path.read_bytes()
    except (OSError, ValueError) as bad:
        allowed = f"the file cannot be read ({getattr(bad, 'strerror', None) or bad})"
    problems.append(Problem(file=file, line=0, column=0, path="", found="", allowed=allowed))
    return None


def stays_inside(folder: Path, name: str) -> bool:
    """Whether a file lies in a folder or below it, links followed."""
    pure = PurePath(name)
    if pure.is_absolute() or ".." in pure.parts or not name.isprintable():
        return False
    if len(pure.parts) == 1 and _is_no_link(folder / pure):
        return True  # in the folder itself
    try:
        return (folder / pure).resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # such as a link to itself
        return False


def _is_no_link(path: Path) -> bool:
    """Whether a file is there, and is one by itself."""
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except OSError:
        return False


class Shelf:
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
            if stays_inside(self.folder, name):
                self._read_file(loc, name)
            else:
                allowed = "an equipment file lies in the job's folder or below it"
                self._refuse(loc, name, allowed)

    def _refuse(self, loc: Loc, name: str, allowed: str) -> None:
        self._whole = False
        self.problems.append(self.places.problem(loc, name, allowed))

    def _read_file(self, loc: Loc, name: str) -> None:
        path = self.folder / name
        file = str(path)
        if file in self.files:
            self._refuse(loc, name, "the file is named twice")
            return
        if not _is_there(path):
            self._refuse(loc, name, "there is no such file in the job's folder")
            return
        self.files.append(file)
        data = bytes_of(path, file, self.problems)
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
            name_the_words(error, sheet, inner, self.problems)
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


def _is_there(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # such as too long a name
        return False
