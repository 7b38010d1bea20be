"""Chapter: when neutral, PEN and bond may open and close."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from islewright.findings import Question, Status, Verdict, at_most
from islewright.job.device import Device
from islewright.job.equipment import Bond, Sequence
from islewright.job.gap import Gap, Unknown
from islewright.job.model import Cable, Job
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, canonical
from islewright.network.race import residual_time_s
from islewright.network.state import GRID, Mode
from islewright.network.way import Guard, guards_upstream
from islewright.rules.demand import spread_of
from islewright.rules.registry import Here, every, rule
from islewright.rules.study import Study
from islewright.tables.profile import NotStated

ORDER = ("IEC 60364-4-43:2008, 431.3 (from memory)", "BS 7671:2018, 431.3 (from memory)")
ISLANDS = (
    "IEC 60364-5-55:2011, 551.4.3.2.1 (from memory)",
    "BS 7671:2018, 551.4.3.2.1, 826.1.1.2.1",
)


@rule(
    "neutral.pen-unswitched",
    over="house",
    modes=[Mode.GRID],
    title="Nothing that opens must lie in a PEN",
    clauses=["IEC 60364-4-46, 461.2 (from memory)", "BS 7671:2018, 543.4 (from memory)"],
)
def pen_unswitched(study: Study, _here: Here) -> Verdict | None:
    """Poles and RCDs in the PEN = 0

    Main fuse, devices of the cables that bring the PEN, main switches, islanding switch. With
    the PEN open every frame of the house takes the voltage of a line.
    """
    job = study.job
    if job.supply.system_earthing != "TN-C-S":
        return None
    if study.profile.text("pen.switching") != "never":
        raise NotStated("pen.switching", study.profile.name)
    asked: list[Question] = []
    found = [what for what, opens in _in_the_pen(job) if _stated(opens, asked)]
    if asked and not found:
        raise Unknown(*asked)
    return Verdict(
        status=Status.NOT_MET if found else Status.MET,
        value=float(len(found)),
        limit=0.0,
        because=found or ["main fuse, cables with a PEN, main switches, islanding switch: solid"],
        questions=asked,
        means="With the PEN open, frames take the voltage of a line." if found else "",
        remedies=[lambda: "Move the split of the PEN ahead of what opens it."],
        confirmed="memory",
    )


Opens = Callable[[], bool]


def _stated(opens: Opens, asked: list[Question]) -> bool:
    """Whether it surely opens; what is not known is asked."""
    try:
        return opens()
    except Unknown as gap:
        asked.extend(gap.questions)
        return False


def _in_the_pen(job: Job) -> Iterator[tuple[str, Opens]]:
    """What might lie in the PEN, in words, and whether it opens it."""
    yield "the main fuse opens the PEN", lambda: _opens_neutral(job.supply.main_fuse)
    for name, board in job.boards.items():
        yield (
            f"the main switch of {name} opens the PEN",
            lambda board=board: board.main_switch is not None and "PEN" in board.main_switch.poles,  # type: ignore[misc]
        )
    for name, cable in job.cables.items():
        if "PEN" not in cable.cores:
            continue
        yield f"the device of {name} opens the PEN", lambda cable=cable: _device_opens(cable)  # type: ignore[misc]
        yield f"an RCD lies in the PEN of {name}", lambda cable=cable: cable.behind is not None  # type: ignore[misc]
        if {canonical(cable.from_), canonical(cable.to)} & {GRID_SIDE, HOUSE_SIDE}:
            yield (
                "the islanding switch opens the PEN",
                lambda: "N" in job.switch.switched_poles,
            )


def _device_opens(cable: Cable) -> bool:
    return cable.device is not None and _opens_neutral(cable.device)


def _opens_neutral(device: Device) -> bool:
    """Whether a device has a pole in the neutral, or watches it."""
    if device.gap("residual") is None and device.residual is not None:
        return True
    if device.gap("residual") is Gap.UNKNOWN:
        raise Unknown(device.question("residual"))
    return device.neutral == "switched"


@rule(
    "neutral.switching",
    over="house",
    modes=[Mode.ISLAND],
    title="The islanding switch must treat the neutral as the rule set wants it",
    clauses=ISLANDS,
)
def switching(study: Study, _here: Here) -> Verdict:
    """Neutral opened with the lines → as the profile says: with lines, never, either, ask

    Opened: then a bond of the house's own earths it. Continuous: then the operator's joint
    stays the only one. A wrong pair of switch and bond is a defect in both directions.
    """
    form = study.profile.text("island.neutral_switching")
    opened = "N" in study.job.switch.switched_poles
    bonded = any(True for _ in bonds_of(study.job))
    told = [
        f"neutral: {'opened with the lines' if opened else 'continuous'}",
        f"bond of the house's own: {'yes' if bonded else 'no'}",
        f"the profile asks: {form.replace('_', ' ')}",
    ]
    if form == "ask":
        ask = "Does the inspector admit that the islanding switch opens the neutral, or that it does not?"  # noqa: E501
        raise Unknown(Question(field="equipment.islanding switch", ask=ask, whom="the operator"))
    if form not in ("with_lines", "never", "either"):
        raise NotStated("island.neutral_switching", study.profile.name)
    fits = opened == bonded and _allowed(study, form, opened=opened)
    return Verdict(
        status=Status.MET if fits else Status.NOT_MET,
        because=told,
        remedies=[lambda: _mend_pair(study, form)],
        confirmed=study.profile.row("island.neutral_switching").confirmed,
    )


def _allowed(study: Study, form: str, *, opened: bool) -> bool:
    """Whether the rule set takes the neutral that way, its bond apart."""
    if opened:
        return form != "never"
    return continuous_admitted(study)


def continuous_admitted(study: Study) -> bool:
    """Whether the rule set lets an island keep the operator's neutral joined."""
    if study.profile.text("island.neutral_switching") in ("never", "either"):
        return True
    return study.profile.text("island.neutral_continuous") == "with_operator"


