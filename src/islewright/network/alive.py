"""Which lines the island feeds, and where they reach; conductors alone, nothing is solved."""

from __future__ import annotations

from islewright.findings import Question
from islewright.job.gap import Unknown
from islewright.job.model import Cable, Circuit, Job
from islewright.job.once import once_a_job, once_a_part
from islewright.job.ways import Way, reached
from islewright.network.places import INVERTER, canonical
from islewright.network.state import Mode
from islewright.network.way import cables_to, is_backed_up


def fed_lines(job: Job) -> tuple[str, ...]:
    """Lines that the inverter drives in island mode.

    Raises
    ------
    Unknown : its output, or the line of a single-phase one, is not stated
    """
    if len(job.phases) == 1 or job.inverter.output != "single-phase":
        return job.phases
    return tuple(job.placement.inverter.line)


@once_a_job
def live_lines(job: Job, place: str) -> tuple[str, ...]:
    """Lines that the island feeds at a board or terminal, by the cores of its cables.

    Raises
    ------
    Unknown : the inverter's lines are not stated
    """
    return tuple([line for line, places in _live_places(job).items() if place in places])


@once_a_job
def _live_places(job: Job) -> dict[str, set[str]]:
    """Places that the island feeds, by line."""
    ways = [
        Way(name, (canonical(cable.from_), canonical(cable.to)), cable.cores)
        for name, cable in _cables_of_the_island(job).items()
    ]
    return {
        line: reached([way for way in ways if line in way.cores], [INVERTER])
        for line in fed_lines(job)
    }


def _cables_of_the_island(job: Job) -> dict[str, Cable]:
    return {
        name: cable
        for name, cable in job.cables.items()
        if cables_to(job, canonical(cable.from_), Mode.ISLAND) is not None
    }


def island_has_board(job: Job) -> None:
    """Stop where the wiring keeps no board fed in island mode.

    Raises
    ------
    Unknown : with the question for the cable that is missing
    """
    if any(is_backed_up(job, board) for board in job.boards):
        return
    if not _cables_of_the_island(job):
        raise Unknown(
            Question(
                field="cables",
                ask="Which cable joins inverter and islanding switch?",
                how="follow the cable from the inverter",
            )
        )
    raise Unknown(Question(field="cables", ask="Which cable feeds a board in island mode?"))


def alive(job: Job, part: Cable | Circuit, lines: tuple[str, ...]) -> tuple[str, ...]:
    """Which of some lines of a circuit or cable the island feeds.

    Raises
    ------
    Unknown : as `live_lines`
    """
    live = _live_at(job, part)
    return tuple([line for line in lines if line in live])


@once_a_part
def _live_at(job: Job, part: Cable | Circuit) -> frozenset[str]:
    """Lines that the island feeds at either end of a circuit or cable."""
    ends = (part.board,) if isinstance(part, Circuit) else (part.from_, part.to)
    return frozenset(line for end in ends for line in live_lines(job, canonical(end)))


@once_a_part
def lies_dead(job: Job, part: Cable | Circuit) -> bool:
    """Whether every line of a circuit or cable is surely dead in island mode."""
    try:
        lines = job.lines_of(part) if isinstance(part, Circuit) else _lines(part.cores)
        return bool(lines) and not alive(job, part, lines)
    except Unknown:
        return False


def _lines(cores: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(core for core in cores if core.startswith("L"))
