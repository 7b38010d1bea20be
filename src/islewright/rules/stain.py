"""Which gaps stain every network figure of a place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from islewright.findings import Question
from islewright.network.places import MET, canonical
from islewright.network.state import Mode
from islewright.network.way import cables_to
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here

if TYPE_CHECKING:
    from islewright.rules.study import Study


@once_a_study
def stains(study: Study, here: Here) -> tuple[Question, ...]:
    """Gaps at a place and on the way to it, and those that stain the whole mode."""
    own = study.net.parts.missing.get(here.part, ())
    cable = study.job.cables.get(here.name) if here.kind == "cable" else None
    ends = (here.board,) if cable is None else (canonical(cable.from_), canonical(cable.to))
    shared = _before(study, ends, here.mode)
    return tuple(dict.fromkeys((*own, *shared))) if own else shared


@once_a_study
def _before(study: Study, ends: tuple[str, ...], mode: Mode) -> tuple[Question, ...]:
    """Gaps on the way to some places, and those that stain the whole mode."""
    missing = study.net.parts.missing
    stained = [*_on_the_way(study, ends, mode)]
    if mode is Mode.GRID:
        stained.append("supply")
        if study.job.supply.system_earthing in ("TT", "TN-S"):
            stained.append(MET)
        if study.job.supply.system_earthing == "TT":
            stained.append("electrode")
    else:
        stained += ["inverter", "bond"]
    why = [question for what in stained for question in missing.get(what, ())]
    if mode is Mode.ISLAND:
        why += study.island_faults.limit_missing
    return tuple(dict.fromkeys(why))


def _on_the_way(study: Study, ends: tuple[str, ...], mode: Mode) -> Iterator[str]:
    """Some places, and the cables between a mode's source and them."""
    for end in ends:
        yield f"place {end}"
        for name, _ in cables_to(study.job, end, mode) or ():
            yield f"cable {name}"
