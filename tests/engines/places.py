"""Kinds of wiring mistake, each at every place where it can be made.

Belongs here: mistakes that are repeated over circuits, cables, RCD groups and poles. The
mistakes of a whole house are in `mistakes`.
"""

from __future__ import annotations

from collections.abc import Iterator

from islewright.network.parts import Change
from tests.engines.house import House
from tests.engines.mistakes import BOARD
from tests.engines.positions import Setting

GRID, ISLAND = "grid", "island, on the battery"
STATES = (GRID, ISLAND)
Made = Iterator[tuple[str, str, tuple[Change, ...]]]
#: ohms of a loose terminal, of damaged insulation, of a burnt bond
LOOSE, LEAKY, BURNT = 1.5, 2e3, 4.0


def heaters(house: House, ohm: float = 20.0) -> tuple[Change, ...]:
    """One heater per line of the backed-up board, behind its first RCD where it has one."""
    bar = next(iter(groups(house, BOARD)), BOARD)
    return tuple(
        Change("join", f"heater {c}", f"{bar}.{c}", f"{bar}.N", ohm + 15 * i)
        for i, c in enumerate(house.job.phases)
    )


def groups(house: House, board: str) -> list[str]:
    """Bars behind the RCDs of a board."""
    return [f"{board}/{rcd}" for rcd in house.job.boards[board].rcds]


def at_circuits(house: House) -> Made:
    """Kind, place and changes for every circuit that has its own neutral and earth."""
    own = {s.circuit: s.conductors for s in house.network.layout("hot").parts.stubs}
    for name, cores in own.items():
        circuit, line = house.job.circuits[name], cores[0]
        place = f"circuit {name}"
        for core, word in (("N", "neutral"), ("PE", "earth"), (line, "line")):
            if core in cores:
                yield (
                    f"{word} broken at a circuit",
                    place,
                    (Change("open", f"{place} {core}", core),),
                )
        for a, b, word in (
            ("N", "PE", "neutral and earth"), (line, "N", "line and neutral"),
            (line, "PE", "line and earth"),
        ):  # fmt: skip
            if {a, b} <= set(cores):
                yield f"{word} swapped at a circuit", place, (Change("swap", place, a, b),)
        mine = f"{circuit.board}/{circuit.behind}" if circuit.behind else circuit.board
        for bar, word in _other_bars(house, circuit.board, mine):
            if "N" in cores:
                yield f"neutral on {word}", place, _moved(place, "N", bar)
            if line in _lines_of(house, bar):
                yield f"line on {word}", place, _moved(place, line, bar)


def _other_bars(house: House, board: str, mine: str) -> Iterator[tuple[str, str]]:
    for bar in groups(house, board):
        if bar != mine:
            yield bar, "another group's bar"
            break
    yield next(other for other in house.job.boards if other != board), "the other board's bar"


def _lines_of(house: House, bar: str) -> set[str]:
    nodes = house.network.layout("hot").parts.index
    return {line for line in house.job.phases if f"{bar}.{line}" in nodes}


def _moved(place: str, core: str, bar: str) -> tuple[Change, ...]:
    return (
        Change("open", f"{place} {core}", core),
        Change("join", "wrong bar", f"{place}/loose.{core}", f"{bar}.{core}"),
    )


def at_cables(house: House) -> Made:
    """Kind, place and changes for every cable between supply, boards and inverter."""
    elements = {e.name: e for e in house.elements["hot"]}
    for name, cable in house.job.cables.items():
        place, cores = f"cable {name}", cable.cores
        words = {"N": "neutral", "PE": "earth", "PEN": "PEN"}
        for core in cores:
            word = words.get(core, "line")
            yield f"{word} broken in a cable", place, (Change("open", f"{place} {core}"),)
            ends = elements[f"{place} {core}"]
            loose = Change("join", "loose terminal", ends.a, ends.b, LOOSE)
            broken = Change("open", f"{place} {core}")
            yield f"{word} loose in a cable", place, (broken, loose)
        back = "PEN" if "PEN" in cores else "N"
        for a, b in (("L1", back), ("L1", "PE"), (back, "PE"), ("L1", "L2")):
            if {a, b} <= set(cores):
                kind = f"{words.get(a, 'line')} and {words.get(b, 'line')} swapped at a cable"
                yield kind, place, (Change("swap", place, a, b),)
        if "L3" in cores:
            turn = (Change("swap", place, "L1", "L2"), Change("swap", place, "L2", "L3"))
            yield "lines turned cyclically at a cable", place, turn