def _mend_pair(study: Study, form: str) -> str:
    if form == "never":
        return "Fit an islanding switch that opens the lines alone, without a bond of its own."
    if form == "with_lines" and study.profile.text("island.neutral_continuous") == "never":
        return "Fit an islanding switch that opens the neutral with the lines, with a bond."
    return (
        "Fit an islanding switch that opens the neutral and a bond, or neither of the two: "
        "the operator has his say in the second."
    )


def bonds_of(job: Job) -> Iterator[tuple[str, str, Bond]]:
    """Neutral-earth bonds of the equipment: where, contact group of the network, facts.

    Raises
    ------
    Unknown : whether there is one is not stated
    """
    for where, group, sheet in (
        ("islanding switch", "bond", job.switch),
        ("inverter", "inverter bond", job.inverter),
    ):
        if sheet.bond is not None:
            yield where, group, sheet.bond


@rule(
    "neutral.order",
    over="house",
    modes=[Mode.ISLAND],
    title="A switched neutral must never open before the lines nor close after them",
    clauses=ORDER,
)
def order(study: Study, _here: Here) -> Verdict | None:
    """t_open(N) ≥ t_open(L), t_close(N) ≤ t_close(L)

    While the neutral is open and lines are not, loads lie in series between two lines.
    """
    switch = study.job.switch
    if "N" not in switch.switched_poles:
        return None
    pole = switch.neutral_pole
    wrong = pole.opens == "before the lines" or pole.closes == "after the lines"
    return Verdict(
        status=Status.NOT_MET if wrong else Status.MET,
        because=[f"the neutral opens {pole.opens}", f"the neutral closes {pole.closes}"],
        means="For that moment the house's neutral floats." if wrong else "",
        remedies=[lambda: "Fit an islanding switch whose neutral opens last and closes first."],
        confirmed="memory",
    )


@rule(
    "neutral.bond-sequence",
    over="house",
    modes=[Mode.ISLAND],
    title="The bond must close after the poles open and before the source, and open in time",
    clauses=ISLANDS,
)
def bond_sequence(study: Study, here: Here) -> Verdict | None:
    """t_bond > t_poles open, t_source > t_bond; t_overlap ≤ t_RCD; t_gap = 0 or ≤ the profile's

    As far as the maker declares it. In an overlap neutral current flows through the bond: an
    RCD ahead must not open on what it sees of it. In a gap the house is live without a bond.
    """
    moved = [(group, b) for _, group, b in bonds_of(study.job) if b.closed != "always"]
    if not moved:
        return None
    return every([v for group, bond in moved for v in _sequence(study, here, group, bond)])


