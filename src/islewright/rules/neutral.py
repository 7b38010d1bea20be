"""Chapter: where neutral and earth are joined, in each mode."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_most
from islewright.network.joints import joints_of, neutral_of
from islewright.network.state import GRID, ISLAND, Mode
from islewright.network.way import cables_to
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
    _bond_known(study)
    state = GRID if here.mode is Mode.GRID else ISLAND
    joints = joints_of(study.net, state, here.board)
    count = len(joints)
    because = [f"joined at: {'; '.join(joints) or 'nowhere'}", f"joints = {count}"]
    if count == 0:
        means = "An earth fault finds no way back: no device would open."
    elif count > 1:
        means = "Neutral current would run in the protective conductors; RCDs between the joints fail."
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
    dead = cables_to(study.job, circuit.neutral_at, here.mode) is None if wrong and circuit.neutral_at in study.job.boards else False
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
        because=[f"{here.name} on {mine.behind or mine.board}", f"{other} on {theirs.behind or theirs.board}"],
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
        remedies=[] if allowed else [lambda: "An islanding switch that opens the neutral, with a bond."],
        confirmed="memory",
    )


@rule(
    "neutral.current",
    over="boards",
    modes=[Mode.ISLAND],
    title="The neutral of the island must not carry more than its feeder may",
    clauses=["IEC 60364-4-43, 431.2 (from memory)"],
)
def neutral_current(study: Study, here: Here) -> Verdict | None:
    """|Σ I_line · e^jφ| ≤ I_n of the feeder

    Lines fed in phase add up in the neutral; no device watches it.
    """
    feeder = neutral_of(study.job, here.board, Mode.ISLAND)
    if feeder is None or len(study.job.phases) == 1:
        return None
    name, limit = feeder
    total, lines = study.neutral_current_a(here.board)
    return at_most(
        total, limit, "A", spread=total * float(study.profile.number("spread.load_power")) / 100,
        because=[*(f"I_{line} = {amps:.1f} A at {angle:.0f}°" for line, amps, angle in lines),
                 f"I_N = {total:.1f} A", f"limit = {limit:.1f} A ({name})"],
        confirmed="memory",
    )  # fmt: skip


