"""A house with backup power, checked in every state of its supply.

The names below are all that other programs need: read a job, study it, go through
its findings, write the pack. Each loads on first use, so that `import islewright`
stays as quick as Python itself.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from islewright.findings import Finding, Status
    from islewright.job import BadJob, Unknown, job_schema, read_job
    from islewright.network import Mode, State
    from islewright.papers import write_pack
    from islewright.rules.study import study

__version__ = "0.1.0"

__all__ = [
    "BadJob",
    "Finding",
    "Mode",
    "State",
    "Status",
    "Unknown",
    "job_schema",
    "read_job",
    "study",
    "write_pack",
]

_ROOM_OF = {
    "BadJob": "job",
    "Finding": "findings",
    "Mode": "network",
    "State": "network",
    "Status": "findings",
    "Unknown": "job",
    "job_schema": "job",
    "read_job": "job",
    "study": "rules",
    "write_pack": "papers",
}


def __getattr__(name: str) -> object:
    """Load an exported name from its room when it is first asked for."""
    if name not in _ROOM_OF:
        raise AttributeError(f"islewright has no {name!r}; it has {', '.join(__all__)}")
    found: object = getattr(import_module(f"islewright.{_ROOM_OF[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
