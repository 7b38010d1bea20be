"""The garbage collector, held off while thousands of objects are made that hold no circle."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_paused() -> Iterator[None]:
    """Make objects without the collector looking at each of them two or three times.

    For work that leaves no reference cycles: what it made goes as soon as nobody holds it.
    What lives on counts as old, which a collector that runs its course would find too.
    """
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        if not gc.get_freeze_count():  # else this would thaw what somebody froze
            gc.freeze()
            gc.unfreeze()
        gc.enable()
