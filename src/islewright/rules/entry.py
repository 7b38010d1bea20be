"""Chapter: cables must fit where they enter equipment."""

from __future__ import annotations

import functools

from islewright.findings import Status, Verdict, at_most
from islewright.job.ends import Gland, Terminal
from islewright.job.ranges import Takes
from islewright.network.state import Mode
from islewright.rules.entering import (
    CableEnd,
    diameter,
    enclosed,
    ends_in_equipment,
    entries,
    tightest,
    within,
)
from islewright.rules.registry import Here, attempt, first_way, rule
from islewright.rules.study import Study
from islewright.units import Span

CONNECTIONS = "IEC 60364-5-52, 526 (from memory)"
MAKER = "IEC 60364-5-51, 510.3 (from memory): the maker's sheet"
BRITISH = "BS 7671:2018, 526.2, 134.1.1 (from memory)"


@rule(
    "entry.terminal",
    over="cables, fed or not",
    modes=[Mode.GRID],
    title="Every terminal of equipment must take the conductor that enters it",
    clauses=[CONNECTIONS, MAKER, BRITISH],
)
def terminal(study: Study, here: Here) -> Verdict | None:
    """least ≤ S ≤ most, of the terminal's range, for every conductor at every end

    Both ends of a range are taken. Where the sheet states core forms, those count too.
    """
    ends = ends_in_equipment(study.job, here.name)
    if not ends:
        return None
    return tightest(
        [
            _taken(end, name, group, size, cores)
            for end in ends
            for name, group, size, cores in entries(end)
        ]
    )


def _taken(end: CableEnd, name: str, group: Terminal, size: float, cores: str) -> Verdict:
    """Conductors of one size in one group of terminals."""
    told = f"{cores}, {size:g} mm², into {end.equipment}, {name}"
    fits = [takes for takes in group.takes if not takes.forms or end.cable.core_form in takes.forms]
    if not fits:
        form = end.cable.core_form
        return Verdict(
            status=Status.NOT_MET,
            because=[f"{told}: {form}", f"takes {'; '.join(map(_told, group.takes))}"],
            means="The terminal is not made for such cores.",
            remedies=[lambda: _another_form(form, group)],
            confirmed="as stated",
        )
    return first_way(
        within(
            size,
            takes.sizes,
            "mm2",
            spread=0.0,  # a nominal size, against nominal sizes
            because=[told, f"takes {_told(takes)}"],
            remedies=[lambda takes=takes: _another_size(size, takes.sizes, end, name)],
            confirmed="as stated",
        )
        for takes in fits
    )


def _told(takes: Takes) -> str:
    sizes = f"{takes.sizes.low:g} to {takes.sizes.high:g} mm²"
    return f"{sizes} {' or '.join(takes.forms)}".strip()


def _another_form(form: str, group: Terminal) -> str:
    with_ferrule = f"{form} with ferrule"
    if any(with_ferrule in takes.forms for takes in group.takes):
        return "Fit ferrules on the cores."
    return "Ask the maker how cores of this form may be joined."


