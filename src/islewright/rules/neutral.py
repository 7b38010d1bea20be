"""Chapter: where neutral and earth are joined, in each mode."""

from __future__ import annotations

from islewright.findings import Remedy, Status, Verdict
from islewright.network.alive import island_has_board
from islewright.network.joints import OPERATOR_JOINTS, joints_of
from islewright.network.state import BYPASS, Mode
from islewright.network.way import cables_to
from islewright.rules.disconnection import not_judged_it
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

SOURCE = "IEC 60364-5-55:2011, 551.4.3.2.1 (from memory)"
SOURCE_BS = "BS 7671:2018, 551.4.3.2.1, 826.1.1.2.1"


@rule(
    "neutral.joined-once",
    over="boards, fed or not",
    modes=[Mode.GRID, Mode.ISLAND],
    title="The neutral of every board must be joined to earth exactly once, at the active source",
    clauses=[
        SOURCE,
        "IEC 60364-5-54, 543.4 (from memory)",
        SOURCE_BS,
        "BS 7671:2018, 543.4 (from memory)",
    ],
)
def joined_once(study: Study, here: Here) -> Verdict | None:
    """Joints of neutral and earth, seen from the board's neutral = 1

    The operator's own joint (transformer, PEN) counts as one, however often the PEN is
    earthed. With none there is no fault protection; with two the protective conductors
    carry neutral current. Of a board that the mode leaves dead only a joint beside the
    operator's is told: currents of the street may run through it, and the public supply
    finds it when it comes back. What else its neutral lacks or has harms nobody while dead.
    """
    if here.mode is Mode.GRID and study.job.supply.system_earthing == "IT":
        return not_judged_it()
    _bond_known(study)
    joints = study.joints(here.board, here.mode)
    count = len(joints)
    fed = cables_to(study.job, here.board, here.mode) is not None
    if not fed and not _beside_operator(joints):
        return None
    if count == 0:
        means = "An earth fault finds no way back: no device would open."
    elif count > 1:
        means = (
            "Neutral current would run in the protective conductors; RCDs between the joints fail."
        )
    else:
        means = ""
    return _once(joints, means, lambda: _mend_joints(study, joints, here.mode, fed=fed))


def _once(joints: list[str], means: str, remedy: Remedy, *, state: str = "") -> Verdict:
    """Met where a neutral is joined to earth once, told by the places where it is."""
    count = len(joints)
    return Verdict(
        status=Status.MET if count == 1 else Status.NOT_MET,
        value=float(count),
        limit=1.0,
        because=lambda: [f"joined at: {'; '.join(joints) or 'nowhere'}", f"joints = {count}"],
        means=means,
        remedies=[remedy],
        state=state,
        confirmed="memory",
    )


def _beside_operator(joints: list[str]) -> bool:
    """Whether the house joins what the operator joins too."""
    return len(joints) > 1 and any(joint in OPERATOR_JOINTS for joint in joints)


def _bond_known(study: Study) -> None:
    """Raise `Unknown` where a bond is not described, or which poles open beside it."""
    _ = study.job.switch.switched_poles
    for sheet in (study.job.switch, study.job.inverter):
        if sheet.bond is not None:
            _ = sheet.bond.at, sheet.bond.closed


def _mend_joints(study: Study, joints: list[str], mode: Mode, *, fed: bool) -> str:
    if not joints:
        if mode is Mode.ISLAND and "N" in study.job.switch.switched_poles:
            return "Fit a neutral-earth bond on the house side that closes once the poles are open."
        return "Follow the neutral to the source: somewhere it is open."
    if mode is Mode.GRID:
        return "Take out the joint in the house, or let it open before the poles close."
    if not fed:
        return "Move the joint of the house to the house side of the islanding switch."
    return f"Take out all of these joints but one: {'; '.join(joints)}."


@rule(
    "neutral.bypass",
    over="boards",
    modes=[Mode.GRID],
    title="With the bypass closed, the neutral of every board must be joined to earth exactly once",
    clauses=[
        "IEC 60364-4-43, 431.3 (from memory)",
        SOURCE,
        "BS 7671:2018, 431.3 (from memory)",
        SOURCE_BS,
    ],
)
def bypass(study: Study, here: Here) -> Verdict | None:
    """Joints of neutral and earth, seen from the board's neutral, bypass closed = 1

    A bypass for the lines alone leaves a house whose neutral was opened floating on the
    public supply: no fault protection, and single-phase loads between two lines.
    """
    if study.job.switch.bypass_poles is None:
        return None
    if study.job.supply.system_earthing == "IT":
        return not_judged_it()
    _bond_known(study)
    joints = joints_of(study.net, BYPASS, here.board)
    floats = not joints
    return _once(
        joints,
        "The house's neutral floats on the public supply." if floats else "",
        lambda: (
            "Fit a bypass that closes the neutral with the lines."
            if floats
            else "Take out the joint in the house, or let it open before the bypass closes."
        ),
        state=BYPASS.name,
    )


@rule(
    "neutral.own-bar",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A circuit's neutral must lie on the bar of its own line",
    clauses=[
        "IEC 60364-5-53, 531.3 (from memory)",
        "IEC 60364-5-52, 521.8 (from memory)",
        "BS 7671:2018, 314.4, 531.3, 521.8 (from memory)",
    ],
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
        remedies=[] if same else [lambda: "Give each of the two circuits a neutral of its own."],
        confirmed="memory",
    )


@rule(
    "neutral.operator",
    over="house",
    modes=[Mode.ISLAND],
    title="Where the public neutral stays joined to the island, the operator must allow it",
    clauses=["the operator's word stands above every rule here", SOURCE, SOURCE_BS],
)
def operator(study: Study, _here: Here) -> Verdict | None:
    """Public neutral continuous → allowed by the operator

    The public neutral of others then hangs on this house while they work on a dead street.
    """
    if "N" in study.job.switch.switched_poles:
        return None
    earthing = study.job.earthing
    because = ["the islanding switch leaves the neutral joined to the public supply"]
    allowed = earthing.operator_allows_pen == "allowed"
    if allowed:
        island_has_board(study.job)
    return Verdict(
        status=Status.MET if allowed else Status.NOT_MET,
        because=[*because, f"operator: {earthing.operator_allows_pen}"],
        remedies=[]
        if allowed
        else [lambda: "Fit an islanding switch that opens the neutral too, with a bond."],
        confirmed="memory",
    )
