"""Chapter: which way devices are fed, arc-fault devices among them."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import NamedTuple

from islewright.findings import Question, Status, Verdict
from islewright.job.arc_fault import ArcFault
from islewright.job.device import Device, Residual
from islewright.job.gap import Unknown
from islewright.job.model import Cable, Circuit, Job
from islewright.job.once import once_a_job
from islewright.job.part import Part
from islewright.network.places import INVERTER, canonical
from islewright.network.state import Mode
from islewright.network.watched import pv_board
from islewright.network.way import cables_to, source_end
from islewright.rules.registry import Here, rule, undecided
from islewright.rules.study import Study


class Fed(NamedTuple):
    """A device at a cable: what it is called, and its word on the direction, or what to ask."""

    name: str
    feed: str
    asks: tuple[Question, ...] = ()


@rule(
    "feed.two-way",
    over="cables",
    modes=[Mode.GRID],
    title="A device that is fed from both sides must be made for it",
    clauses=[
        "IEC 60364-5-53:2019, 531.1 with the maker's instructions (from memory)",
        "BS 7671:2018+A3:2024, 530.3.201",
    ],
)
def two_way(study: Study, here: Here) -> Verdict | None:
    """Fed from both sides in some mode → the device says "two-way"

    Everything between the public supply and the inverter is: either may stand behind it. A
    device with marked line and load terminals keeps its electronics under voltage after it has
    tripped, and is lost unnoticed. A fuse has no direction.
    """
    job = study.job
    surely = here.name in _fed_from_both(job)
    asks = _asked(job)[here.name]
    found = list(_devices(job, here.name, job.cables[here.name])) if surely or asks else []
    if not found:
        return None
    verdict = _both_ways(found)
    return verdict if surely or verdict.status is Status.MET else undecided(Unknown(*asks))


@rule(
    "feed.two-way-circuit",
    over="circuits, fed or not",
    modes=[Mode.GRID],
    title="The devices of a circuit into which a source feeds must bear feeding from both sides",
    clauses=[
        "IEC 60364-5-53:2019, 531.1 with the maker's instructions (from memory)",
        "BS 7671:2018+A3:2024, 530.3.201",
    ],
)
def two_way_circuit(study: Study, here: Here) -> Verdict | None:
    """A source in the circuit → its devices, and the RCD before them, say "two-way"

    After such a device has tripped the source still feeds its load side for a moment.
    """
    circuit = study.job.circuits[here.name]
    if circuit.source_a is None:
        return None
    found = list(_devices(study.job, here.name, circuit))
    return _both_ways(found) if found else None


def _both_ways(found: list[Fed]) -> Verdict:
    """Devices that are fed from both sides, by what they say of it."""
    wrong = [fed for fed in found if fed.feed == "one-way"]
    asks = [question for fed in found for question in fed.asks]
    because = [f"{fed.name}: {fed.feed or 'not known'}" for fed in found]
    if wrong:
        return Verdict(
            status=Status.NOT_MET,
            because=because,
            means="Fed from its load side it may be destroyed, and then protects no more.",
            remedies=[lambda: f"Fit a device that may be fed from both sides as {wrong[0].name}."],
            confirmed="page",
        )
    status = Status.UNDECIDED if asks else Status.MET
    return Verdict(status=status, because=because, questions=asks, confirmed="page")


@once_a_job
def _fed_from_both(job: Job) -> frozenset[str]:
    """Cables between the supply and a source of the house, and those that turn with the mode."""
    found = _ways_to(job, INVERTER, Mode.GRID)
    with contextlib.suppress(Unknown):  # `_asked` has its question
        found |= _ways_to(job, pv_board(job) or "", *Mode)
    for circuit in job.circuits.values():
        if circuit.has("source_a"):
            found |= _ways_to(job, circuit.board, Mode.GRID)
    for name, cable in job.cables.items():
        ends = {source_end(job, cable, mode) for mode in Mode if _is_fed(job, cable, mode)}
        if len(ends) > 1:
            found.add(name)
    return frozenset(found)


def _ways_to(job: Job, place: str, *modes: Mode) -> set[str]:
    return {name for mode in modes for name, _ in cables_to(job, place, mode) or ()}


@once_a_job
def _asked(job: Job) -> dict[str, list[Question]]:
    """What is not known of sources that may feed through a cable, by the cable's name."""
    asked: dict[str, list[Question]] = {name: [] for name in job.cables}
    try:
        pv_board(job)
    except Unknown as gap:  # it may lie at any board
        asked = {name: [*gap.questions] for name in job.cables}
    for circuit in job.circuits.values():
        if circuit.gap("source_a") is not None:
            for name in _ways_to(job, circuit.board, Mode.GRID):
                asked[name].append(circuit.question("source_a"))
    return asked


