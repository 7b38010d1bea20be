"""Two words on one loop: what was read at the house, and what the operator declares.

The worse of the two counts, so a loop that one of them states and the other leaves out is a
gap: the one left out may be the worse. `none` says that there is no second figure.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from islewright.findings import Question
from islewright.job.gap import Gap, Unknown

if TYPE_CHECKING:
    from islewright.job.model import Loops, Supply
    from islewright.job.part import Part
    from islewright.tables.figure import Figure

SOURCES = ("measured", "declared")


class Stated(NamedTuple):
    """One figure of a loop: whose word it is, the group that it stands in, its value."""

    source: str
    loops: Loops
    value: Figure


def told_of(supply: Supply, field: str) -> tuple[list[Stated], list[Question]]:
    """What both words say of one loop, measured first, and what is still to be asked.

    Parameters
    ----------
    field : which figure, such as "line_earth_ohm" [Ω] or "largest_fault_current_a" [A]
    """
    found, asked, left = list[Stated](), list[Question](), list[Question]()
    for source in SOURCES:
        holder: Part = supply
        key = source
        if (loops := _group(supply, source)) is not None:
            holder, key = loops, field
        elif supply.gap(source) is None:
            continue  # nobody's word: `none`
        gap = holder.gap(key)
        if gap is not None:
            (asked if gap is Gap.UNKNOWN else left).append(holder.question(key))
        elif loops is not None and (value := getattr(loops, field)) is not None:
            found.append(Stated(source, loops, value))
    return found, asked + left if found else asked


def _group(supply: Supply, source: str) -> Loops | None:
    return getattr(supply, source) if supply.has(source) else None


def known_of(supply: Supply, field: str) -> list[Stated]:
    """The same, where nothing is left to ask.

    Raises
    ------
    Unknown : neither word states it, or one of them may state a worse one
    """
    found, asked = told_of(supply, field)
    if asked:
        raise Unknown(*asked)
    if not found:
        raise Unknown(question_of(supply, field))
    return found


def question_of(supply: Supply, field: str) -> Question:
    """What to ask where neither word states a loop: a reading, else the operator's figure."""
    for source in SOURCES:
        if supply.gap(source) is not None:
            return supply.question(source)
        if (loops := _group(supply, source)) is not None:
            return loops.question(field)
    return supply.question(SOURCES[0])