def _sequence(study: Study, here: Here, group: str, bond: Bond) -> Iterator[Verdict]:
    sequence = bond.sequence
    yield _way_out(sequence)
    yield from _overlap(study, here, group, float(sequence.overlap_s))
    yield _gap(study, sequence)


def _way_out(sequence: Sequence) -> Verdict:
    after = float(sequence.bond_closes_after_s)
    right = after > 0 and sequence.source_on == "after the bond has closed"
    return Verdict(
        status=Status.MET if right else Status.NOT_MET,
        because=[
            f"the bond closes {after * 1000:g} ms after the poles open",
            f"the source comes on {sequence.source_on}",
        ],
        remedies=[
            lambda: "Get equipment whose bond closes after the poles open and before the source."
        ],
        confirmed="memory",
    )


def _overlap(study: Study, here: Here, group: str, overlap_s: float) -> Iterator[Verdict]:
    """Bond and poles closed together: what each RCD ahead of the switch sees, and how long."""
    told = f"overlap on return {overlap_s * 1000:g} ms"
    rcds = [g for g in guards_upstream(study.job, HOUSE_SIDE, Mode.GRID) if g.role == "RCD"]
    if overlap_s == 0 or not rcds:
        why = [told] if overlap_s == 0 else [told, "no RCD ahead of the islanding switch"]
        yield Verdict(status=Status.MET, because=why, confirmed="memory")
        return
    study.clean(here)
    state = GRID.but("grid, bond still closed", closed=frozenset({group}))
    flow = study.loaded(state)
    for guard in rcds:
        poles = flow.solved.layout.shape.poles.get(guard.branch, [])
        yield _held(study, guard, abs(sum(complex(flow.x[p]) for p in poles)), overlap_s, told)


def _held(study: Study, guard: Guard, amps: float, overlap_s: float, told: str) -> Verdict:
    """Whether one RCD surely stays closed over the overlap at what it sees."""
    guard.must_be_known()
    assert guard.residual is not None  # noqa: S101 - the caller takes RCDs alone
    earliest = residual_time_s(guard.residual, amps)[0]
    sees = f"{guard.name} sees {amps:.3g} A of the neutral's current"
    if math.isinf(earliest):
        return Verdict(
            status=Status.MET,
            because=lambda: [told, f"{sees}: it stays closed"],
            confirmed="two pages",
        )
    return at_most(
        overlap_s,
        earliest,
        "s",
        spread=spread_of(study.profile, "maker", overlap_s),
        because=lambda: [told, f"{sees}: it may open after {earliest:g} s"],
        remedies=[lambda: "Get it from the maker that bond and poles never overlap on return."],
        means="The RCD may open each time that the public supply comes back.",
        confirmed="two pages",
    )


def _gap(study: Study, sequence: Sequence) -> Verdict:
    """A live house without a bond: nothing opens on an earth fault meanwhile."""
    gap_s = float(sequence.gap_s)
    told = f"gap on return {gap_s * 1000:g} ms"
    if gap_s == 0:
        return Verdict(status=Status.MET, because=[told], confirmed="memory")
    try:
        most = study.profile.number("island.parallel_max")
    except NotStated:
        asked = sequence.question("gap_s")
        ask = f"{told}: the rule set has no limit for it. Can it return with the source off?"
        question = Question(field=asked.field, ask=ask, how=asked.how, whom=asked.whom)
        return Verdict(status=Status.UNDECIDED, because=[told], questions=(question,))
    return at_most(
        gap_s,
        float(most),
        "s",
        spread=spread_of(study.profile, "maker", gap_s),
        because=[told],
        means="For that moment the house is live without a bond.",
        remedies=[lambda: "Set the equipment to return with the source off."],
        confirmed=most.confirmed,
    )
