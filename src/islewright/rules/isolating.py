"""Chapter: means of isolation, of the house from the network and of the inverter."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from islewright.findings import Question, Status, Verdict
from islewright.job.equipment import Battery
from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.network.places import GRID_SIDE, canonical
from islewright.network.state import Mode
from islewright.network.way import cables_to
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study

ISOLATION = "IEC 60364-5-53, 537.2; IEC 60364-4-46, 462 (from memory)"
ISOLATION_BS = "BS 7671:2018, 462, 537.2 (from memory)"
GOOD = "suitable for isolation"


@rule(
    "switch.isolates",
    over="house",
    modes=[Mode.GRID],
    title="A device suitable for isolation must part the house's sources from the network",
    clauses=[ISOLATION, "IEC 60364-5-55:2011, 551.7.6 (from memory)", ISOLATION_BS,
             "BS 7671:2018, 551.7.6 (from memory)"],
)  # fmt: skip
def isolates(study: Study, _here: Here) -> Verdict:
    """Islanding switch or a switch in series with it = suitable for isolation

    A switch in series counts where it opens every line, and the neutral on a TT or IT
    supply.
    """
    return first_way(attempt(way) for way in _isolators(study))


def _isolators(study: Study) -> Iterator[partial[Verdict]]:
    job = study.job
    yield partial(_islanding_switch, job)
    seen = [canonical(end) for _, c in cables_to(job, GRID_SIDE, Mode.GRID) or ()
            for end in (c.from_, c.to)]  # fmt: skip
    for board in dict.fromkeys(place for place in seen if place in job.boards):
        yield partial(_main_switch, job, board)


def _islanding_switch(job: Job) -> Verdict:
    return _parting(job, "islanding switch", job.switch.switched_poles, job.switch.isolates)


def _main_switch(job: Job, board: str) -> Verdict:
    switch = job.boards[board].main_switch
    name = f"main switch of {board}"
    if switch is None:
        return _isolating(name, "none")
    return _parting(job, name, switch.poles, switch.isolates)


def _parting(job: Job, name: str, poles: tuple[str, ...], sign: str) -> Verdict:
    """A switch in the way: it must open what is live, and bear the sign."""
    with_neutral = job.supply.system_earthing in ("TT", "IT")
    needed = [*job.phases, "N"] if with_neutral else list(job.phases)
    closed = " ".join(conductor for conductor in needed if conductor not in poles)
    return _isolating(name, f"does not open {closed}" if closed else sign)


def _isolating(name: str, found: str) -> Verdict:
    remedy = "Fit a switch suitable for isolation between the network and the house."
    return _suitable(name, found, remedy, "Who works on the house cannot rely on its being parted.")


def _suitable(name: str, found: str, remedy: str, means: str) -> Verdict:
    """One device: suitable for isolation, or what it is instead."""
    fits = found == GOOD
    return Verdict(
        status=Status.MET if fits else Status.NOT_MET,
        because=lambda: [f"{name}: {found}"],
        remedies=[lambda: remedy],
        means="" if fits else means,
        confirmed="memory",
    )


@rule(
    "switch.main-linked",
    over="house",
    modes=[Mode.GRID],
    title="Where it is asked for, the main switch must open line and neutral together",
    clauses=["IEC 60364-4-46, 462.1 (names no pole; from memory)",
             "BS 7671:2018, 462.1.201 (from memory)"],
)  # fmt: skip
def main_linked(study: Study, _here: Here) -> Verdict | None:
    """A house on one phase → poles of the first main switch = line and neutral

    Whoever cannot see what is live switches off here; a crossed neutral must go with the line.
    """
    job = study.job
    if len(job.phases) > 1 or not study.profile.applies("isolation.main_switch_one_phase"):
        return None
    _ = study.profile.text("isolation.main_switch_one_phase")  # raises where it is blank
    key = study.profile.row("isolation.main_switch_one_phase")
    wanted = {*job.phases, "N"}
    first = [board for board in job.boards if _is_first(job, board)]
    if not first:
        raise Unknown(Question(field="cables", ask="Which cable leads from the supply to a board?"))
    switches = {board: job.boards[board].main_switch for board in first}
    wrong = [b for b, switch in switches.items() if switch is None or wanted - {*switch.poles}]
    told = [
        f"{b}: {' '.join(switch.poles) if switch else 'none'}" for b, switch in switches.items()
    ]
    return Verdict(
        status=Status.NOT_MET if wrong else Status.MET,
        because=told,
        remedies=[lambda: f"Fit a main switch of two poles in {' and '.join(wrong)}."],
        means="The neutral stays joined when the house is switched off." if wrong else "",
        confirmed=key.confirmed,
    )


def _is_first(job: Job, board: str) -> bool:
    """Whether no other board stands between the supply and a board."""
    ways = cables_to(job, board, Mode.GRID)
    before = {canonical(end) for _, cable in ways or () for end in (cable.from_, cable.to)}
    return ways is not None and not (before - {board}) & set(job.boards)


@rule(
    "isolation.converter",
    over="house",
    modes=[Mode.GRID],
    title="The inverter must have means of isolation on its a.c. side and on every d.c. side",
    clauses=["IEC 60364-7-712, 712.536.2; IEC 60364-5-53, 537.2 (from memory)",
             "BS 7671:2018, 712.537.2, 537.2 (from memory)"],
)  # fmt: skip
def converter(study: Study, _here: Here) -> Verdict:
    """Each side of the inverter → a device suitable for isolation

    Its a.c. output; the battery, whose own switch counts; PV at its d.c. side.
    """
    job = study.job
    sides = [attempt(partial(_side, job, "output", "inverter output"))]
    if job.battery is not None:
        built_in = partial(_built_in, job.battery)
        installed = partial(_side, job, "battery", "battery side")
        sides.append(first_way(attempt(way) for way in (built_in, installed)))
    if job.pv is not None and job.pv.coupling == "d.c.":
        sides.append(attempt(partial(_side, job, "pv", "PV side")))
    return every(sides)


def _built_in(battery: Battery) -> Verdict:
    return _opens("switch of the battery", battery.isolates)


def _side(job: Job, field: str, name: str) -> Verdict:
    return _opens(name, getattr(job.isolation, field) or "no means of isolation")


def _opens(name: str, found: str) -> Verdict:
    remedy = f"Fit a device suitable for isolation at the {name}."
    return _suitable(name, found, remedy, "Who opens the inverter cannot make this side dead.")


@rule(
    "isolation.operator",
    over="house",
    modes=[Mode.GRID],
    title="Where it is asked for, the operator must be able to reach a point of isolation",
    clauses=["IEC 60364-5-55:2011, 551.7.6 (from memory)", "BS 7671:2018, 551.7.6 (from memory)"],
)
def operators_point(study: Study, _here: Here) -> Verdict | None:
    """A point of isolation is asked for → within the operator's reach

    Who works on the dead street must be able to see for himself that no house feeds it.
    """
    job = study.job
    demanded = study.profile.text("isolation.operator_reach") == "required"
    if not demanded and job.supply.limits.reach == "not asked for":
        return None
    point = job.isolation.operators_point
    fits = point == "within reach"
    return Verdict(
        status=Status.MET if fits else Status.NOT_MET,
        because=lambda: [
            "asked for by the rule set" if demanded else "asked for by the operator",
            f"operator's point: {point or 'none'}",
        ],
        remedies=[lambda: "Fit a point of isolation where the operator can reach it at any time."],
        confirmed="memory",
    )
