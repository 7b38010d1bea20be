"""Checks of conductors: lines that the supply has, PEN, rings, sizes and ratings.

Does not belong here: whether anything feeds a board or a line (`fed`).
"""

from __future__ import annotations

import functools
from collections.abc import Iterator

from islewright.job.checked import Checked, placed_in, stated
from islewright.job.device import Device
from islewright.job.equipment import Inverter, IslandingSwitch
from islewright.job.kinds import AS_LINE, LINES, MOST_KEPT
from islewright.job.model import Cable
from islewright.job.part import Part, fields_of
from islewright.job.problem import Problem
from islewright.job.refusal import Loc
from islewright.job.ways import SUPPLY, bar, live_rings, reached
from islewright.tables.conductor import sizes
from islewright.tables.device import ratings_a
from islewright.tables.rows import neighbours

#: no house has more from a line to neutral; 400 V is what lies between lines with 230 V each
HOUSE_V = 300.0
_PHASES_OF = {
    "three-phase with neutral": ("three phases",),
    "single units per phase": ("three phases", "split phase"),
    "single-phase on bridged lines": ("three phases",),
    "split phase": ("split phase",),
}


def equipment_fits_the_supply(c: Checked) -> Iterator[Problem]:
    """Poles, output and line of the equipment are those that the supply has."""
    job = c.job
    entries = job._equipment  # noqa: SLF001 - see above
    form = job.supply.form
    if not c.whole:
        return  # perhaps it is the form that could not be read
    for key, placed in placed_in(job):
        loc = ("equipment", key)
        sheet = entries.get(placed.model)
        line = stated(placed, "line")
        if line is not None:
            yield from _lines(c, (*loc, "line"), line)
        poles = stated(sheet, "switched_poles") if isinstance(sheet, IslandingSwitch) else None
        if poles and not set(poles) <= {*job.phases, "N"}:
            found = f"{placed.model}, which opens {' '.join(poles)}"
            allowed = f"a supply of {form} has {' '.join((*job.phases, 'N'))}"
            yield c.places.problem((*loc, "model"), found, allowed)
        output = stated(sheet, "output") if isinstance(sheet, Inverter) else None
        fitting = _PHASES_OF.get(output or "", (form,))
        if form not in fitting:
            found = f"{placed.model}, whose output is {output}"
            allowed = f"the supply has to be {' or '.join(fitting)}, not {form}"
            yield c.places.problem((*loc, "model"), found, allowed)


def _lines(c: Checked, loc: Loc, conductors: tuple[str, ...]) -> Iterator[Problem]:
    """Lines that the supply does not have."""
    if _are_there(conductors, c.job.phases):
        return
    absent = [x for x in conductors if x in LINES and x not in c.job.phases]
    has = " ".join(c.job.phases)
    why = f"but a supply of {c.job.supply.form} has no {' '.join(absent)}"
    yield c.places.problem(loc, " ".join(conductors), f"its lines are: {has}", why=why)


@functools.lru_cache(maxsize=MOST_KEPT)
def _are_there(conductors: tuple[str, ...], phases: tuple[str, ...]) -> bool:
    return all(x in phases for x in conductors if x in LINES)


def lines_are_those_of_the_supply(c: Checked) -> Iterator[Problem]:
    """No cable, circuit, generator or main switch has a line that the supply does not have."""
    inlet = stated(c.job, "generator")
    yield from _lines(c, ("generator inlet", "lines"), (inlet and stated(inlet, "lines")) or ())
    for name, cable in c.job.cables.items():
        yield from _lines(c, ("cables", name, "cores"), cable.cores)
    for name, board in c.job.boards.items():
        switch = stated(board, "main_switch")
        if switch and switch.has("poles"):
            yield from _lines(c, ("boards", name, "main switch", "poles"), switch.poles)
    phases = c.job.phases
    for name, circuit in c.job.circuits.items():
        lines, cores = stated(circuit, "lines") or (), stated(circuit, "cores") or ()
        if not _agree(lines, cores, phases):
            yield from _of_circuit(c, ("circuits", name), lines, cores)


@functools.lru_cache(maxsize=MOST_KEPT)
def _agree(lines: tuple[str, ...], cores: tuple[str, ...], phases: tuple[str, ...]) -> bool:
    """Whether nothing is wrong with lines and cores of a circuit; () where they are gaps."""
    if not (_are_there(lines, phases) and _are_there(cores, phases)) or "PEN" in cores:
        return False
    return not cores or ({*lines} <= {*cores} and len({*cores} - {"PE"}) != 1)


def _of_circuit(
    c: Checked, at: Loc, lines: tuple[str, ...], cores: tuple[str, ...]
) -> Iterator[Problem]:
    """Lines and cores of a circuit that do not agree."""
    yield from _lines(c, (*at, "lines"), lines)
    yield from _lines(c, (*at, "cores"), cores)
    if lines and cores and not set(lines) <= set(cores):
        allowed = f"the circuit is on {' '.join(lines)}, so its cable has that core"
        yield c.places.problem((*at, "cores"), " ".join(cores), allowed)
    elif cores and "PEN" not in cores and len({*cores} - {"PE"}) == 1:
        allowed = "a current needs two live cores, such as L1 N or L1 L2"
        yield c.places.problem((*at, "cores"), " ".join(cores), allowed)
    if "PEN" in cores:
        allowed = "a final circuit has N and PE, each of its own"
        yield c.places.problem((*at, "cores"), " ".join(cores), allowed)


