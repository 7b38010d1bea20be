"""The cases that ngspice has solved, and the file that keeps its answers.

    python -m tests.engines.spice_cases

solves them again with the ngspice of this machine and writes the file.
"""

from __future__ import annotations

import json
from pathlib import Path

from islewright.network.parts import Change
from tests.engines import spice
from tests.engines.elements import Element
from tests.engines.faults import JOINT_OHM
from tests.engines.house import House
from tests.engines.mistakes import BOARD, on_the_board
from tests.engines.positions import Setting

STORED = Path(__file__).parent / "data" / "ngspice.json"
ISLAND = "island, on the battery"
STREET = "island, street loaded"
#: digits kept of each voltage; 1e-6 of U_0 needs seven
DIGITS = 12


def settings(house: House) -> dict[str, tuple[Setting, str]]:
    """Settings of one house, each with its set of impedances."""
    heaters = on_the_board(house)
    welded = frozenset({"islanding switch L1"})
    return {
        "grid": (Setting(state="grid", changes=heaters), "hot"),
        "island": (Setting(state=ISLAND, changes=heaters), "cold"),
        "bond open": (Setting(state=ISLAND, opened=frozenset({house.bond})), "hot"),
        "pole welded": (Setting(state=STREET, closed=welded), "hot"),
    } | {
        word: (Setting(state=ISLAND, changes=(*changes, *heaters)), "hot")
        for word, changes in mistakes(house).items()
    }


def mistakes(house: House) -> dict[str, tuple[Change, ...]]:
    """Wiring mistakes that leave no conductor to 1 nS alone, one of each sort of change."""
    bar = f"{BOARD}/{next(iter(house.job.boards[BOARD].rcds))}"
    return {
        "neutral broken": (Change("open", "cable house side N"),),
        "neutral and earth swapped": (Change("swap", "cable inverter cable", "N", "PE"),),
        "RCD bridged": (Change("join", "bridge", f"{BOARD}.L1", f"{bar}.L1"),),
        "line leaks to earth": (Change("join", "leak", f"{bar}.L1", f"{BOARD}.PE", 2e3),),
    }


def fault_at(house: House) -> tuple[str, str]:
    """Nodes of an earth fault at the end of the longest circuit of the backed-up board."""
    on_board = [
        (float(c.length_m), name, c.lines[0]) for name, c in house.job.circuits.items()
        if c.board == BOARD and c.gap("length_m") is None
    ]  # fmt: skip
    _, name, line = max(on_board)
    return f"circuit {name}/far.{line}", f"circuit {name}/far.PE"


def cases(house: House, name: str) -> dict[str, tuple[list[Element], Setting, str]]:
    """Elements of every case of one house; two of them with an earth fault."""
    found = {}
    for word, (setting, case) in settings(house).items():
        found[f"{name}, {word}"] = (house.elements_in(setting, case), setting, case)
    a, b = fault_at(house)
    for state in ("grid", ISLAND):
        setting = Setting(state=state)
        elements = [*house.elements_in(setting, "cold"), Element("fault", a, b, ohm=JOINT_OHM + 0j)]
        found[f"{name}, earth fault, {state}"] = (elements, setting, "cold")
    return found


def solve(house: House, name: str) -> dict[str, dict]:
    """Every case of one house through ngspice, as it is stored."""
    found = {}
    for case, (elements, _, _) in cases(house, name).items():
        text = spice.netlist(elements, house.hertz, case)
        volts = spice.volts_of(text, elements)
        found[case] = {
            "netlist": spice.digest(text),
            "volts": {n: [_short(v.real), _short(v.imag)] for n, v in volts.items()},
        }
    return found


def _short(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def main() -> None:
    from tests.engines.house import GROUPED

    solved: dict[str, dict] = {}
    for name in GROUPED:
        solved |= solve(House.example(name), name)
    head = {"program": spice.version(), "made by": "python -m tests.engines.spice_cases"}
    body = ",\n".join(f"  {json.dumps(k)}: {json.dumps(v)}" for k, v in solved.items())
    text = json.dumps(head)[:-1] + ', "cases": {\n' + body + "\n}}\n"
    STORED.write_text(text, encoding="utf-8")
    print(f"{len(solved)} cases in {STORED}")


if __name__ == "__main__":
    main()