def _is_fed(job: Job, cable: Cable, mode: Mode) -> bool:
    return cables_to(job, canonical(cable.from_), mode) is not None


def _devices(job: Job, name: str, cable: Cable | Circuit) -> Iterator[Fed]:
    """Device, residual part, arc-fault device and group RCD; ahead of the tails the main fuse."""
    board = cable.board if isinstance(cable, Circuit) else cable.from_
    if board == "supply":
        yield from _main_fuse(job)
    if cable.gap("device") is not None:
        yield Fed(f"device of {name}", "", (cable.question("device"),))
    elif cable.device is not None and cable.device.curve != "gG":
        yield from _device(f"device of {name}", cable.device)
    if cable.gap("arc_fault") is not None:
        yield Fed(f"arc-fault device of {name}", "", (cable.question("arc_fault"),))
    elif cable.arc_fault is not None:
        yield _word(f"arc-fault device of {name}", cable.arc_fault)
    if cable.behind is not None:
        yield _word(cable.behind, job.boards[board].rcds[cable.behind])


def _main_fuse(job: Job) -> Iterator[Fed]:
    """A breaker as main fuse; what nobody knows of it."""
    if job.supply.gap("main_fuse") is not None:
        yield Fed("main fuse", "", (job.supply.question("main_fuse"),))
        return
    fuse = job.supply.main_fuse
    if fuse.gap("curve") is not None:
        yield Fed("main fuse", "", (fuse.question("curve"),))
    elif fuse.curve != "gG":
        yield from _device("main fuse", fuse)


def _device(name: str, device: Device) -> Iterator[Fed]:
    yield _word(name, device)
    if device.gap("residual") is not None:
        yield Fed(f"RCD of {name}", "", (device.question("residual"),))
    elif device.residual is not None:
        yield _word(f"RCD of {name}", device.residual)


def _word(name: str, part: Part) -> Fed:
    assert isinstance(part, Device | Residual | ArcFault)  # noqa: S101 - these have a direction
    if part.gap("feed") is not None:
        return Fed(name, "", (part.question("feed"),))
    return Fed(name, part.feed)


@rule(
    "feed.arc-fault",
    over="circuits, fed or not",
    modes=[Mode.GRID],
    title="An arc-fault device must sit where its circuit begins, its line side to the board",
    clauses=[
        "IEC 60364-4-42:2010+A1:2014, 421.7 (from memory)",
        "BS 7671:2018, 421.1.7, 532.6 (from memory)",
    ],
)
def arc_fault(study: Study, here: Here) -> Verdict | None:
    """At the origin, and two-way or with its line terminals to the board → it watches the circuit

    Ahead of it no arc is found; turned round, its electronics stay under voltage after it has
    tripped.
    """
    device = study.job.circuits[here.name].arc_fault
    if device is None:
        return None
    origin, turned = device.at == "origin", False
    because = [f"it sits at: {device.at}"]
    if origin:
        turned = device.feed == "one-way" and device.line_terminals == "load"
        facing = f", line terminals to the {device.line_terminals}" if turned else ""
        because.append(f"{device.feed}{facing}")
    if origin and not turned:
        return Verdict(status=Status.MET, because=because, confirmed="memory")
    return Verdict(
        status=Status.NOT_MET,
        because=because,
        means="" if turned else "The cable between board and device is not watched.",
        remedies=[
            lambda: (
                "Fit it the other way round, its line terminals to the board."
                if turned
                else "Move it to the board, where the circuit begins."
            )
        ],
        confirmed="memory",
    )
