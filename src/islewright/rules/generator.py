"""Chapter: a generator and its inlet."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from islewright.findings import Status, Verdict, at_least, at_most
from islewright.job.generator import GeneratorInlet
from islewright.job.model import Job
from islewright.network.places import canonical
from islewright.network.state import Mode
from islewright.network.way import cables_to
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study

SETS = "IEC 60364-5-55:2011, 551"
SETS_GB = "BS 7671:2018, 551"
#: what keeps two sources apart whatever a program does
APART = ("change-over switch", "mechanical interlock", "electrical interlock")
MADE_FOR_IT = "input of the inverter made for it"


def inlet_of(study: Study) -> GeneratorInlet | None:
    """The inlet; None where there is none, and where only `generator.interlock` has to ask."""
    return study.job.generator if study.job.gap("generator") is None else None


@rule(
    "generator.interlock",
    over="house",
    modes=[Mode.ISLAND],
    title="An interlock must keep a generator from running beside network or inverter",
    clauses=[f"{SETS}.6.1 (from memory)", f"{SETS_GB}.6.1 (from memory)"],
)
def interlock(study: Study, _here: Here) -> Verdict | None:
    """Generator feeds → a switch or interlock keeps it apart from network and inverter

    Side by side it feeds the dead street and kills who works there, or meets a source out of
    step. A program alone is no interlock. An inverter's input made for generators is.
    """
    inlet = study.job.generator
    if inlet is None:
        return None
    return every([
        attempt(lambda: _apart("network", inlet.from_network)),
        attempt(lambda: _apart("inverter", inlet.from_inverter)),
    ])  # fmt: skip


def _apart(source: str, by: str) -> Verdict:
    kept = by in APART or by == MADE_FOR_IT
    return Verdict(
        status=Status.MET if kept else Status.NOT_MET,
        because=lambda: [f"kept from the {source} by: {by}"],
        remedies=[lambda: f"Fit a change-over switch that joins either {source} or generator."],
        means="" if kept else "Both can be closed at once.",
        confirmed="memory",
    )


@rule(
    "generator.neutral-earth",
    over="house",
    modes=[Mode.ISLAND],
    title="Neutral and earth must be joined exactly once while a generator feeds",
    clauses=[f"{SETS}.4.3.2.1 (from memory)", f"{SETS_GB}.4.3.2.1 (from memory)"],
)
def neutral_earth(study: Study, _here: Here) -> Verdict | None:
    """joints of neutral and earth = 1: in the generator, in the house, through the network

    Without one no RCD sees an earth fault; with two the load's current flows through earth
    conductors, and RCDs trip or see half. A bond that is always closed counts in the house.
    """
    inlet = inlet_of(study)
    if inlet is None:
        return None
    through = inlet.network_neutral == "stays joined" and study.job.supply.system_earthing != "IT"
    joints = {
        "in the generator": inlet.own_bond == "present",
        "in the house": inlet.house_bond == "closed" or _always_bonded(study.job),
        "through the network's neutral": through,
    }
    found = [where for where, joined in joints.items() if joined]
    compared = at_most if found else at_least
    return compared(
        float(len(found)),
        1.0,
        "-",
        spread=0.0,
        because=lambda: [f"neutral and earth joined: {', '.join(found) or 'nowhere'}"],
        remedies=[lambda: _one_joint(found)],
        confirmed="memory",
    )


def _always_bonded(job: Job) -> bool:
    """Whether islanding switch or inverter joins neutral and earth in every position."""
    bonds = (job.switch.bond, job.inverter.bond)
    return any(bond is not None and bond.closed == "always" for bond in bonds)


def _one_joint(found: list[str]) -> str:
    if not found:
        return "Fit a bond of neutral and earth that is closed while the generator feeds."
    if "through the network's neutral" in found:
        return "Fit a change-over that opens the network's neutral with its lines."
    return "Ask the makers which of both bonds may be taken out, and mark the generator."


@rule(
    "generator.rcd",
    over="house",
    modes=[Mode.ISLAND],
    title="Every circuit that a portable generator feeds must have an RCD of 30 mA before it",
    clauses=[f"{SETS}.4.4.2 (from memory)", f"{SETS_GB}.4.4.2 (from memory)"],
)
def residual(study: Study, _here: Here) -> Verdict | None:
    """I_Δn ≤ 30 mA, on the house's side of the bond

    Its earth is what somebody plugged in. An RCD on the generator's side of the bond sees no
    fault in the house: the current comes back to neutral before it. Those of the circuits count.
    """
    inlet = inlet_of(study)
    if inlet is None or inlet.generator == "fixed":
        return None
    most = float(study.profile.number("generator.rcd_rating"))
    ways = (partial(_at_the_inlet, inlet, most), partial(_in_the_boards, study.job, inlet, most))
    return first_way(attempt(way) for way in ways)


def _at_the_inlet(inlet: GeneratorInlet, most: float) -> Verdict:
    if inlet.rcd_a is None:
        return _blind("generator and inlet have no RCD", most)
    if inlet.rcd_at != "house side of the bond":
        return _blind(f"RCD of generator or inlet: {inlet.rcd_at}", most)
    return _sensitive("RCD of generator or inlet", float(inlet.rcd_a), most)


def _in_the_boards(job: Job, inlet: GeneratorInlet, most: float) -> Verdict:
    """The circuits' own RCDs; the least sensitive decides."""
    ratings = dict(_ratings(job, inlet.feeds))
    bare = [name for name, rating in ratings.items() if rating is None]
    if bare or not ratings:
        return _blind(f"no RCD of its own: {', '.join(bare) or inlet.feeds}", most)
    name, rating = max(ratings.items(), key=lambda item: item[1] or 0.0)
    return _sensitive(f"RCD of {name}", rating or 0.0, most)


