"""A job that nothing is wrong with, read without positions: the way that nearly all files take.

At the first thing that is odd, be it spelling, a field or a name, this gives up and says
nothing; `read` then goes through the same files with care and tells all that is wrong. Both
ways fill the same model by the same checks. Does not belong here: any message.
"""

from __future__ import annotations

import hashlib
import os
import stat
from pathlib import Path
from typing import NoReturn

from islewright.job.check import agrees
from islewright.job.checked import Checked
from islewright.job.direct import make
from islewright.job.equipment import KINDS, AnyEquipment
from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.job.part import Named, Part, groups_of, parts_in
from islewright.job.plain import Tree, read_plain
from islewright.job.plan import Odd
from islewright.job.refusal import Places
from islewright.job.shelf import LARGEST_BYTES, stays_inside
from islewright.job.tree import REFUSED, Node

SAME = {"same for all cables": "cables", "same for all circuits": "circuits"}


class _Nowhere:
    line = column = 0


class _Unplaced(Places):
    """The names of a file; a problem has no place here, so it ends the quick way."""

    def __init__(self, raw: Tree) -> None:
        super().__init__(Node(REFUSED, _Nowhere(), _Nowhere()), "")
        self._raw = raw

    def names(self, room: str) -> tuple[str, ...]:
        """Names in one room of the file."""
        return tuple(self._raw[room])

    def rcds_of(self, board: str) -> list[str]:
        """Names of a board's RCDs."""
        rcds = self._raw["boards"][board].get("RCDs", ())
        return [] if rcds.__class__ is str else list(rcds)

    def problem(self, *_: object, **__: object) -> NoReturn:
        """Something is wrong."""
        raise Odd


def read_quickly(file: str) -> Job | None:
    """Read a job and its equipment; None where anything about them is odd.

    Parameters
    ----------
    file : path of the job file
    """
    try:
        return _read(Path(file))
    except (Odd, Unknown, OSError, ValueError, TypeError, LookupError):
        return None
    except AttributeError:  # a text where a group is looked for, or the other way round
        return None


def _read(path: Path) -> Job:
    data = [_bytes_of(path)]
    raw = _plain(data[0])
    for block, room in SAME.items():
        _fill(raw, block, room)
    weighed: list[Part] = []
    job: Job = make(Job, raw, "", weighed)
    sheets = _sheets(path.parent, job.head.equipment_files, data)
    job.model_post_init(None)
    job._equipment.update(sheets)  # noqa: SLF001 - the job is still being made
    if not agrees(Checked(job, _Unplaced(raw), whole=True, unread=()), weighed):
        raise Odd
    job._input_hash = hashlib.sha256(b"".join(data)).hexdigest()  # noqa: SLF001
    return job


def _sheets(folder: Path, files: tuple[str, ...], data: list[bytes]) -> dict[str, AnyEquipment]:
    """Sheets of all models; what the files hold is added to `data`."""
    sheets: dict[str, AnyEquipment] = {}
    for name in dict.fromkeys(files):
        if not stays_inside(folder, name):
            raise Odd
        data.append(_bytes_of(folder / name))
        for model, raw in _plain(data[-1]).items():
            if model in sheets:
                raise Odd
            sheets[model] = make(KINDS[raw["kind"]], raw, model, [])
    return sheets


def _bytes_of(path: Path) -> bytes:
    with path.open("rb") as opened:
        about = os.fstat(opened.fileno())
        if not stat.S_ISREG(about.st_mode) or about.st_size > LARGEST_BYTES:
            raise Odd
        return opened.read()


def _plain(data: bytes) -> Tree:
    raw = read_plain(data)
    if raw is None:
        raise Odd
    return raw


def _fill(raw: Tree, block: str, room: str) -> None:
    """Fill what holds for all cables or circuits into those that do not state their own."""
    same, members = raw.get(block), raw.get(room)
    if same and members and same.__class__ is dict and members.__class__ is dict:
        for member in members.values():
            if member.__class__ is dict:
                for key, value in same.items():
                    if key not in member:
                        member[key] = value


def settle(part: Part, path: str) -> list[Part]:
    """Tell every part where it stands in the file, and make its groups unchangeable.

    Returns
    -------
    the part and all that lie below it
    """
    held = part.__dict__
    held["_path"] = path  # only reading knows it
    found = [part]
    for below, inner in parts_in(part):
        found += settle(inner, ".".join((path, *below) if path else below))
    for name in groups_of(type(part)):
        group = held.get(name)
        if group is not None:
            held[name] = Named(group)
    return found
