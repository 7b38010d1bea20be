"""Wiring mistakes as settings: more than ten, for any of the examples."""

from __future__ import annotations

from islewright.network.parts import Change
from tests.engines.house import House
from tests.engines.positions import Setting

BOARD = "backed-up board"
ISLAND = "island, on the battery"


def on_the_board(house: House, ohm: float = 20.0) -> tuple[Change, ...]:
    """One heater per line of the backed-up board, between line and neutral of a group."""
    rcd = next(iter(house.job.boards[BOARD].rcds))
    return tuple(
        Change("join", f"heater {c}", f"{BOARD}/{rcd}.{c}", f"{BOARD}/{rcd}.N", ohm + 15 * i)
        for i, c in enumerate(house.job.phases)
    )


def circuit_of(house: House) -> str:
    """A circuit of one line on the backed-up board, behind an RCD."""
    shared = {c.neutral_with for c in house.job.circuits.values()}
    return next(
        name for name, c in house.job.circuits.items()
        if c.board == BOARD and c.behind and len(c.lines) == 1 and "N" in c.cores
        and not c.neutral_at and not c.neutral_with and name not in shared
    )  # fmt: skip


def other_bars(house: House, circuit: str) -> list[str]:
    """Bars on which the circuit's neutral does not belong: another RCD's, the main board's."""
    mine = house.job.circuits[circuit].behind
    rcds = [rcd for rcd in house.job.boards[BOARD].rcds if rcd != mine]
    return [f"{BOARD}/{rcds[0]}", "main board"]


def moved(house: House, bar: str) -> tuple[Change, ...]:
    """The neutral of a circuit taken off its bar and put on another one."""
    name = circuit_of(house)
    return (
        Change("open", f"circuit {name} N", "N"),
        Change("join", "wrong bar", f"circuit {name}/loose.N", f"{bar}.N"),
    )


def mistakes_of(house: House) -> dict[tuple[str, str], Setting]:
    """Every mistake by its name and state, as a setting with heaters on."""
    heaters = on_the_board(house)
    circuit = circuit_of(house)
    line = house.job.circuits[circuit].lines[0]
    tails = house.job.cables["tails"].cores
    back = "PEN" if "PEN" in tails else "N"
    second = Change("join", "second bond", f"{BOARD}.N", f"{BOARD}.PE", 2e-3)
    changes = {
        "two bonds": (second,),
        "broken neutral or PEN in the street": (Change("open", "service N"),),
        "broken neutral or PEN in the tails": (Change("open", f"cable tails {back}"),),
        "neutral and earth swapped at a circuit": (
            Change("swap", f"circuit {circuit}", "N", "PE"),
        ),
        "line and neutral swapped at a circuit": (Change("swap", f"circuit {circuit}", line, "N"),),
        "line and neutral swapped at a cable": (Change("swap", "cable house side", "L1", "N"),),
        "line and earth swapped at a cable": (Change("swap", "cable grid side", "L1", "PE"),),
        "neutral and earth swapped at a cable": (
            Change("swap", "cable inverter cable", "N", "PE"),
        ),
        "earth broken in a cable": (Change("open", "cable house side PE"),),
        "earth broken at a circuit": (Change("open", f"circuit {circuit} PE", "PE"),),
        "neutral broken at a circuit": (Change("open", f"circuit {circuit} N", "N"),),
        "neutral broken in a cable": (Change("open", "cable house side N"),),
        "earthing terminal not linked": (Change("open", "earthing terminal link"),),
        "electrode not connected": (Change("open", "earthing conductor"),),
    }
    changes |= {f"neutral left on {bar}": moved(house, bar) for bar in other_bars(house, circuit)}
    found = {}
    for name, edits in changes.items():
        for state in ("grid", ISLAND):
            found[name, state] = Setting(state=state, changes=(*edits, *heaters))
    return found | _contacts(house, heaters)


def _contacts(house: House, heaters: tuple[Change, ...]) -> dict[tuple[str, str], Setting]:
    """Mistakes at contacts: welded, not closing, closing when they must not."""
    bond, found = house.bond, {}
    for state in (ISLAND, "island, street loaded", "island, public supply back"):
        for c in (*house.job.phases, "N"):
            found[f"pole {c} welded", state] = Setting(
                state=state, closed=frozenset({f"islanding switch {c}"}), changes=heaters
            )
        found["bond open", state] = Setting(state=state, opened=frozenset({bond}), changes=heaters)
    found["bond closed", "grid"] = Setting(state="grid", closed=frozenset({bond}), changes=heaters)
    found["neutral pole does not close", "grid"] = Setting(
        state="grid", opened=frozenset({"islanding switch N"}), changes=heaters
    )
    return found
