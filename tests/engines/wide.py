"""The wide run: every example in every state, every fault, mistakes at every third place,
and every fault beside each of those mistakes.

    OPENBLAS_NUM_THREADS=1 python -m tests.engines.wide

takes some ten minutes, says what it found and keeps it in `data/wide.json`. A sample of it is a
test; the tests also hold the file to the cases of today and to the bounds.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import opendssdirect

from tests.engines.arbiter import volts_of
from tests.engines.elements import EARTH, Element
from tests.engines.faults import JOINT_OHM, OurFaults, Worst, compare_faults, faults_of
from tests.engines.house import CASES, NAMES, House, compare
from tests.engines.places import every_third
from tests.engines.positions import OPEN, Setting

STORED = Path(__file__).parent / "data" / "wide.json"
#: of U_0; of the largest current of the case
VOLTS = AMPS = 1e-6
#: the same where a conductor floats
AMPS_AFLOAT = 1e-4
#: voltages where a mistake leaves a conductor to 1 nS alone: double precision leaves no more.
#: The worst, 2.2e-5, lies 0.8e-5 (OpenDSS) and 1.4e-5 (the engine) off 80-bit arithmetic.
VOLTS_AFLOAT = 3e-5
#: the engine alone against 80-bit arithmetic, in the few cases where both solvers differ by more
#: than that: a fault, and a house whose protective conductor hangs on 1 nS
VOLTS_ARBITRATED = 1e-4
#: ohms beyond which an element holds nothing
HOLDS_OHM = 1e5
#: states in which some EMF runs, so that a fault has a current
ALIVE = [s for s in OPEN if not s.startswith(("dead", "outage", "everything"))]


def floats(elements: list[Element]) -> bool:
    """Whether some node has no conducting way to true earth."""
    root: dict[str, str] = {}

    def find(node: str) -> str:
        while (above := root.setdefault(node, node)) != node:
            node = above
        return node

    for e in elements:
        find(e.a), find(e.b)
        if e.kind in ("ohm", "emf") and abs(e.ohm) < HOLDS_OHM:
            root[find(e.a)] = find(e.b)
    return any(find(node) != find(EARTH) for node in list(root))


class Tally:
    """The worst of many comparisons, held and floating apart, and those out of bounds."""

    def __init__(self, volts_afloat: float = VOLTS) -> None:
        self.volts_afloat = volts_afloat
        self.held, self.afloat, self.arbitrated = Worst(), Worst(), Worst()
        self.wrong: list[str] = []

    def take(self, found, where: str, *, floating: bool, count: int = 1) -> None:
        worst = self.afloat if floating else self.held
        worst.take(found.volts, found.amps, f"{where}: {found.where}")
        worst.count += count - 1
        volts, amps = (self.volts_afloat, AMPS_AFLOAT) if floating else (VOLTS, AMPS)
        if not (found.volts < volts and found.amps < amps):
            self.wrong.append(f"{where}: {found}")

    def arbitrate(self, found: Worst, amps: float, where: str) -> None:
        """Count voltages held against extended precision, currents against the other solver."""
        self.arbitrated.take(found.volts, amps, f"{where}: {found.where}")
        self.arbitrated.count += found.count - 1
        if not (found.volts < VOLTS_ARBITRATED and amps < AMPS_AFLOAT):
            self.wrong.append(f"{where}: {found} {amps}")

    def told(self) -> dict[str, object]:
        """As it is stored: cases and worst relative differences."""
        return {"wrong": len(self.wrong)} | {
            word: {"cases": w.count, "volts": _short(w.volts), "amps": _short(w.amps),
                   "worst": w.where}
            for word, w in self.parts()
        }  # fmt: skip

    def parts(self) -> list[tuple[str, Worst]]:
        found = [("held", self.held), ("floating", self.afloat)]
        return found + [("arbitrated", self.arbitrated)] * bool(self.arbitrated.count)


def _short(value: float) -> float:
    return float(f"{value:.2g}")


def healthy(house: House, name: str, tally: Tally) -> None:
    """Every state, hot and cold."""
    for state in OPEN:
        for case in CASES:
            setting = Setting(state=state)
            floating = floats(house.elements_in(setting, case))
            tally.take(compare(house, setting, case), f"{name}, {state}, {case}", floating=floating)


def with_faults(house: House, name: str, tally: Tally) -> None:
    """Every fault in every state that has a source, hot and cold."""
    for state in ALIVE:
        for case in CASES:
            setting = Setting(state=state)
            floating = floats(house.elements_in(setting, case))
            found = compare_faults(house, setting, case)
            where = f"{name}, {state}, {case}"
            tally.take(found, where, floating=floating, count=found.count)


def with_mistakes(house: House, name: str, tally: Tally) -> None:
    """Every kind of mistake at every third place, hot, with heaters on."""
    for (kind, place), setting in every_third(house).items():
        floating = floats(house.elements_in(setting, "hot"))
        found = compare(house, setting, "hot")
        tally.take(found, f"{name}, {kind}, {place}", floating=floating)


def with_faults_in_mistakes(house: House, name: str, tally: Tally) -> None:
    """Every fault of a house that has a mistake, for every mistake above, cold."""
    for (kind, place), setting in every_third(house).items():
        where = f"{name}, {kind}, {place}"
        floating = floats(house.elements_in(setting, "cold"))
        found = compare_faults(house, setting, "cold")
        if floating and found.volts >= VOLTS_AFLOAT:
            tally.arbitrate(by_arbiter(house, setting, "cold"), found.amps, where)
        else:
            tally.take(found, where, floating=floating, count=found.count)


def by_arbiter(house: House, setting: Setting, case: str) -> Worst:
    """Voltages of every fault against extended precision instead of another solver."""
    elements = house.elements_in(setting, case)
    ours, worst = OurFaults(house, setting, case, JOINT_OHM), Worst()
    index = ours.solved.parts.index
    for fault in faults_of(elements, house.job):
        joints = [
            Element(f"joint {i}", *pair, ohm=complex(JOINT_OHM))
            for i, pair in enumerate(fault.pairs)
        ]
        exact = volts_of([*elements, *joints], house.hertz)
        _, x, exposed = ours.answer(fault)
        off = [abs(x[index[node]] - volt) for node, volt in exact.items() if node in index]
        if fault.exposed:
            off.append(abs(exposed - exact[fault.exposed]))
        worst.take(max(off) / house.u0, 0.0, fault.name)
    return worst


PARTS = {
    "states": healthy,
    "faults": with_faults,
    "mistakes": with_mistakes,
    "faults in mistakes": with_faults_in_mistakes,
}
#: parts in which a mistake may leave a conductor to 1 nS alone
MISTAKEN = ("mistakes", "faults in mistakes")


def plan(house: House) -> dict[str, int]:
    """Kinds and cases of mistakes at every third place: what the stored run must have had."""
    chosen = every_third(house)
    return {"kinds": len({kind for kind, _ in chosen}), "cases": len(chosen)}


def main() -> int:
    tallies = {part: Tally(VOLTS_AFLOAT if part in MISTAKEN else VOLTS) for part in PARTS}
    plans = {}
    for name in NAMES:
        house = House.example(name)
        plans[name] = plan(house)
        for part, run in PARTS.items():
            run(house, name, tallies[part])
            told = tallies[part].told()
            print(f"{name}, {part}: {json.dumps(told)}", flush=True)
    for line in (line for tally in tallies.values() for line in tally.wrong):
        print(line)
    text = {
        "program": f"OpenDSS by OpenDSSDirect.py {opendssdirect.__version__}",
        "made by": "python -m tests.engines.wide",
        "bounds": {"volts": VOLTS, "amps": AMPS, "floating amps": AMPS_AFLOAT,
                   "floating volts, mistakes": VOLTS_AFLOAT,
                   "arbitrated volts": VOLTS_ARBITRATED},
        "plan": plans,
        **{part: tally.told() for part, tally in tallies.items()},
    }  # fmt: skip
    STORED.write_text(json.dumps(text, indent=1) + "\n", encoding="utf-8")
    return int(any(tally.wrong for tally in tallies.values()))


if __name__ == "__main__":
    sys.exit(main())
