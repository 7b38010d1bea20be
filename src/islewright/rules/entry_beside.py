"""Chapter: final circuits and d.c. cables must fit where they enter."""

from __future__ import annotations

from islewright.findings import Verdict, at_most
from islewright.job.gap import Unknown
from islewright.network.state import Mode
from islewright.rules.entering import CableEnd, ends_of_circuits, ends_of_dc
from islewright.rules.entry import BRITISH, CONNECTIONS, MAKER, clamped, taken
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

SEALED = "IEC 60364-5-52, 522.3, 522.8 (from memory)"


@rule(
    "entry.circuit-terminal",
    over="boards, fed or not",
    modes=[Mode.GRID],
    title="The terminals of a board must take the conductors of its final circuits",
    clauses=[CONNECTIONS, MAKER, BRITISH],
)
def circuit_terminal(study: Study, here: Here) -> Verdict | None:
    """least ≤ S ≤ most, of the board's terminals, for every conductor of its circuits

    Both ends of a range are taken. Circuits made alike are judged once.
    """
    alike: dict[object, CableEnd] = {}
    for end in ends_of_circuits(study.job, here.name):
        held = end.cable.__dict__
        alike.setdefault(tuple(held.get(key) for key in _MADE), end)
    return taken(alike.values())


#: what tells circuits apart where they enter a board
_MADE = ("size_mm2", "earth_mm2", "cores", "core_form")


@rule(
    "entry.circuit-gland",
    over="boards, fed or not",
    modes=[Mode.GRID],
    title="The glands of a board must clamp the cables of its final circuits",
    clauses=[SEALED, MAKER, BRITISH],
)
def circuit_gland(study: Study, here: Here) -> Verdict | None:
    """least ≤ outside diameter ≤ most, of a gland of the board, for every circuit

    A board without glands is entered by knock-outs or trunking, and nothing is held against it.
    """
    if not study.job.boards[here.name].glands:
        return None
    return clamped(ends_of_circuits(study.job, here.name))


@rule(
    "entry.ring-terminal",
    over="circuits, fed or not",
    modes=[Mode.GRID],
    title="The terminal of a ring's device must be made for both legs",
    clauses=[CONNECTIONS, MAKER, BRITISH],
)
def ring_terminal(study: Study, here: Here) -> Verdict | None:
    """2 legs ≤ conductors at once, of the board's terminals for circuits

    A terminal made for one conductor holds the second one badly, and the ring is then open
    without anybody knowing: one leg carries all.
    """
    circuit = study.job.circuits[here.name]
    if circuit.ring is None:
        return None
    board = study.job.boards[here.board]
    end = CableEnd(here.name, circuit, "from", here.board, "circuits", board)
    name = end.terminal(study.job.lines_of(circuit)[0])
    group = board.terminals[name]
    if "at_once" not in group.model_fields_set:
        raise Unknown(group.question("at_once"))
    return at_most(
        LEGS,
        float(group.at_once),
        "-",
        spread=0.0,
        because=[f"both legs in one of {name} of {here.board}, made for {group.at_once}"],
        remedies=[lambda: f"Fit a device for {here.name} whose terminal takes two conductors."],
        confirmed="as stated",
    )


#: ends of a ring at its device
LEGS = 2.0


@rule(
    "entry.dc-terminal",
    over="house",
    modes=[Mode.GRID],
    title="The terminals of battery, PV array and inverter must take the d.c. cables",
    clauses=[CONNECTIONS, MAKER, BRITISH],
)
def dc_terminal(study: Study, _here: Here) -> Verdict | None:
    """least ≤ S ≤ most, of the terminal's range, at both ends of every d.c. cable

    At low voltage these carry the most current of the house, in terminals that never rest.
    """
    return taken(ends_of_dc(study.job))


@rule(
    "entry.dc-gland",
    over="house",
    modes=[Mode.GRID],
    title="A gland must clamp each d.c. cable at both its ends",
    clauses=[SEALED, MAKER, BRITISH],
)
def dc_gland(study: Study, _here: Here) -> Verdict | None:
    """least ≤ outside diameter ≤ most, of a gland's range, at both ends of every d.c. cable

    Both ends of a range are taken. A d.c. cable that is pulled out of its clamp draws an arc.
    """
    return clamped(ends_of_dc(study.job))