def at_bars(house: House) -> Made:
    """Kind, place and changes for every bar: boards, and the groups behind their RCDs."""
    for board in house.job.boards:
        other = next(b for b in house.job.boards if b != board)
        for bar in (board, *groups(house, board)):
            earth, neutral = f"{board}.PE", f"{bar}.N"
            yield "second bond", bar, (Change("join", "second bond", neutral, earth, 2e-3),)
            yield "neutral leaks to earth", bar, (Change("join", "leak", neutral, earth, LEAKY),)
            for line in sorted(_lines_of(house, bar)):
                at = f"{bar}.{line}"
                yield "line leaks to earth", bar, (Change("join", "leak", at, earth, LEAKY),)
                yield "line on the soil", bar, (Change("join", "on the soil", at, "earth", LEAKY),)
            if bar != board:
                bridge = tuple(
                    Change("join", f"bridge {c}", f"{board}.{c}", f"{bar}.{c}") for c in ("L1", "N")
                )
                yield "RCD bridged at one pole", bar, bridge[:1]
                yield "RCD bridged at both poles", bar, bridge
            yield "neutrals of two boards joined", bar, (
                Change("join", "joined neutrals", neutral, f"{other}.N"),
            )  # fmt: skip
            yield "lines of two boards joined", bar, (
                Change("join", "joined lines", f"{bar}.L1", f"{other}.L1"),
            )  # fmt: skip


def at_the_house(house: House) -> Made:
    """Kind, place and changes for what a house has once."""
    for name, kind in (
        ("service N", "neutral or PEN broken in the street"),
        ("earthing terminal link", "earthing terminal not linked"),
        ("earthing conductor", "electrode not connected"),
        ("transformer electrode", "electrode of the transformer lost"),
    ):
        yield kind, name, (Change("open", name),)


def at_contacts(house: House) -> Iterator[tuple[str, str, str, dict]]:
    """Kind, place, state and what stands otherwise: poles and bonds."""
    for c in (*house.job.phases, "N"):
        pole = f"islanding switch {c}"
        for state in (ISLAND, "island, street loaded", "island, public supply back"):
            yield "pole welded", pole, state, {"closed": frozenset({pole})}
        word = "neutral pole" if c == "N" else "line pole"
        yield f"{word} does not close", pole, GRID, {"opened": frozenset({pole})}
    bond = house.bond
    yield "bond does not close", bond, ISLAND, {"opened": frozenset({bond})}
    burnt = Change("join", "burnt contact", f"{BOARD}.N", f"{BOARD}.PE", BURNT)
    yield "bond through a burnt contact", bond, ISLAND, {
        "opened": frozenset({bond}), "changes": (burnt,),
    }  # fmt: skip
    yield "bond closed on the grid", bond, GRID, {"closed": frozenset({bond})}


def every_mistake(house: House) -> dict[str, dict[str, Setting]]:
    """Kind -> place and state -> setting, with the heaters on."""
    on, found = heaters(house), {}
    for maker in (at_circuits, at_cables, at_bars, at_the_house):
        for kind, place, changes in maker(house):
            for state in STATES:
                places = found.setdefault(kind, {})
                key = f"{place}, {len(places)}, {state}"
                places[key] = Setting(state=state, changes=(*changes, *on))
    for kind, place, state, otherwise in at_contacts(house):
        changes = (*otherwise.pop("changes", ()), *on)
        places = found.setdefault(kind, {})
        places[f"{place}, {state}"] = Setting(state=state, changes=changes, **otherwise)
    return found


def every_third(house: House, start: int = 0) -> dict[tuple[str, str], Setting]:
    """Each third place of every kind, a different third from kind to kind."""
    found = {}
    for i, (kind, places) in enumerate(every_mistake(house).items()):
        keys = list(places)
        # both states stand side by side: a third of the places, not of one state
        chosen = keys[(i + start) % 3 % len(keys) :: 3] if len(keys) > 3 else keys
        found |= {(kind, key): places[key] for key in chosen}
    return found
