"""A job under check, and what every check asks of it.

Belongs here: what the file names, as it stands in the file, and how a wrong name is told.
Does not belong here: any particular check (`references`, `conductors`).
"""

from __future__ import annotations

import functools
from collections.abc import Collection, Container, Iterator
from typing import Any

from islewright.job.model import Job, Placed
from islewright.job.part import Part, fields_of
from islewright.job.problem import Problem, nearest
from islewright.job.refusal import Loc, Places
from islewright.job.ways import INVERTER, SAME_BAR, SUPPLY, Way, reached, ways_of

#: stands for a name that could not be read, in a job that is refused anyway
NOT_READ = "?"
#: places that every job has; no board, cable or circuit is called so
RESERVED = ("supply", "islanding switch", "inverter", "main earthing terminal")


class Checked:
    """A job under check: what it names, where problems belong, whether there are some already."""

    def __init__(
        self,
        job: Job,
        places: Places,
        *,
        whole: bool,
        unread: Container[str],
        refused: bool = False,
    ) -> None:
        self.job, self.places, self.refused = job, places, refused
        self.whole, self.unread = whole, unread
        self.boards = places.names("boards")
        self.circuits = places.names("circuits")
        self.cables = places.names("cables")
        self.ends = (*SAME_BAR, *self.boards)

    @functools.cached_property
    def ways(self) -> list[Way]:
        """Cables and the closed islanding switch."""
        return ways_of(self.job)

    @functools.cached_property
    def fed(self) -> set[str]:
        """Places that cables reach from the supply or the inverter."""
        return reached(self.ways, [SUPPLY, INVERTER])

    def is_stand_in(self, name: str) -> bool:
        """Whether a name was put in for one that could not be read, which is told already."""
        return self.refused and name == NOT_READ

    def refer(self, loc: Loc, name: str, known: Collection[str], what: str) -> Iterator[Problem]:
        """Hold a name against those that there are."""
        if name not in known:
            names = list(known)
            yield self.places.problem(loc, name, nearest(name, names), why=f"which is no {what}")


def stated(part: Part, name: str) -> Any:
    """What is stated at a field; None for a gap."""
    held = part.__dict__
    if name in held:
        return held[name]
    part.gap(name)  # which no misspelt name gets past
    return None


def placed_in(job: Job) -> Iterator[tuple[str, Placed]]:
    """Equipment that the job places, each with its key."""
    for key, known in fields_of(type(job.placement)).items():
        placed = stated(job.placement, known.name)
        if placed is not None:
            yield key, placed
