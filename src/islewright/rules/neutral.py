"""Chapter: where neutral and earth are joined, in each mode."""

from __future__ import annotations

import math

from islewright.findings import Question, Status, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.job.model import Circuit
from islewright.network.joints import neutral_of
from islewright.network.state import Mode
from islewright.network.way import cables_to
from islewright.rules.demand import design_current_a, load_va, spread_of
from islewright.rules.disconnection import not_judged_it
from islewright.rules.drop import neutral_current_a
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

SOURCE = "IEC 60364-5-55:2011, 551.4.3.2.1 (from memory)"


@rule(
    "neutral.joined-once",
    over="boards",
    modes=[Mode.GRID, Mode.ISLAND],
    title="The neutral of every board must be joined to earth exactly once, at the active source",
    clauses=[SOURCE, "IEC 60364-5-54, 543.4 (from memory)"],
)
def joined_once(study: Study, here: Here) -> Verdict:
    """Joints of neutral and earth, seen from the board's neutral = 1

    The operator's own joint (transformer, PEN) counts as one, however often the PEN is
    earthed. With none there is no fault protection; with two the protective conductors
    carry neutral current.
    """
    if here.mode is Mode.GRID and study.job.supply.system_earthing == "IT":
        return not_judged_it()
    _bond_known(study)
    joints = study.joints(here.board, here.mode)
    count = len(joints)
    because = [f"joined at: {'; '.join(joints) or 'nowhere'}", f"joints = {count}"]
    if count == 0:
        means = "An earth fault finds no way back: no device would open."
    elif count > 1:
        means = (
            "Neutral current would run in the protective conductors; RCDs between the joints fail."
        )
    else:
        means = ""
    return Verdict(
        status=Status.MET if count == 1 else Status.NOT_MET,
        value=float(count),
        limit=1.0,
        because=because,
        means=means,
        remedies=[lambda: _mend_joints(study, count, here.mode)],
        confirmed="memory",
    )


def _bond_known(study: Study) -> None:
    """Raise `Unknown` where a bond is not described, or which poles open beside it."""
    _ = study.job.switch.switched_poles
    for sheet in (study.job.switch, study.job.inverter):
        if sheet.bond is not None:
            _ = sheet.bond.at, sheet.bond.closed


def _mend_joints(study: Study, count: int, mode: Mode) -> str | None:
    if count == 0:
        if "N" in study.job.switch.switched_poles:
            return "A neutral-earth bond on the house side that closes when the poles have opened."
        return "Follow the neutral: somewhere it is open."
    if mode is Mode.GRID:
        return "The bond must open before the poles close; a fixed bond must go."
    return "One of the joints must go: the bond, or the way through the public neutral."


@rule(
    "neutral.own-bar",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A circuit's neutral must lie on the bar of its own line",
    clauses=["IEC 60364-5-53, 531.3 (from memory)", "IEC 60364-5-52, 521.8 (from memory)"],
)
def own_bar(study: Study, here: Here) -> Verdict | None:
    """Bar of the neutral = bar of the line

    On another bar the neutral current bypasses the RCD; on another board it is cut off, or
    returns through earth, as soon as the house is an island.
    """
    circuit = study.job.circuits[here.name]
    if circuit.neutral_with is not None:
        return _shared(study, here, circuit.neutral_with)
    if circuit.neutral_at is None:
        return None
    own = circuit.behind or circuit.board
    wrong = circuit.neutral_at != own
    other_board = wrong and circuit.neutral_at in study.job.boards
    dead = other_board and cables_to(study.job, circuit.neutral_at, here.mode) is None
    because = [f"line: {own}", f"neutral: {circuit.neutral_at}"]
    if dead:
        because.append(f"{circuit.neutral_at} is cut off in this mode")
    return Verdict(
        status=Status.NOT_MET if wrong else Status.MET,
        because=because,
        means="The RCD opens as soon as the circuit carries load." if wrong else "",
        remedies=[lambda: f"Move the neutral to the bar of {own}."] if wrong else [],
        confirmed="memory",
    )


