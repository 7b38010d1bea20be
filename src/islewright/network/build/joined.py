"""Which lines hang together with a source: a current fed into a loose line has nowhere to go."""

from __future__ import annotations

from islewright.job.model import Job
from islewright.job.once import once_a_job
from islewright.job.ways import INVERTER, SUPPLY, Way, reached, ways_of


def joined_lines(job: Job, place: str, *, island: bool) -> tuple[str, ...]:
    """Lines that cables lead, with a neutral, from the supply to a place, switches closed.

    Parameters
    ----------
    island : from the inverter instead, the poles of the islanding switch open
    """
    places = _joined(job, island)
    if place not in places["N"]:
        return ()
    return tuple([line for line in job.phases if place in places[line]])


@once_a_job
def _joined(job: Job, island: bool) -> dict[str, set[str]]:  # noqa: FBT001 - by position, for once
    """Places that hang together with the source, by line and by neutral."""
    ways = [way for way in ways_of(job) if way.name or not island]
    start = [INVERTER if island else SUPPLY]
    found = {"N": reached([way for way in ways if _carries_neutral(way)], start)}
    for line in job.phases:
        found[line] = reached([way for way in ways if line in way.cores], start)
    return found


def _carries_neutral(way: Way) -> bool:
    return "N" in way.cores or "PEN" in way.cores
