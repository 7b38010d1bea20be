"""Which lines hang together with a source: a current fed into a loose line has nowhere to go."""

from __future__ import annotations

from islewright.job.model import Job
from islewright.job.ways import INVERTER, SUPPLY, Way, reached, ways_of


def joined_lines(job: Job, place: str, *, island: bool) -> tuple[str, ...]:
    """Lines that cables lead, with a neutral, from the supply to a place, switches closed.

    Parameters
    ----------
    island : from the inverter instead, the poles of the islanding switch open
    """
    ways = [way for way in ways_of(job) if way.name or not island]
    start = [INVERTER if island else SUPPLY]
    if place not in reached([way for way in ways if _carries_neutral(way)], start):
        return ()
    return tuple(
        line
        for line in job.phases
        if place in reached([way for way in ways if line in way.cores], start)
    )


def _carries_neutral(way: Way) -> bool:
    return "N" in way.cores or "PEN" in way.cores
