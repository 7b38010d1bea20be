"""The way from a source to a circuit, cable by cable and device by device.

Used where a person must be able to redo a sum by hand, and to name who stands in the
way of a fault. Pure names; nothing is solved.
"""

from __future__ import annotations

from dataclasses import dataclass

from islewright.job.device import Device, Residual
from islewright.job.model import Cable, Job
from islewright.job.once import once_a_job
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, INVERTER, canonical
from islewright.network.state import Mode


@dataclass(frozen=True, slots=True)
class Guard:
    """A device in the way of a fault current.

    `role` is "device" or "RCD"; `name` as people say it; `branch` the contact group of
    the network ("device NAME" and "RCBO NAME" for a circuit's own); `leaves` what stays
    alive once it has opened, in words.
    """

    role: str
    name: str
    branch: str
    device: Device | None = None
    residual: Residual | None = None
    leaves: str = ""


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


@once_a_job
def guards_of_circuit(job: Job, name: str, mode: Mode) -> tuple[Guard, ...]:
    """Devices that an earth fault at the end of a circuit meets, circuit first."""
    circuit = job.circuits[name]
    rest = "all but this circuit"
    found = [Guard("device", circuit.device.name, f"device {name}", circuit.device, leaves=rest)]
    if circuit.device.residual is not None:
        found.append(Guard("RCD", "its own RCBO", f"RCBO {name}",
                           residual=circuit.device.residual, leaves=rest))  # fmt: skip
    if circuit.behind is not None:
        found.append(_group(job, circuit.board, circuit.behind))
    return (*found, *guards_upstream(job, circuit.board, mode))


@once_a_job
def guards_upstream(job: Job, place: str, mode: Mode) -> tuple[Guard, ...]:
    """Devices between a board or terminal and the source of a mode, nearest first."""
    found: list[Guard] = []
    for name, cable in reversed(cables_to(job, place, mode) or ()):
        found += guards_of_cable(job, name, cable, mode)
    if mode is Mode.GRID:
        fuse = job.supply.main_fuse
        found.append(Guard("device", f"main fuse {fuse.name}", "main fuse", fuse, leaves="nothing"))
    return tuple(found)


def guards_of_cable(job: Job, name: str, cable: Cable, mode: Mode) -> list[Guard]:
    """Devices at one cable: overcurrent device, its residual part, the RCD it hangs behind."""
    found = []
    whole = mode is Mode.ISLAND and INVERTER in (canonical(cable.from_), canonical(cable.to))
    rest = "nothing" if whole else f"all but what the {name} feeds"
    if cable.device is not None:
        branch = f"device {name}"
        found.append(Guard("device", cable.device.name, branch, cable.device, leaves=rest))
        if cable.device.residual is not None:
            found.append(Guard("RCD", f"RCD of {name}", branch,
                               residual=cable.device.residual, leaves=rest))  # fmt: skip
    if cable.behind is not None:
        found.append(_group(job, cable.from_, cable.behind))
    return found


def _group(job: Job, board: str, name: str) -> Guard:
    rcd = job.boards[board].rcds[name]
    return Guard("RCD", name, f"RCD {board}/{name}", residual=rcd, leaves=f"all but {name}")


def is_backed_up(job: Job, board: str) -> bool:
    """Whether a board stays fed in island mode; the wiring decides, not the wish."""
    return cables_to(job, board, Mode.ISLAND) is not None


def source_end(job: Job, cable: Cable, mode: Mode) -> str:
    """The end of a cable that lies nearer to the source of a mode."""
    ends = canonical(cable.from_), canonical(cable.to)
    return min(ends, key=lambda end: len(cables_to(job, end, mode) or ()))