def _another_size(size: float, sizes: Span, end: CableEnd, name: str) -> str:
    if size < sizes.low:
        return f"Lay at least {sizes.low:g} mm² to {end.equipment}, {name}."
    return (
        f"Fit a box with terminals before {end.equipment}, and at most {sizes.high:g} mm² from "
        "there, if that carries the current."
    )


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
    """
    beside: dict[tuple[str, str, str], list[str]] = {}
    groups: dict[tuple[str, str, str], Terminal] = {}
    for cable in study.job.cables:
        for end in ends_in_equipment(study.job, cable):
            for core in end.cable.cores:
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
    told = f"{' '.join(cores)} into {where}: {', '.join(cables)}"
    return at_most(
        float(len(cables)),
        float(each * at_once),
        "-",
        spread=0.0,
        because=[f"{told}; room for {each} x {at_once}"],
        remedies=[
            lambda: (
                f"Fit a block that joins the {' '.join(cores)} of {', '.join(cables)}, or ask "
                f"the maker whether {where}, takes them all."
            )
        ],
        confirmed="as stated",
    )


@rule(
    "entry.gland",
    over="cables, fed or not",
    modes=[Mode.GRID],
    title="A gland must clamp the cable that enters through it",
    clauses=["IEC 60364-5-52, 522.3, 522.8 (from memory)", MAKER, BRITISH],
)
def gland(study: Study, here: Here) -> Verdict | None:
    """least ≤ outside diameter ≤ most, of a gland's range, at every end

    Both ends of a range are taken. A gland that is too wide neither holds nor seals.
    """
    ends = ends_in_equipment(study.job, here.name)
    found = [_clamped(end, end.glands) for end in ends if end.glands]
    return tightest(found) if found else None


def _clamped(end: CableEnd, glands: dict[str, Gland]) -> Verdict:
    """One end, and the glands through which it may go."""
    return first_way(
        attempt(functools.partial(_held, end, name, group)) for name, group in glands.items()
    )


def _held(end: CableEnd, name: str, group: Gland) -> Verdict:
    return first_way(_inserts(end, name, group))


def _inserts(end: CableEnd, name: str, group: Gland) -> list[Verdict]:
    bounds, spread, told, confirmed = diameter(end.cable)
    return [
        enclosed(
            bounds,
            span,
            "mm",
            end.cable.question("outside_diameter_mm"),
            spread=spread,
            because=[
                told,
                f"{end.equipment}, {name}: clamps {span.low:g} to {span.high:g} mm",
            ],
            remedies=[
                lambda span=span: (
                    f"Fit a gland that clamps {bounds.low:g} mm at {end.equipment}, "
                    f"or lay a cable between {span.low:g} and {span.high:g} mm thick."
                )
            ],
            confirmed=confirmed,
        )
        for span in group.clamps
    ]


@rule(
    "entry.gland-count",
    over="house",
    modes=[Mode.GRID],
    title="There must be a gland for every cable that enters",
    clauses=["IEC 60364-5-52, 522.3, 522.8 (from memory)", MAKER, BRITISH],
)
def gland_count(study: Study, _here: Here) -> Verdict | None:
    """cables ≤ glands that are left for them

    A cable that no gland clamps is told of by itself and not counted here; nor are d.c. and
    data cables, which the job does not list.
    """
    ends: dict[str, list[CableEnd]] = {}
    for name in study.job.cables:
        for end in ends_in_equipment(study.job, name):
            if end.glands:
                ends.setdefault(end.equipment, []).append(end)
    if not ends:
        return None
    return tightest([_room(equipment, found) for equipment, found in ends.items()])


def _room(equipment: str, ends: list[CableEnd]) -> Verdict:
    fitting = {end.name: _holding(end) for end in ends}
    wanted = {name: groups for name, groups in fitting.items() if groups}
    room = {name: group.count for end in ends for name, group in end.glands.items()}
    held: dict[str, list[str]] = {name: [] for name in room}
    placed = sum(_place(name, wanted, held, room, set()) for name in wanted)
    counts = ", ".join(f"{name} {count}" for name, count in room.items())
    return at_most(
        float(len(wanted)),
        float(sum(room.values()) if placed == len(wanted) else placed),
        "-",
        spread=0.0,
        because=[
            f"{equipment}: {len(wanted)} cables, of which {placed} find a gland",
            f"glands: {counts}",
        ],
        remedies=[lambda: f"Fit {len(wanted) - placed} more of the glands that these cables need."],
        confirmed="as stated",
    )


def _holding(end: CableEnd) -> list[str]:
    """Groups of glands that clamp a cable; `Unknown` where it hangs on what is not known."""
    found = []
    for name, group in end.glands.items():
        verdict = _held(end, name, group)
        if verdict.status in (Status.MET, Status.NEAR):
            found.append(name)
    return found


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
