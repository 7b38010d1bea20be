"""Chapter: room for every conductor in a terminal and every cable in a gland."""

from __future__ import annotations

from collections.abc import Iterator

from islewright.findings import Verdict, at_most
from islewright.job.ends import DcCable, Terminal
from islewright.job.model import Job
from islewright.network.state import Mode
from islewright.rules.entering import (
    CableEnd,
    diameter,
    ends_in_boards,
    ends_in_equipment,
    ends_of_circuits,
    ends_of_dc,
    surely_within,
    tightest,
)
from islewright.rules.entry import BRITISH, CONNECTIONS, MAKER
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study


@rule(
    "entry.terminal-alone",
    over="house",
    modes=[Mode.GRID],
    title="A terminal must hold no more conductors than its maker allows, which is one unless said",
    clauses=[CONNECTIONS, MAKER, BRITISH],
)
def terminal_alone(study: Study, _here: Here) -> Verdict | None:
    """conductors of one name in a group ≤ terminals for each conductor · conductors at once

    A terminal made for one conductor holds two badly: it warms up, and one of them works loose.
    Boards are not counted: a device or a place on a bar waits for each of their conductors.
    """
    beside: dict[tuple[str, str, str], list[str]] = {}
    groups: dict[tuple[str, str, str], Terminal] = {}
    for cable, laid in study.job.cables.items():
        for end in ends_in_equipment(study.job, cable):
            for core in laid.cores:
                place = end.equipment, end.terminal(core), core
                beside.setdefault(place, []).append(cable)
                groups[place] = end.sheet.terminals[place[1]]
    alike: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for (equipment, name, core), cables in beside.items():
        alike.setdefault((equipment, name, tuple(cables)), []).append(core)
    demands = [
        _alone(f"{equipment}, {name}", groups[equipment, name, cores[0]], cores, cables)
        for (equipment, name, cables), cores in alike.items()
    ]
    return tightest(demands) if demands else None


def _alone(where: str, group: Terminal, cores: list[str], cables: tuple[str, ...]) -> Verdict:
    """Conductors that the same cables bring to the same group of terminals."""
    each, at_once = group.each, group.at_once

    def told() -> str:
        return f"{' '.join(cores)} into {where}: {', '.join(cables)}"

    return at_most(
        float(len(cables)),
        float(each * at_once),
        "-",
        spread=0.0,
        because=lambda: [f"{told()}; room for {each} x {at_once}"],
        remedies=[
            lambda: (
                f"Fit a block that joins the {' '.join(cores)} of {', '.join(cables)}, or ask "
                f"the maker whether {where}, takes them all."
            )
        ],
        confirmed="as stated",
    )


@rule(
    "entry.gland-count",
    over="house",
    modes=[Mode.GRID],
    title="There must be a gland for every cable that enters",
    clauses=["IEC 60364-5-52, 522.3, 522.8 (from memory)", MAKER, BRITISH],
)
def gland_count(study: Study, _here: Here) -> Verdict | None:
    """cables ≤ glands that are left for them

    A cable that no gland clamps is told of by itself and not counted here; nor are data
    cables, which the job does not list. A board is counted with its circuits.
    """
    job, ends = study.job, dict[str, list[CableEnd]]()
    for name in job.cables:
        for end in (*ends_in_equipment(job, name), *ends_in_boards(job, name)):
            if end.glands:
                ends.setdefault(end.equipment, []).append(end)
    for end in (*ends_of_dc(job), *_circuits_in_glands(job)):
        if end.glands:
            ends.setdefault(end.equipment, []).extend(side_by_side(end))
    if not ends:
        return None
    return tightest([_room(equipment, found) for equipment, found in ends.items()])


def _room(equipment: str, ends: list[CableEnd]) -> Verdict:
    fitting = {end.name: _holding(end) for end in ends}
    wanted = {name: groups for name, groups in fitting.items() if groups}
    room = {name: group.count for end in ends for name, group in end.glands.items()}
    held: dict[str, list[str]] = {name: [] for name in room}
    placed = sum(_place(name, wanted, held, room, set()) for name in wanted)
    return at_most(
        float(len(wanted)),
        float(sum(room.values()) if placed == len(wanted) else placed),
        "-",
        spread=0.0,
        because=lambda: [
            f"{equipment}: {len(wanted)} cables, of which {placed} find a gland",
            "glands: " + ", ".join(f"{name} {count}" for name, count in room.items()),
        ],
        remedies=[lambda: f"Fit {len(wanted) - placed} more of the glands that these cables need."],
        confirmed="as stated",
    )


def _circuits_in_glands(job: Job) -> Iterator[CableEnd]:
    """Circuits of boards that have glands."""
    for name, board in job.boards.items():
        if board.glands:
            yield from ends_of_circuits(job, name)


def side_by_side(end: CableEnd) -> list[CableEnd]:
    """An end as often as there are such cables."""
    count = end.cable.count if isinstance(end.cable, DcCable) else 1
    if count == 1:
        return [end]
    return [end._replace(name=f"{end.name} {k + 1}") for k in range(count)]


def _holding(end: CableEnd) -> list[str]:
    """Groups of glands that clamp a cable; `Unknown` where it hangs on what is not known."""
    bounds, asked = diameter(end.cable)[0], end.cable.question("outside_diameter_mm")
    return [
        name
        for name, group in end.glands.items()
        if True in [surely_within(bounds, span, asked) for span in group.clamps]
    ]


def _place(
    name: str,
    wanted: dict[str, list[str]],
    held: dict[str, list[str]],
    room: dict[str, int],
    tried: set[str],
) -> bool:
    """Give a cable a gland; others move to another of their own where that makes room."""
    for group in wanted[name]:
        if group in tried:
            continue
        tried.add(group)
        if len(held[group]) < room[group]:
            held[group].append(name)
            return True
        for other in held[group]:
            if _place(other, wanted, held, room, tried):
                held[group].remove(other)
                held[group].append(name)
                return True
    return False