def _shared(study: Study, here: Here, other: str) -> Verdict:
    """A neutral shared by two circuits: both must hang on the same bar."""
    job = study.job
    mine, theirs = job.circuits[here.name], job.circuits[other]
    same = (mine.board, mine.behind) == (theirs.board, theirs.behind)
    return Verdict(
        status=Status.MET if same else Status.NOT_MET,
        because=[
            f"{here.name} on {mine.behind or mine.board}",
            f"{other} on {theirs.behind or theirs.board}",
        ],
        means="" if same else "Opening one board leaves the other's current in this neutral.",
        remedies=[] if same else [lambda: "A neutral of its own for each circuit."],
        confirmed="memory",
    )


@rule(
    "neutral.operator",
    over="house",
    modes=[Mode.ISLAND],
    title="Where the public neutral stays joined to the island, the operator must allow it",
    clauses=["the operator's word stands above every rule here", SOURCE],
)
def operator(study: Study, _here: Here) -> Verdict | None:
    """Public neutral continuous → allowed by the operator"""
    if "N" in study.job.switch.switched_poles:
        return None
    earthing = study.job.earthing
    because = ["the islanding switch leaves the neutral joined to the public supply"]
    allowed = earthing.operator_allows_pen == "allowed"
    return Verdict(
        status=Status.MET if allowed else Status.NOT_MET,
        because=[*because, f"operator: {earthing.operator_allows_pen}"],
        remedies=[]
        if allowed
        else [lambda: "An islanding switch that opens the neutral, with a bond."],
        confirmed="memory",
    )


@rule(
    "neutral.current",
    over="boards",
    modes=[Mode.ISLAND],
    title="The neutral of the island must not carry more than its feeder may",
    clauses=["IEC 60364-4-43:2008, 431.2.1, 431.2.3 (from memory)"],
)
def neutral_current(study: Study, here: Here) -> Verdict | None:
    """√(|Σ I_line · e^jφ|² + (Σ 3 h_3 · I_b)²) ≤ I_n of the feeder

    Lines fed in phase add up in the neutral, and so does every third harmonic; no device
    watches it.
    """
    feeder = neutral_of(study.job, here.board, Mode.ISLAND)
    if len(study.job.phases) == 1:
        return None
    if feeder is None:
        raise Unknown(
            Question(field="cables", ask="Which device stands before this board's feeder?")
        )
    name, limit = feeder
    study.clean(here)
    third = _third_harmonic_a(study, here.board)
    first, lines = neutral_current_a(study, here.board)
    total = math.hypot(first, third)
    return at_most(
        total,
        limit,
        "A",
        spread=spread_of(study.profile, "load_power", total),
        because=[
            *(f"I_{line} = {amps:.1f} A at {angle:.0f}°" for line, amps, angle in lines),
            f"I_N,1 = {first:.1f} A, I_N,3 = {third:.1f} A, I_N = {total:.1f} A",
            f"I_n = {limit:.1f} A ({name})",
        ],
        remedies=[lambda: "Circuits on other lines, or a larger neutral with its own device."],
        confirmed="memory",
    )


def _third_harmonic_a(study: Study, board: str) -> float:
    """Third harmonics of a board's circuits, which add up in its neutral [A].

    Raises
    ------
    Unknown : a load is not known; here more of it is not always worse, so no bound will do
    """
    job = study.job
    total = 0.0
    questions: list[Question] = []
    for circuit in job.circuits.values():
        if circuit.board != board:
            continue
        try:
            i_b = design_current_a(job, circuit)[0]
            share = _third_share(circuit)
        except Unknown as gap:
            questions += gap.questions
        else:
            total += (
                float(job.boards[board].demand_factor) * i_b * share * len(job.lines_of(circuit))
            )
    if questions:
        raise Unknown(*questions)
    return total


def _third_share(circuit: Circuit) -> float:
    """Third harmonic of a circuit's loads together, over their fundamental."""
    loads = circuit.loads.values()
    whole = sum(load_va(circuit, load) for load in loads)
    third = sum(load_va(circuit, x) * float(x.third_harmonic or 0) / 100 for x in loads)
    return third / whole if whole else 0.0