def a_pen_ends_where_it_splits(c: Checked) -> Iterator[Problem]:
    """PEN cores only in TN-C-S, and only between the supply and the place of the split."""
    job = c.job
    system, split = stated(job.supply, "system_earthing"), stated(job.supply, "pen_splits_at")
    loc = ("supply", "PEN splits at")
    places = (SUPPLY, *c.boards)
    if split is not None:
        if system not in (None, "TN-C-S"):
            allowed = f"in a {system} supply no PEN comes in; write `none`"
            yield c.places.problem(loc, split, allowed)
            return
        yield from c.refer(loc, split, places, "place at which a PEN can split")
    upstream = reached(c.ways, [SUPPLY], stop=split or "")
    for name, cable in job.cables.items():
        at: Loc = ("cables", name, "cores")
        cores = " ".join(cable.cores)
        if "PEN" not in cable.cores:
            continue
        if system not in (None, "TN-C-S"):
            yield c.places.problem(at, cores, f"a {system} supply has no PEN")
        elif {"N", "PE"} & set(cable.cores):
            yield c.places.problem(at, cores, "a cable has either PEN, or N and PE")
        elif split in places and not _before(cable, upstream, split):
            yield c.places.problem(at, cores, f"behind {split}, where the PEN splits, are N and PE")
    if c.whole and split in c.boards and system == "TN-C-S":
        arriving = [x for x in job.cables.values() if split in (x.from_, x.to)]
        if arriving and not any("PEN" in x.cores for x in arriving):
            yield c.places.problem(loc, str(split), f"no cable with a PEN ends at {split}")


def _before(cable: Cable, upstream: set[str], split: str | None) -> bool:
    ends = {bar(cable.from_), bar(cable.to)}
    return ends <= upstream and ends != {split} and split != SUPPLY


def live_conductors_close_no_ring(c: Checked) -> Iterator[Problem]:
    """An undeclared ring of live conductors carries current that no rule looks for."""
    bars = {*map(bar, c.ends)}
    known = [w for w in c.ways if bars.issuperset(w.ends) and w.ends[0] != w.ends[1]]
    for names in live_rings(known, (*c.job.phases, "N")):
        allowed = (
            f"the live conductors of {', '.join(names)} close a ring; "
            "only a ring final circuit may, and it is declared as `ring`"
        )
        yield c.places.problem(("cables", names[-1]), "", allowed, at_key=True)


def the_voltage_is_that_of_a_house(c: Checked) -> Iterator[Problem]:
    """U_0 is that from a line to neutral, and of a house."""
    u0 = stated(c.job.supply, "nominal_voltage_v")
    loc = ("supply", "nominal voltage")
    if u0 is not None and u0 > HOUSE_V:
        allowed = "it is that from a line to neutral: 230 V where lines have 400 V between them"
        yield c.places.problem(loc, f"{u0:g} V", allowed)


@functools.cache
def _size_fields(part: type[Part]) -> tuple[tuple[str, str], ...]:
    fields = fields_of(part).items()
    return tuple((key, known.name) for key, known in fields if known.name.endswith("_mm2"))


def has_sizes(part: Part) -> bool:
    """Whether parts of this class have cross-sections."""
    return bool(_size_fields(type(part)))


def can_be_unlisted(part: type[Part]) -> bool:
    """Whether parts of a class have cross-sections or rated currents, which tables list."""
    return bool(_size_fields(part)) or issubclass(part, Device)


@functools.cache
def _made(material: str) -> frozenset[float]:
    """Cross-sections that cables of a metal are made in [mm²], and the word `as line`."""
    return frozenset((*sizes(material), AS_LINE))


def is_listed(part: Part) -> bool:
    """Whether all cross-sections and rated currents of a part are made; its gaps pass."""
    held = part.__dict__
    for _, name in _size_fields(type(part)):
        size = held.get(name)
        if size is not None and size not in _made(held.get("material", "copper")):
            return False
    if isinstance(part, Device) and "i_n_a" in held and "curve" in held:
        return held["i_n_a"] in _rated("gG" if held["curve"] == "gG" else "breaker")
    return True


def listed_sizes(c: Checked, path: Loc, part: Part) -> Iterator[Problem]:
    """Cross-sections are those that cables are made in."""
    for key, name in _size_fields(type(part)):
        size = part.__dict__.get(name)
        material = part.__dict__.get("material", "copper")
        if size is None or size in _made(material):
            continue
        allowed = f"it is no listed size; {neighbours(size, sizes(material), 'mm2')}"
        yield c.places.problem((*path, key), f"{size:g} mm2", allowed)


@functools.cache
def _rated(kind: str) -> tuple[float, ...]:
    """Rated currents that devices of a kind are made for [A]."""
    return ratings_a(kind)


def listed_ratings(c: Checked, path: Loc, part: Device) -> Iterator[Problem]:
    """Rated currents are those that devices are made for."""
    if not (part.has("curve") and part.has("i_n_a")):
        return
    made = _rated("gG" if part.curve == "gG" else "breaker")
    if part.i_n_a not in made:
        allowed = f"it is no listed rating; {neighbours(part.i_n_a, made, 'A')}"
        if path[-1] == "main fuse" and part.curve == "gG":
            allowed += "; where this one is there, write `main fuse: unknown` and judge it by hand"
        yield c.places.problem((*path, "rated current"), f"{part.i_n_a:g} A", allowed)
