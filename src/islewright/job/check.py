"""Checks over several fields of a job that was read.

Each check yields problems at their places. What a *profile* judges is no check: the file
says what is there, and a rule finds it right or wrong. A gap is no problem either.
"""

from __future__ import annotations

import functools
from collections.abc import Container, Iterable, Iterator
from typing import Any

from islewright.job.device import Device
from islewright.job.equipment import AnyEquipment, Battery, Inverter, IslandingSwitch, PvArray
from islewright.job.kinds import AS_LINE, LINES
from islewright.job.model import Cable, Circuit, Job, Placed
from islewright.job.part import Part, fields_of, parts_in
from islewright.job.problem import Problem, nearest
from islewright.job.refusal import Loc, Places
from islewright.job.ways import (
    INVERTER,
    SAME_BAR,
    SUPPLY,
    SWITCH_GRID,
    SWITCH_HOUSE,
    Way,
    bar,
    live_rings,
    reached,
)
from islewright.tables.conductor import sizes
from islewright.tables.device import ratings_a
from islewright.tables.rows import neighbours

#: stands for a name that could not be read
NOT_READ = "?"
HIGHEST_V = 1000.0
RESERVED = ("supply", "islanding switch", "inverter", "main earthing terminal")
_PHASES_OF = {
    "three-phase with neutral": ("three phases",),
    "single units per phase": ("three phases", "split phase"),
    "single-phase on bridged lines": ("three phases",),
    "split phase": ("split phase",),
}


class _Checked:
    """A job under check: what it names, and where problems belong."""

    def __init__(self, job: Job, places: Places, *, whole: bool, unread: Container[str]) -> None:
        self.job, self.places = job, places
        self.whole, self.unread = whole, unread
        self.boards = _named(places, "boards")
        self.circuits = _named(places, "circuits")
        self.cables = _named(places, "cables")
        self.ends = (*SAME_BAR, *self.boards)

    def refer(self, loc: Loc, name: str, known: Iterable[str], what: str) -> Iterator[Problem]:
        """Hold a name against those that there are."""
        names = list(known)
        if name not in names:
            yield self.places.problem(loc, name, nearest(name, names), why=f"which is no {what}")

    def rcds_of(self, board: str) -> list[str]:
        """Names of a board's RCDs as they stand in the file."""
        node = self.places.root.value["boards"].value.get(board)
        rcds = node.value.get("RCDs") if node and isinstance(node.value, dict) else None
        return list(rcds.value) if rcds and isinstance(rcds.value, dict) else []


def check(
    job: Job, places: Places, *, whole: bool = True, unread: Container[str] = ()
) -> list[Problem]:
    """Run every check.

    Parameters
    ----------
    job : the job, perhaps without the parts that could not be read
    places : positions of its file
    whole : whether all its parts could be read; some checks make no sense without
    unread : models of equipment that could not be read; nothing is said about these

    Returns
    -------
    problems, in no particular order
    """
    checked = _Checked(job, places, whole=whole, unread=unread)
    found = [problem for each in _CHECKS for problem in each(checked)]
    for path, part in _parts_of(job):
        found += _listed_sizes(checked, path, part)
        found += _listed_ratings(checked, path, part)
    return found


def _named(places: Places, room: str) -> tuple[str, ...]:
    node = places.root.value.get(room)
    return tuple(node.value) if node and isinstance(node.value, dict) else ()


def _stated(part: Part, name: str) -> Any:
    """What is stated at a field; None for a gap."""
    return getattr(part, name) if part.has(name) else None


def _parts_of(part: Part, loc: Loc = ()) -> Iterator[tuple[Loc, Part]]:
    """Every part below a part, itself first, each with its path of keys."""
    yield loc, part
    for below, held in parts_in(part):
        yield from _parts_of(held, (*loc, *below))


# --- names and references -----------------------------------------------------------------


def names_are_unique(c: _Checked) -> Iterator[Problem]:
    """A board, cable or circuit has a name of its own."""
    first: dict[str, str] = dict.fromkeys(RESERVED, "a fixed place of every job")
    for room in ("boards", "cables", "circuits"):
        for name in _named(c.places, room):
            if name in first:
                allowed = f"each has its own name, and this one is {first[name]}"
                yield c.places.problem((room, name), name, allowed, at_key=True)
            else:
                first[name] = f"among the {room} already"


def cables_end_somewhere(c: _Checked) -> Iterator[Problem]:
    """Both ends of a cable are places of this job, and not the same one."""
    for name, cable in c.job.cables.items():
        for key, end in (("from", cable.from_), ("to", cable.to)):
            yield from c.refer(("cables", name, key), end, c.ends, "place of this job")
        if bar(cable.from_) == bar(cable.to):
            loc = ("cables", name, "to")
            yield c.places.problem(loc, cable.to, "a cable ends elsewhere than it begins")
        if cable.device_at == "to" and cable.gap("device") is None and cable.device is None:
            loc = ("cables", name, "device at")
            yield c.places.problem(loc, "to", "the cable has no `device`; state it first")


def circuits_have_a_board(c: _Checked) -> Iterator[Problem]:
    """A circuit's board, RCD, and the circuit or bar of its neutral are there."""
    for name, circuit in c.job.circuits.items():
        at: Loc = ("circuits", name)
        yield from c.refer((*at, "board"), circuit.board, c.boards, "board of this job")
        rcds = c.rcds_of(circuit.board) if circuit.board in c.boards else []
        if circuit.board in c.boards:
            yield from _behind(c, at, circuit, circuit.board)
        partner = _stated(circuit, "neutral_with")
        if partner is not None:
            others = [other for other in c.circuits if other != name]
            yield from c.refer((*at, "neutral with"), partner, others, "other circuit")
        neutral_at = _stated(circuit, "neutral_at")
        if neutral_at is not None:
            bars = [*c.boards, *rcds]
            yield from c.refer((*at, "neutral at"), neutral_at, bars, "board or RCD of its board")


def cables_are_behind_an_rcd_that_is_there(c: _Checked) -> Iterator[Problem]:
    """`behind` names an RCD of the board at which the cable begins."""
    for name, cable in c.job.cables.items():
        at: Loc = ("cables", name)
        if _stated(cable, "behind") is None or cable.from_ not in c.ends:
            continue
        if cable.from_ in c.boards:
            yield from _behind(c, at, cable, cable.from_)
        else:
            allowed = "only a cable that begins at a board can be behind an RCD"
            yield c.places.problem((*at, "behind"), cable.behind or "", allowed)


def _behind(c: _Checked, at: Loc, part: Cable | Circuit, board: str) -> Iterator[Problem]:
    rcd = _stated(part, "behind")
    if rcd is not None:
        yield from c.refer((*at, "behind"), rcd, c.rcds_of(board), f"RCD of {board}")


def other_places_are_there(c: _Checked) -> Iterator[Problem]:
    """Where readings were taken, the earthing terminal, the sensors: places of this job."""
    supply, earthing = c.job.supply, c.job.earthing
    for key in ("measured", "declared"):
        at = _stated(supply, key) and _stated(getattr(supply, key), "at")
        if at:
            yield from c.refer(("supply", key, "at"), at, c.ends, "place of this job")
    terminal = _stated(earthing, "main_earthing_terminal")
    if terminal is not None:
        loc = ("earthing", "main earthing terminal")
        yield from c.refer(loc, terminal, c.boards, "board of this job")
    for key, placed in _placed(c.job):
        sensor = _stated(placed, "current_sensors")
        on = sensor and _stated(sensor, "at")
        if not on:
            continue
        sensors: Loc = ("equipment", key, "current sensors")
        yield from c.refer((*sensors, "at"), on, c.cables, "cable of this job")
        towards, cable = _stated(sensor, "points_to"), c.job.cables.get(on)
        if towards and cable:
            ends = (cable.from_, cable.to)
            yield from c.refer((*sensors, "points to"), towards, ends, f"end of {on}")


# --- equipment ----------------------------------------------------------------------------


def _placed(job: Job) -> Iterator[tuple[str, Placed]]:
    for key, known in fields_of(type(job.placement)).items():
        placed = _stated(job.placement, known.name)
        if placed is not None:
            yield key, placed


def equipment_is_described(c: _Checked) -> Iterator[Problem]:
    """Each model stands in an equipment file, under its own kind."""
    wanted: dict[str, type[AnyEquipment]] = {
        "islanding switch": IslandingSwitch,
        "inverter": Inverter,
        "battery": Battery,
        "PV array": PvArray,
    }
    entries = c.job._equipment  # noqa: SLF001 - looked up here before anybody else may
    for key, placed in _placed(c.job):
        loc = ("equipment", key, "model")
        sheet = entries.get(placed.model)
        if sheet is None:
            if placed.model not in c.unread and placed.model != NOT_READ:
                fitting = [m for m, entry in entries.items() if isinstance(entry, wanted[key])]
                why = "which no equipment file describes"
                yield c.places.problem(loc, placed.model, nearest(placed.model, fitting), why=why)
        elif not isinstance(sheet, wanted[key]):
            allowed = f"its file calls it `{sheet.kind}`; here stands one of kind `{key}`"
            yield c.places.problem(loc, placed.model, allowed)


def equipment_fits_the_supply(c: _Checked) -> Iterator[Problem]:
    """Poles, output and line of the equipment are those that the supply has."""
    job = c.job
    entries = job._equipment  # noqa: SLF001 - see above
    form = job.supply.form
    if not c.whole:
        return  # perhaps it is the form that could not be read
    for key, placed in _placed(job):
        loc = ("equipment", key)
        sheet = entries.get(placed.model)
        line = _stated(placed, "line")
        if line is not None:
            yield from _lines(c, (*loc, "line"), line)
        poles = _stated(sheet, "switched_poles") if isinstance(sheet, IslandingSwitch) else None
        if poles and not set(poles) <= {*job.phases, "N"}:
            found = f"{placed.model}, which opens {' '.join(poles)}"
            allowed = f"a supply of {form} has {' '.join((*job.phases, 'N'))}"
            yield c.places.problem((*loc, "model"), found, allowed)
        output = _stated(sheet, "output") if isinstance(sheet, Inverter) else None
        fitting = _PHASES_OF.get(output or "", (form,))
        if form not in fitting:
            found = f"{placed.model}, whose output is {output}"
            allowed = f"the supply has to be {' or '.join(fitting)}, not {form}"
            yield c.places.problem((*loc, "model"), found, allowed)


# --- conductors ---------------------------------------------------------------------------


def _lines(c: _Checked, loc: Loc, conductors: Iterable[str]) -> Iterator[Problem]:
    """Lines that the supply does not have."""
    absent = [x for x in conductors if x in LINES and x not in c.job.phases]
    if absent:
        has = " ".join(c.job.phases)
        why = f"but a supply of {c.job.supply.form} has no {' '.join(absent)}"
        yield c.places.problem(loc, " ".join(conductors), f"its lines are: {has}", why=why)


def lines_are_those_of_the_supply(c: _Checked) -> Iterator[Problem]:
    """No cable, circuit or main switch has a line that the supply does not have."""
    for name, cable in c.job.cables.items():
        yield from _lines(c, ("cables", name, "cores"), cable.cores)
    for name, board in c.job.boards.items():
        switch = _stated(board, "main_switch")
        if switch and switch.has("poles"):
            yield from _lines(c, ("boards", name, "main switch", "poles"), switch.poles)
    for name, circuit in c.job.circuits.items():
        at: Loc = ("circuits", name)
        lines, cores = _stated(circuit, "lines"), _stated(circuit, "cores")
        yield from _lines(c, (*at, "lines"), lines or ())
        yield from _lines(c, (*at, "cores"), cores or ())
        if lines and cores and not set(lines) <= set(cores):
            allowed = f"the circuit is on {' '.join(lines)}, so its cable has that core"
            yield c.places.problem((*at, "cores"), " ".join(cores), allowed)
        if "PEN" in (cores or ()):
            allowed = "a final circuit has N and PE, each of its own"
            yield c.places.problem((*at, "cores"), " ".join(cores), allowed)


def a_pen_ends_where_it_splits(c: _Checked) -> Iterator[Problem]:
    """PEN cores only in TN-C-S, and only between the supply and the place of the split."""
    job = c.job
    system, split = _stated(job.supply, "system_earthing"), _stated(job.supply, "pen_splits_at")
    loc = ("supply", "PEN splits at")
    places = (SUPPLY, *c.boards)
    if split is not None:
        if system not in (None, "TN-C-S"):
            allowed = f"in a {system} supply no PEN comes in; write `none`"
            yield c.places.problem(loc, split, allowed)
            return
        yield from c.refer(loc, split, places, "place at which a PEN can split")
    upstream = reached(_ways(job), [SUPPLY], stop=split or "")
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


# --- ways ---------------------------------------------------------------------------------


def _ways(job: Job) -> list[Way]:
    """Cables and the closed islanding switch; the bypass is declared and no way of its own."""
    ways = [
        Way(name, (bar(cable.from_), bar(cable.to)), cable.cores)
        for name, cable in job.cables.items()
    ]
    return [Way("", (SWITCH_GRID, SWITCH_HOUSE), (*LINES, "N")), *ways]


def live_conductors_close_no_ring(c: _Checked) -> Iterator[Problem]:
    """An undeclared ring of live conductors carries current that no rule looks for."""
    known = [w for w in _ways(c.job) if set(w.ends) <= {*map(bar, c.ends)} and len({*w.ends}) == 2]
    for names in live_rings(known, (*c.job.phases, "N")):
        allowed = (
            f"the live conductors of {', '.join(names)} close a ring; "
            "only a ring final circuit may, and it is declared as `ring`"
        )
        yield c.places.problem(("cables", names[-1]), "", allowed, at_key=True)


def every_board_is_fed(c: _Checked) -> Iterator[Problem]:
    """A cable reaches each board, from the supply or the inverter."""
    ends = {end for cable in c.job.cables.values() for end in (cable.from_, cable.to)}
    if not c.whole or not ends <= set(c.ends):
        return  # what is told already would be told again
    fed = reached(_ways(c.job), [SUPPLY, INVERTER])
    for name in c.boards:
        if name not in fed:
            allowed = "no cable leads here from the supply or the inverter"
            yield c.places.problem(("boards", name), name, allowed, at_key=True)


# --- figures ------------------------------------------------------------------------------


def the_voltage_is_low_voltage(c: _Checked) -> Iterator[Problem]:
    """U_0 stays below 1000 V."""
    u0 = _stated(c.job.supply, "nominal_voltage_v")
    if u0 is not None and not 0 < u0 < HIGHEST_V:
        loc = ("supply", "nominal voltage")
        yield c.places.problem(loc, f"{u0:g} V", f"it lies between 0 and {HIGHEST_V:g} V")


@functools.cache
def _size_fields(part: type[Part]) -> tuple[tuple[str, str], ...]:
    fields = fields_of(part).items()
    return tuple((key, known.name) for key, known in fields if known.name.endswith("_mm2"))


def _listed_sizes(c: _Checked, path: Loc, part: Part) -> Iterator[Problem]:
    """Cross-sections are those that cables are made in."""
    for key, name in _size_fields(type(part)):
        if not part.has(name):
            continue
        size = float(part.__dict__[name])
        material = part.__dict__.get("material")
        made = sizes(material if isinstance(material, str) else "copper")
        if size in made or size == AS_LINE:
            continue
        allowed = f"it is no listed size; {neighbours(size, made, 'mm2')}"
        yield c.places.problem((*path, key), f"{size:g} mm2", allowed)


def _listed_ratings(c: _Checked, path: Loc, part: Part) -> Iterator[Problem]:
    """Rated currents are those that devices are made for."""
    if not isinstance(part, Device) or not (part.has("curve") and part.has("i_n_a")):
        return
    made = ratings_a("gG" if part.curve == "gG" else "breaker")
    if part.i_n_a not in made:
        allowed = f"it is no listed rating; {neighbours(part.i_n_a, made, 'A')}"
        yield c.places.problem((*path, "rated current"), f"{part.i_n_a:g} A", allowed)


_CHECKS = (
    names_are_unique,
    cables_end_somewhere,
    circuits_have_a_board,
    cables_are_behind_an_rcd_that_is_there,
    other_places_are_there,
    equipment_is_described,
    equipment_fits_the_supply,
    lines_are_those_of_the_supply,
    a_pen_ends_where_it_splits,
    live_conductors_close_no_ring,
    every_board_is_fed,
    the_voltage_is_low_voltage,
)
