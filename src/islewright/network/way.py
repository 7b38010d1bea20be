"""The way from a source to a circuit, cable by cable and device by device.

Used where a person must be able to redo a sum by hand, and to name who stands in the
way of a fault. Pure names; nothing is solved.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from islewright.findings import Question
from islewright.job.device import Device, Residual
from islewright.job.gap import Unknown
from islewright.job.model import Cable, Circuit, Job
from islewright.job.once import once_a_job
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, INVERTER, bar_behind, canonical
from islewright.network.state import Mode

#: stands in a device's name for what the job does not state
NOT_KNOWN = "(not known)"


class Guard(NamedTuple):
    """A device in the way of a fault current.

    `role` is "device" or "RCD"; `name` as people say it; `branch` the contact group of
    the network ("device NAME" and "RCBO NAME" for a circuit's own); `leaves` what stays
    alive once it has opened, in words; `bar` the place whose voltage an RCD has, "" for what
    needs none. Where the job does not state the part itself, or
    whether it is there, `device` and `residual` are None and `asks` holds the question.
    """

    role: str
    name: str
    branch: str
    device: Device | None = None
    residual: Residual | None = None
    leaves: str = ""
    asks: tuple[Question, ...] = ()
    bar: str = ""

    def must_be_known(self) -> None:
        """Stop where nobody knows what stands here.

        Raises
        ------
        Unknown : with its question
        """
        if self.asks:
            raise Unknown(*self.asks)


@once_a_job
def cables_to(job: Job, board: str, mode: Mode) -> tuple[tuple[str, Cable], ...] | None:
    """Cables from the mode's source to a board, source first; None when it is not fed.

    In island mode the source is the inverter and the poles of the switch stand open.
    """
    trail = _trail(job, mode)
    if board not in trail:
        return None
    names: list[str] = []
    step = trail[board]
    while step is not None:
        names.append(step[0])
        step = trail[step[1]]
    return tuple((name, job.cables[name]) for name in reversed(names) if name)


@once_a_job
def _trail(job: Job, mode: Mode) -> dict[str, tuple[str, str] | None]:
    """Each place that a mode's source reaches, with the cable and the place before it."""
    start = "supply" if mode is Mode.GRID else INVERTER
    links: dict[str, list[tuple[str, str]]] = {}
    for name, cable in job.cables.items():
        a, b = canonical(cable.from_), canonical(cable.to)
        links.setdefault(a, []).append((name, b))
        links.setdefault(b, []).append((name, a))
    if mode is Mode.GRID:
        links.setdefault(GRID_SIDE, []).append(("", HOUSE_SIDE))
        links.setdefault(HOUSE_SIDE, []).append(("", GRID_SIDE))
    trail: dict[str, tuple[str, str] | None] = {start: None}
    queue = [start]
    for place in queue:
        for name, other in links.get(place, ()):
            if other not in trail:
                trail[other] = (name, place)
                queue.append(other)
    return trail


def may_lie_together(one: Circuit, other: Circuit) -> bool:
    """Whether two circuits lie behind the same RCD or none, or may do as far as is known."""
    if one.board != other.board:
        return False
    if one.gap("behind") is not None or other.gap("behind") is not None:
        return True
    return one.behind == other.behind


@once_a_job
def circuits_of(job: Job, board: str) -> dict[str, Circuit]:
    """Circuits of a board, by name."""
    return {name: each for name, each in job.circuits.items() if each.board == board}


@once_a_job
def guards_of_circuit(job: Job, name: str, mode: Mode) -> tuple[Guard, ...]:
    """Devices that an earth fault at the end of a circuit meets, circuit first."""
    return (*_guards_below(job, name), *guards_upstream(job, job.circuits[name].board, mode))


def guards_known(job: Job, name: str, mode: Mode) -> tuple[Guard, ...]:
    """The same, without the RCD of its board where nobody knows behind which it lies."""
    circuit = job.circuits[name]
    if circuit.gap("behind") is None:
        return guards_of_circuit(job, name, mode)
    own = _own_of(circuit, name, circuit.board)
    return (*own, *guards_upstream(job, circuit.board, mode))


@once_a_job
def _guards_below(job: Job, name: str) -> tuple[Guard, ...]:
    """Devices that belong to a circuit, or to the RCD group that it hangs behind."""
    circuit = job.circuits[name]
    found = _own_of(circuit, name, bar_behind(circuit.board, circuit.behind))
    if circuit.behind is not None:
        found.append(_group(job, circuit.board, circuit.behind))
    return tuple(found)


def _own_of(circuit: Circuit, name: str, bar: str) -> list[Guard]:
    branches = f"device {name}", f"RCBO {name}"
    return _own(circuit, ("its device", "its own RCBO"), branches, "all but this circuit", bar)


def groups_of(job: Job, board: str) -> list[Guard]:
    """The RCDs of a board that stand before groups of circuits."""
    return [_group(job, board, name) for name in job.boards[board].rcds]


@once_a_job
def guards_upstream(job: Job, place: str, mode: Mode) -> tuple[Guard, ...]:
    """Devices between a board or terminal and the source of a mode, nearest first."""
    found: list[Guard] = []
    for name, cable in reversed(cables_to(job, place, mode) or ()):
        found += guards_of_cable(job, name, cable, mode)
    if mode is Mode.GRID:
        found += _main_fuse(job)
    return tuple(found)


def _main_fuse(job: Job) -> Iterator[Guard]:
    """The operator's device, and its residual part where it has one or may have."""
    stated = job.supply.gap("main_fuse") is None
    fuse = job.supply.main_fuse if stated else None
    asks = () if stated else (job.supply.question("main_fuse"),)
    name = (_name(fuse) if fuse is not None else "") or NOT_KNOWN
    yield Guard("device", f"main fuse {name}", "main fuse", fuse, leaves="nothing", asks=asks)
    if fuse is not None and fuse.gap("residual") is not None:
        asks = (fuse.question("residual"),)
    residual = None if fuse is None or asks else fuse.residual
    if residual is not None or asks:
        told = f"RCD of main fuse {NOT_KNOWN}" if asks else "RCD of main fuse"
        yield Guard("RCD", told, "main fuse", residual=residual, leaves="nothing", asks=asks,
                    bar="supply")  # fmt: skip


def device_end(cable: Cable) -> str:
    """Place at the end of a cable at which its device sits.

    Raises
    ------
    Unknown : at which end is not stated
    """
    return canonical(cable.from_ if cable.device_at == "from" else cable.to)


def guards_of_cable(job: Job, name: str, cable: Cable, mode: Mode) -> list[Guard]:
    """Devices at one cable: overcurrent device, its residual part, the RCD it hangs behind."""
    whole = mode is Mode.ISLAND and INVERTER in (canonical(cable.from_), canonical(cable.to))
    rest = "nothing" if whole else f"all but what the {name} feeds"
    names = f"device of {name}", f"RCD of {name}"
    begins = bar_behind(cable.from_, cable.behind)
    bar = canonical(begins if cable.device_at == "from" else cable.to)
    found = _own(cable, names, (f"device {name}",) * 2, rest, bar)
    if cable.behind is not None:
        found.append(_group(job, cable.from_, cable.behind))
    return found


def _own(
    part: Cable | Circuit, names: tuple[str, str], branches: tuple[str, str], leaves: str, bar: str
) -> list[Guard]:
    """A part's own device and its residual part; `names` where the job does not name them."""
    asks: tuple[Question, ...] = ()
    device, residual = None, None
    if part.gap("device") is not None:
        asks = (part.question("device"),)
    elif part.device is None:
        return []
    else:
        device = part.device
        asks = (device.question("residual"),) if device.gap("residual") is not None else ()
        residual = None if asks else device.residual
    found = [
        Guard("device", told_device(part) or f"{names[0]} {NOT_KNOWN}", branches[0], device,
              leaves=leaves, asks=() if device else asks)
    ]  # fmt: skip
    if residual is not None or asks:
        name = f"{names[1]} {NOT_KNOWN}" if asks else names[1]
        found.append(Guard("RCD", name, branches[1], residual=residual,
                           leaves=leaves, asks=asks, bar=bar))  # fmt: skip
    return found


def told_device(part: Cable | Circuit) -> str:
    """Name of the device of a cable or circuit; empty where it is not known or not there."""
    known = part.gap("device") is None and part.device is not None
    return _name(part.device) if known and part.device is not None else ""


def _name(device: Device) -> str:
    try:
        return device.name
    except Unknown:
        return ""


def _group(job: Job, board: str, name: str) -> Guard:
    rcd = job.boards[board].rcds[name]
    return Guard("RCD", name, f"RCD {board}/{name}", residual=rcd,
                 leaves=f"all but {name}", bar=canonical(board))  # fmt: skip


def is_backed_up(job: Job, board: str) -> bool:
    """Whether a board stays fed in island mode; the wiring decides, not the wish."""
    return cables_to(job, board, Mode.ISLAND) is not None


def reaches_inverter(job: Job) -> bool:
    """Whether any cable ends at the inverter; without one it feeds nothing in any state."""
    ends = (end for cable in job.cables.values() for end in (cable.from_, cable.to))
    return INVERTER in map(canonical, ends)


def source_end(job: Job, cable: Cable, mode: Mode) -> str:
    """The end of a cable that lies nearer to the source of a mode."""
    ends = canonical(cable.from_), canonical(cable.to)
    return min(ends, key=lambda end: len(cables_to(job, end, mode) or ()))


@once_a_job
def beyond(job: Job, name: str, mode: Mode) -> frozenset[str]:
    """Contact groups of a cable's own devices that sit at its end away from the source.

    Such a device opens what lies behind the cable, or the way back of the current alone; a
    fault on the cable stays joined to the source.
    """
    cable = job.cables[name]
    begins = source_end(job, cable, mode)
    found = set()
    if cable.gap("device") is None and cable.device is not None and device_end(cable) != begins:
        found.add(f"device {name}")
    if cable.behind is not None and canonical(cable.from_) != begins:
        found.add(f"RCD {cable.from_}/{cable.behind}")
    return frozenset(found)
