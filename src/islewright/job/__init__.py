"""What the electrician knows: a job file read, checked and turned into parts.

Belongs here: the parts of a job and what a gap in them means, reading with positions,
checks of names and references, open questions, the schema, writing it as a file again.
Does not belong here: anything computed from a job (`network`, `rules`), figures of a
standard (`tables`).

    BadJob      the file cannot be taken as a job; holds all its problems
    Unknown     a figure was asked for that the job does not state
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from islewright.job.gap import Gap, Unknown
    from islewright.job.model import Job
    from islewright.job.problem import BadJob, Problem
    from islewright.job.read import read_job
    from islewright.job.schema import job_schema
    from islewright.job.write import save_job, write_equipment, write_job

__all__ = [
    "BadJob",
    "Gap",
    "Job",
    "Problem",
    "Unknown",
    "job_schema",
    "read_job",
    "save_job",
    "write_equipment",
    "write_job",
]

_FILE_OF = {
    "BadJob": "problem",
    "Gap": "gap",
    "Job": "model",
    "Problem": "problem",
    "Unknown": "gap",
    "job_schema": "schema",
    "read_job": "read",
    "save_job": "write",
    "write_equipment": "write",
    "write_job": "write",
}


def __getattr__(name: str) -> object:
    """Load a name when it is first asked for: the models take a while to build."""
    if name not in _FILE_OF:
        raise AttributeError(f"islewright.job has no {name!r}")
    found: object = getattr(import_module(f"islewright.job.{_FILE_OF[name]}"), name)
    globals()[name] = found
    return found
