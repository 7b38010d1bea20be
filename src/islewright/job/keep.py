"""Files that are whole or not there: what was written before stays until all of the new is.

Does not belong here: what stands in a file (`write`, and the rooms that make papers).
"""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path

__all__ = ["keep_bytes", "keep_text"]


def keep_text(path: str | os.PathLike[str], text: str) -> None:
    """Put a text into a file as UTF-8, as `keep_bytes` does; ends of line stay as they are."""
    keep_bytes(path, text.encode("utf-8"))


def keep_bytes(path: str | os.PathLike[str], data: bytes) -> None:
    """Put bytes into a file, whole; whatever interrupts it leaves the old file.

    The new content is written beside the old and takes its name in one step.

    Parameters
    ----------
    path : the file; through a link, the file that it leads to
    data : all that shall stand in it

    Raises
    ------
    OSError : the folder or the file cannot be written; what was there is there still
    """
    target = Path(path).resolve()
    if target.exists() and not target.is_file():  # a pipe or a device has nothing to lose
        target.write_bytes(data)
        return
    handle, beside = tempfile.mkstemp(prefix=f".{target.name[:40]}.", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as opened:
            opened.write(data)
            opened.flush()
            os.fsync(opened.fileno())
        Path(beside).chmod(_mode_of(target))
        Path(beside).replace(target)
    except BaseException:
        with suppress(OSError):
            Path(beside).unlink()
        raise


def _mode_of(target: Path) -> int:
    """Who may read it: as before; a new file as any program makes it."""
    try:
        return target.stat().st_mode & 0o777
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask
