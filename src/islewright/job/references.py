"""Checks of names: each its own, and each that is referred to is there."""

from __future__ import annotations

from collections.abc import Iterator

from islewright.job.arrester import SurgeArrester
from islewright.job.checked import RESERVED, Checked, placed_in, stated
from islewright.job.equipment import KINDS
from islewright.job.model import Cable, Circuit
from islewright.job.problem import Problem, nearest
from islewright.job.refusal import Loc
from islewright.job.ways import bar
from islewright.tables.profile import profile_names


def names_are_unique(c: Checked) -> Iterator[Problem]:
    """A board, cable or circuit has a name of its own."""
    first: dict[str, str] = dict.fromkeys(RESERVED, "a fixed place of every job")
    for room in ("boards", "cables", "circuits"):
        for name in c.places.names(room):
            if name in first:
                allowed = f"each has its own name, and this one is {first[name]}"
                yield c.places.problem((room, name), name, allowed, at_key=True)
            else:
                first[name] = f"among the {room} already"


def cables_end_somewhere(c: Checked) -> Iterator[Problem]:
    """Both ends of a cable are places of this job, and not the same one."""
    for name, cable in c.job.cables.items():
        for key, end in (("from", cable.from_), ("to", cable.to)):
            yield from c.refer(("cables", name, key), end, c.ends, "place of this job")
        if bar(cable.from_) == bar(cable.to):
            loc = ("cables", name, "to")
            yield c.places.problem(loc, cable.to, "a cable ends elsewhere than it begins")
        without = cable.gap("device") is None and cable.device is None
        if without and stated(cable, "device_at") == "to":
            loc = ("cables", name, "device at")
            yield c.places.problem(loc, "to", "the cable has no `device`; state it first")


def circuits_have_a_board(c: Checked) -> Iterator[Problem]:
    """A circuit's board, RCD, and the circuit or bar of its neutral are there."""
    rcds = {board: c.places.rcds_of(board) for board in c.boards}
    for name, circuit in c.job.circuits.items():
        at: Loc = ("circuits", name)
        behind, own = stated(circuit, "behind"), rcds.get(circuit.board)
        if own is None:
            yield from c.refer((*at, "board"), circuit.board, c.boards, "board of this job")
        elif behind is not None and behind not in own:
            yield from _behind(c, at, circuit, circuit.board)
        partner = stated(circuit, "neutral_with")
        if partner is not None:
            others = [other for other in c.circuits if other != name]
            yield from c.refer((*at, "neutral with"), partner, others, "other circuit")
        neutral_at = stated(circuit, "neutral_at")
        if neutral_at is not None:
            bars = [*c.boards, *(own or ())]
            yield from c.refer((*at, "neutral at"), neutral_at, bars, "board or RCD of its board")


def cables_are_behind_an_rcd_that_is_there(c: Checked) -> Iterator[Problem]:
    """`behind` names an RCD of the board at which the cable begins."""
    for name, cable in c.job.cables.items():
        at: Loc = ("cables", name)
        if stated(cable, "behind") is None or cable.from_ not in c.ends:
            continue
        if cable.from_ in c.boards:
            yield from _behind(c, at, cable, cable.from_)
        else:
            allowed = "only a cable that begins at a board can be behind an RCD"
            yield c.places.problem((*at, "behind"), cable.behind or "", allowed)


def arresters_are_behind_an_rcd_that_is_there(c: Checked) -> Iterator[Problem]:
    """`behind` of a surge arrester names an RCD of its board."""
    for name, board in c.job.boards.items():
        arrester = stated(board, "surge_arrester")
        if arrester is not None:
            yield from _behind(c, ("boards", name, "surge arrester"), arrester, name)


def _behind(
    c: Checked, at: Loc, part: Cable | Circuit | SurgeArrester, board: str
) -> Iterator[Problem]:
    rcd = stated(part, "behind")
    if rcd is not None:
        yield from c.refer((*at, "behind"), rcd, c.places.rcds_of(board), f"RCD of {board}")


def other_places_are_there(c: Checked) -> Iterator[Problem]:
    """Where readings were taken, the earthing terminal, the sensors: places of this job."""
    supply, earthing = c.job.supply, c.job.earthing
    for key in ("measured", "declared"):
        at = stated(supply, key) and stated(getattr(supply, key), "at")
        if at:
            yield from c.refer(("supply", key, "at"), at, c.ends, "place of this job")
    terminal = stated(earthing, "main_earthing_terminal")
    if terminal is not None:
        loc = ("earthing", "main earthing terminal")
        yield from c.refer(loc, terminal, c.boards, "board of this job")
    for key, placed in placed_in(c.job):
        sensor = stated(placed, "current_sensors")
        on = sensor and stated(sensor, "at")
        if not on:
            continue
        sensors: Loc = ("equipment", key, "current sensors")
        yield from c.refer((*sensors, "at"), on, c.cables, "cable of this job")
        towards, cable = stated(sensor, "points_to"), c.job.cables.get(on)
        if towards and cable:
            ends = (cable.from_, cable.to)
            yield from c.refer((*sensors, "points to"), towards, ends, f"end of {on}")


def pv_feeds_in_at_a_board(c: Checked) -> Iterator[Problem]:
    """`connected to` names a board, and only the PV array has it."""
    for key, placed in placed_in(c.job):
        board = stated(placed, "connected_to")
        if board is None:
            continue
        loc: Loc = ("equipment", key, "connected to")
        if key == "PV array":
            yield from c.refer(loc, board, c.boards, "board of this job")
        else:
            allowed = "cables say what this is connected to; only a PV array has the key"
            yield c.places.problem(loc, board, allowed)


def the_generator_feeds_a_board(c: Checked) -> Iterator[Problem]:
    """`feeds` names a board."""
    inlet = stated(c.job, "generator")
    feeds = inlet and stated(inlet, "feeds")
    if feeds:
        loc: Loc = ("generator inlet", "feeds")
        yield from c.refer(loc, feeds, c.boards, "board of this job")


def equipment_stands_at_a_place_that_is_there(c: Checked) -> Iterator[Problem]:
    """`place` names one of the other places, and each of those has something that stands there."""
    used, others = set(), stated(c.job, "other_places") or {}
    for key, placed in placed_in(c.job):
        place = stated(placed, "place")
        if place is not None:
            used.add(place)
            loc: Loc = ("equipment", key, "place")
            yield from c.refer(loc, place, others, "other place of this job")
    for name in others:
        if name not in used:
            allowed = "no equipment stands there; write its name at `place` of what does"
            yield c.places.problem(("other places", name), name, allowed, at_key=True)


def equipment_is_described(c: Checked) -> Iterator[Problem]:
    """Each model stands in an equipment file, under its own kind."""
    entries = c.job._equipment  # noqa: SLF001 - looked up here before anybody else may
    for key, placed in placed_in(c.job):
        loc = ("equipment", key, "model")
        sheet = entries.get(placed.model)
        if sheet is None:
            if placed.model not in c.unread and not c.is_stand_in(placed.model):
                fitting = [m for m, entry in entries.items() if isinstance(entry, KINDS[key])]
                why = "which no equipment file describes"
                yield c.places.problem(loc, placed.model, nearest(placed.model, fitting), why=why)
        elif not isinstance(sheet, KINDS[key]):
            allowed = f"its file calls it `{sheet.kind}`; here stands one of kind `{key}`"
            yield c.places.problem(loc, placed.model, allowed)


def the_rule_set_is_there(c: Checked) -> Iterator[Problem]:
    """The profile by which the job is judged is one of this program's."""
    name = c.job.head.profile
    if not c.is_stand_in(name):
        yield from c.refer(("job", "profile"), name, profile_names(), "rule set of this program")
