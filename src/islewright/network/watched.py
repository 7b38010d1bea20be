"""Which circuits each RCD watches in a mode, and which RCDs stand before which.

Belongs here: RCDs as places of their own, and the way of the d.c. that a fault behind the
inverter sends. Does not belong here: what they see of a fault (`race`), any rule.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.job.once import once_a_job
from islewright.network.places import HOUSE_SIDE, INVERTER, canonical
from islewright.network.state import Mode
from islewright.network.way import (
    Guard,
    cables_to,
    groups_of,
    guards_known,
    guards_of_cable,
    guards_upstream,
    source_end,
)


@dataclass(frozen=True, slots=True)
class Watcher:
    """An RCD in one mode.

    Attributes
    ----------
    place : as it is printed: "R1, main board", "RCBO of kitchen", "RCD of inverter cable"
    guard : the device
    board : the board that it stands on; "" for one of a cable
    circuits : circuits behind it, in the order of the file
    maybe : circuits of its board of which nobody knows behind which RCD they lie
    before : places of the RCDs between it and the source, nearest first
    """

    place: str
    guard: Guard
    board: str
    circuits: tuple[str, ...]
    before: tuple[str, ...]
    maybe: tuple[str, ...] = ()


@once_a_job
def watchers(job: Job, mode: Mode) -> dict[str, Watcher]:
    """Every RCD that a mode feeds, by its place.

    One of which nobody knows whether it is there stands here too; its guard asks.
    """
    found: dict[str, tuple[Guard, tuple[str, ...]]] = {}
    behind: dict[str, list[str]] = {}
    maybe: dict[str, list[str]] = {}
    for name, circuit in job.circuits.items():
        if cables_to(job, circuit.board, mode) is None:
            continue
        if circuit.gap("behind") is not None:
            for place in _may_watch(job, found, circuit.board, mode):
                maybe.setdefault(place, []).append(name)
        for place in _enter(found, guards_known(job, name, mode)):
            behind.setdefault(place, []).append(name)
    for name, cable in job.cables.items():
        ends = canonical(cable.from_), canonical(cable.to)
        if all(cables_to(job, end, mode) is not None for end in ends):
            upstream = guards_upstream(job, source_end(job, cable, mode), mode)
            _enter(found, (*guards_of_cable(job, name, cable, mode), *upstream))
    return {
        place: Watcher(place, guard, _board(guard), tuple(behind.get(place, ())), before,
                       tuple(maybe.get(place, ())))
        for place, (guard, before) in found.items()
    }  # fmt: skip


def _may_watch(
    job: Job, found: dict[str, tuple[Guard, tuple[str, ...]]], board: str, mode: Mode
) -> list[str]:
    """Note the RCDs of a board, each of which may watch a circuit; returns their places."""
    upstream = guards_upstream(job, board, mode)
    return [_enter(found, (guard, *upstream))[0] for guard in groups_of(job, board)]


def _enter(
    found: dict[str, tuple[Guard, tuple[str, ...]]], guards: tuple[Guard, ...]
) -> tuple[str, ...]:
    """Note the RCDs of one way, nearest first; returns their places."""
    rcds = [guard for guard in guards if guard.role == "RCD"]
    places = tuple(_place(guard) for guard in rcds)
    for i, (place, guard) in enumerate(zip(places, rcds, strict=True)):
        found.setdefault(place, (guard, places[i + 1 :]))
    return places


def _place(guard: Guard) -> str:
    word, _, name = guard.branch.partition(" ")
    if guard.branch == "main fuse":
        return "RCD of main fuse"
    if word == "RCD":
        board, _, rcd = name.rpartition("/")
        return f"{rcd}, {board}"
    return f"RCBO of {name}" if word == "RCBO" else f"RCD of {name}"


def _board(guard: Guard) -> str:
    word, _, name = guard.branch.partition(" ")
    return name.rpartition("/")[0] if word == "RCD" else ""


@once_a_job
def dc_way(job: Job, mode: Mode) -> frozenset[str]:
    """Contact groups of RCDs through which d.c. of a fault behind the inverter may return.

    It leaves by the protective conductor and comes back by neutral and lines: in grid mode
    from the joint of neutral and earth, which lies at the PEN's split or at the operator's
    transformer; in island mode from the bond. The bond in the inverter closes its way there.

    Raises
    ------
    Unknown : where the bond sits, or whether the neutral opens, is not stated, and some RCD
        stands in a way that hangs on it
    """
    grid, house = _grid_way(job), _house_way(job)
    if mode is Mode.GRID or not grid | house:
        return grid
    sheet = job.switch
    way: frozenset[str] = frozenset()
    if "N" not in sheet.switched_poles:
        way |= grid
    if sheet.bond is not None and sheet.bond.at != "grid":
        way |= house
    return way


@once_a_job
def pv_way(job: Job, mode: Mode) -> frozenset[str]:
    """Contact groups of RCDs between PV on the a.c. side and the joint of neutral and earth.

    Raises
    ------
    Unknown : whether there is such PV, or at which board, is not stated
    """
    board = pv_board(job)
    if board is None:
        return frozenset()
    way: frozenset[str] = frozenset()
    if mode is Mode.GRID or "N" not in job.switch.switched_poles:
        way |= _residual(guards_upstream(job, board, Mode.GRID))
    if mode is Mode.ISLAND:
        way |= _residual(guards_upstream(job, board, Mode.ISLAND))
    return way


@once_a_job
def pv_board(job: Job) -> str | None:
    """Board at which PV feeds in on the a.c. side; None where there is none.

    Raises
    ------
    Unknown : whether there is PV, how it is coupled or its board is not stated
    """
    placed = job.placement.pv
    if placed is None or job.pv is None or job.pv.coupling == "d.c.":
        return None
    if placed.connected_to is None:
        raise Unknown(placed.question("connected_to"))
    return str(placed.connected_to)


def on_dc_way(job: Job, guard: Guard, mode: Mode) -> bool:
    """Whether an RCD stands in the way of that d.c.

    Raises
    ------
    Unknown : as `dc_way`, where it may stand there
    """
    may_see = guard.branch in _grid_way(job) or guard.branch in _house_way(job)
    return may_see and guard.branch in dc_way(job, mode)


@once_a_job
def _grid_way(job: Job) -> frozenset[str]:
    return _residual(guards_upstream(job, INVERTER, Mode.GRID))


@once_a_job
def _house_way(job: Job) -> frozenset[str]:
    """RCDs between the inverter and the house terminals of the islanding switch."""
    cables = cables_to(job, HOUSE_SIDE, Mode.ISLAND) or ()
    found = (guards_of_cable(job, name, cable, Mode.ISLAND) for name, cable in cables)
    return _residual(guard for guards in found for guard in guards)


def _residual(guards: Iterable[Guard]) -> frozenset[str]:
    return frozenset(guard.branch for guard in guards if guard.role == "RCD")