def _ratings(job: Job, board: str) -> Iterator[tuple[str, float | None]]:
    """Circuits of a board and of those that are fed past it, each with its best RCD [A]."""
    boards = boards_fed(job, board)
    for name, circuit in job.circuits.items():
        if circuit.board in boards:
            own = circuit.device.residual
            group = job.boards[circuit.board].rcds[circuit.behind] if circuit.behind else None
            found = [float(rcd.trips_at_a) for rcd in (own, group) if rcd is not None]
            yield name, min(found, default=None)


def boards_fed(job: Job, board: str) -> list[str]:
    """The board that a generator feeds, and those that are fed past it."""
    return [one for one in job.boards if one == board or _passes(job, one, board)]


def _passes(job: Job, board: str, by: str) -> bool:
    """Whether the way to a board leads past another one, in either mode."""
    ways = [way for mode in Mode for _, way in cables_to(job, board, mode) or ()]
    return by in {canonical(end) for way in ways for end in (way.from_, way.to)}


def _sensitive(name: str, i_dn: float, most: float) -> Verdict:
    return at_most(
        i_dn,
        most,
        "A",
        spread=0.0,
        because=lambda: [f"{name}: I_Δn = {i_dn * 1000:g} mA"],
        remedies=[lambda: f"Fit an RCD of {most * 1000:g} mA on the house's side of the bond."],
        confirmed="memory",
    )


def _blind(told: str, most: float) -> Verdict:
    return Verdict(
        status=Status.NOT_MET,
        because=[told],
        remedies=[lambda: f"Fit an RCD of {most * 1000:g} mA on the house's side of the bond."],
        confirmed="memory",
    )


@rule(
    "generator.inlet",
    over="house",
    modes=[Mode.GRID],
    title="Nobody must be able to touch live pins where a generator is joined to the house",
    clauses=[
        "IEC 60364-4-41:2005+A1:2017, 411.2 (from memory)",
        "BS 7671:2018, 411.2, 416 (from memory)",
    ],
)
def inlet_pins(study: Study, _here: Here) -> Verdict | None:
    """An inlet → its pins are recessed, and dead while nothing is plugged in

    A lead with two plugs has 230 V on bare pins as soon as one end is in.
    """
    inlet = inlet_of(study)
    if inlet is None or inlet.joined_by == "fixed wiring":
        return None
    recessed = inlet.joined_by == "inlet with recessed pins"
    because = [f"joined by: {inlet.joined_by}"]
    if recessed:
        because.append(f"pins without plug: {inlet.pins}")
    safe = recessed and inlet.pins == "dead"
    change_over = "Fit a change-over that parts the inlet from the house unless it feeds."
    inlet_remedy = "Fit an inlet with recessed pins, and take the lead with two plugs away."
    return Verdict(
        status=Status.MET if safe else Status.NOT_MET,
        because=because,
        remedies=[lambda: change_over if recessed else inlet_remedy],
        confirmed="memory",
    )
