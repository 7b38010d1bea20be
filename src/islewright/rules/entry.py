"""Chapter: cables must fit where they enter equipment."""

from __future__ import annotations

import functools
from collections.abc import Iterable

from islewright.findings import Status, Verdict
from islewright.job.ends import Gland, Terminal
from islewright.job.gap import Unknown
from islewright.job.kinds import CONDUCTORS
from islewright.job.ranges import Takes
from islewright.network.state import Mode
from islewright.rules.entering import (
    CableEnd,
    diameter,
    enclosed,
    ends_in_boards,
    ends_in_equipment,
    entries,
    tightest,
    within,
)
from islewright.rules.registry import Here, attempt, first_way, rule, undecided
from islewright.rules.study import Study
from islewright.units import Span

CONNECTIONS = "IEC 60364-5-52, 526 (from memory)"
MAKER = "IEC 60364-5-51, 510.3 (from memory): the maker's sheet"
BRITISH = "BS 7671:2018, 526.2, 134.1.1 (from memory)"


@rule(
    "entry.terminal",
    over="cables, fed or not",
    modes=[Mode.GRID],
    title="Every terminal of equipment and boards must take the conductor that enters it",
    clauses=[CONNECTIONS, MAKER, BRITISH],
)
def terminal(study: Study, here: Here) -> Verdict | None:
    """least ≤ S ≤ most, of the terminal's range, for every conductor at every end

    Both ends of a range are taken. Where the sheet states core forms, those count too.
    """
    job = study.job
    return taken([*ends_in_equipment(job, here.name), *ends_in_boards(job, here.name)])


def taken(ends: Iterable[CableEnd]) -> Verdict | None:
    """Whether all terminals take the conductors of some ends; None where there are none.

    Conductors of one size in one group of terminals are judged once.
    """
    alike: dict[tuple[int, float, object], tuple[CableEnd, str, Terminal, list[str]]] = {}
    found, known = [], dict[object, str]()
    for end in ends:
        try:
            for name, group, size, cores in entries(end, known):
                key = id(group), size, end.cable.__dict__.get("core_form")
                kept = alike.setdefault(key, (end, name, group, []))
                kept[3].extend(core for core in cores if core not in kept[3])
        except Unknown as gap:
            found.append(undecided(gap))
    for (_, size, _), (end, name, group, each) in alike.items():
        found.append(attempt(functools.partial(_taken, end, name, group, size, each)))
    return tightest(found) if found else None


#: conductors as they are told
_ORDER = (*CONDUCTORS, "d.c.")


def _taken(end: CableEnd, name: str, group: Terminal, size: float, cores: list[str]) -> Verdict:
    """Conductors of one size in one group of terminals."""

    def told() -> str:
        each = " ".join(sorted(cores, key=_ORDER.index))
        return f"{each}, {size:g} mm², into {end.equipment}, {name}"

    fits = [takes for takes in group.takes if not takes.forms or end.cable.core_form in takes.forms]
    if not fits:
        form = end.cable.core_form
        return Verdict(
            status=Status.NOT_MET,
            because=lambda: [f"{told()}: {form}", f"takes {'; '.join(map(_told, group.takes))}"],
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
            because=lambda takes=takes: [told(), f"takes {_told(takes)}"],
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
    "entry.gland",
    over="cables, fed or not",
    modes=[Mode.GRID],
    title="A gland must clamp the cable that enters through it",
    clauses=["IEC 60364-5-52, 522.3, 522.8 (from memory)", MAKER, BRITISH],
)
def gland(study: Study, here: Here) -> Verdict | None:
    """least ≤ outside diameter ≤ most, of a gland's range, at every end

    Both ends of a range are taken. A gland that is too wide neither holds nor seals. A board
    that has none is entered by knock-outs or trunking.
    """
    job = study.job
    return clamped([*ends_in_equipment(job, here.name), *ends_in_boards(job, here.name)])


def clamped(ends: Iterable[CableEnd]) -> Verdict | None:
    """Whether glands clamp some cables where they enter; None where no gland is needed."""
    found = [_clamped(end, end.glands) for end in ends if end.glands]
    return tightest(found) if found else None


def _clamped(end: CableEnd, glands: dict[str, Gland]) -> Verdict:
    """One end, and the glands through which it may go."""
    return first_way(
        attempt(functools.partial(held_by, end, name, group)) for name, group in glands.items()
    )


def held_by(end: CableEnd, name: str, group: Gland) -> Verdict:
    """Whether one group of glands clamps the cable of an end, with any of its inserts."""
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
            because=lambda span=span: [
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
