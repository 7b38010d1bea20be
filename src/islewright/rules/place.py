"""Chapter: the place of the battery: rooms, distances, fire detection."""

from __future__ import annotations

from functools import partial

from islewright.findings import Question, Status, Verdict, at_least
from islewright.job.gap import Gap
from islewright.job.spot import Spot, spot_of
from islewright.network.state import Mode
from islewright.rules.demand import spread_of
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here, attempt, every, rule
from islewright.rules.study import Study
from islewright.tables.figure import Figure

BATTERIES = "IEC 60364-5-57:2022 (not seen)"
BATTERIES_GB = "PAS 63100:2024, 6.5.5"
#: what a rule set may say of the place of a battery
KEYS = ("battery_rooms", "openings", "flammables", "detector")


@once_a_study
def _silent(study: Study) -> bool:
    """Whether the rule set states nothing at all of it; `place.battery` then asks once for all."""
    return not any(study.profile.row(f"place.{key}").value for key in KEYS)


@once_a_study
def _spot(study: Study) -> Spot | None:
    """Where the battery stands; None where there is none."""
    return None if study.job.battery is None else spot_of(study.job, "battery")


@rule(
    "place.battery",
    over="house",
    modes=[Mode.GRID],
    title="A battery must stand where the rules let one stand",
    clauses=[BATTERIES, BATTERIES_GB],
)
def battery(study: Study, _here: Here) -> Verdict | None:
    """A battery stands there → the room is not among those forbidden, and no local rule forbids it

    It burns long and hot: nobody must sleep beside it or need to flee past it. Where the rule
    set states nothing of rooms, distances and detectors, the rules of the place decide.
    """
    spot = _spot(study)
    if spot is None:
        return None
    if _silent(study) and spot.gap("local_rule") is not None:
        return _ask_all(study, spot)
    demands = [] if _silent(study) else [attempt(partial(_room, study, spot))]
    if spot.gap("local_rule") is not Gap.LEFT_OUT:
        demands.append(attempt(partial(_by_local_rule, spot)))
    return every(demands)


def _ask_all(study: Study, spot: Spot) -> Verdict:
    """The rule set is silent and nobody has asked: one question for all that it leaves open."""
    asked = spot.question("local_rule")
    rules = study.profile.name
    ask = f"{asked.ask} Rooms, distances and detectors: {rules} states none."
    question = Question(field=asked.field, ask=ask, how=asked.how, whom=asked.whom)
    told = f"{rules} states nothing of where a battery may stand"
    return Verdict(status=Status.UNDECIDED, questions=[question], because=[told])


def _room(study: Study, spot: Spot) -> Verdict:
    if spot.situation == "outdoors":
        return Verdict(status=Status.MET, because=["it stands outdoors"], confirmed="memory")
    forbidden = study.profile.text("place.battery_rooms").split("; ")
    within = spot.room in forbidden
    return Verdict(
        status=Status.NOT_MET if within else Status.MET,
        because=[f"room: {spot.room}", f"forbidden: {', '.join(forbidden)}"],
        remedies=[lambda: "Put the battery outdoors, or into a room that is none of these."],
        means="A fire of the battery would reach people asleep or fleeing." if within else "",
        confirmed=study.profile.row("place.battery_rooms").confirmed,
    )


def _by_local_rule(spot: Spot) -> Verdict:
    allowed = spot.local_rule == "allowed"
    return Verdict(
        status=Status.MET if allowed else Status.NOT_MET,
        because=[f"by local rule: {spot.local_rule}"],
        remedies=[lambda: "Put the battery where the local rule allows it."],
        confirmed="as stated",
    )


@rule(
    "place.openings",
    over="house",
    modes=[Mode.GRID],
    title="A battery must keep its distance from doors, windows, vents and escape routes",
    clauses=[BATTERIES, BATTERIES_GB],
)
def openings(study: Study, _here: Here) -> Verdict | None:
    """distance to the nearest opening ≥ least distance of the rule set

    Smoke and flames must not enter, nor bar the way out. Some rule sets ask it outdoors alone.
    """
    spot = _spot(study)
    if spot is None or _silent(study):
        return None
    if study.profile.text("place.openings_apply") == "outdoors" and spot.situation == "indoors":
        return None
    return _far_enough(study, "openings", spot.to_openings_m, "doors, windows, vents and exits")


@rule(
    "place.flammables",
    over="house",
    modes=[Mode.GRID],
    title="A battery must keep its distance from stored things that burn easily",
    clauses=[BATTERIES, BATTERIES_GB],
)
def flammables(study: Study, _here: Here) -> Verdict | None:
    """distance to what burns easily ≥ least distance of the rule set

    Fuel, gas, oil and paint beside it make a small fire a large one.
    """
    spot = _spot(study)
    if spot is None or _silent(study):
        return None
    return _far_enough(study, "flammables", spot.to_flammables_m, "what burns easily")


def _far_enough(study: Study, key: str, distance: Figure | None, what: str) -> Verdict:
    least = study.profile.number(f"place.{key}")
    if distance is None:
        told = f"no {what} on that side or in that room"
        return Verdict(status=Status.MET, because=[told], confirmed=least.confirmed)
    spread = distance.spread
    if spread is None:
        spread = spread_of(study.profile, "length", distance)
    return at_least(
        float(distance),
        float(least),
        "m",
        spread=spread,
        because=lambda: [f"to {what}: {float(distance):g} m"],
        remedies=[lambda: f"Put the battery at least {float(least) + spread:.2g} m from {what}."],
        confirmed=least.confirmed,
    )


@rule(
    "place.detector",
    over="house",
    modes=[Mode.GRID],
    title="Where a battery stands indoors, a detector must sound the house's alarms",
    clauses=[BATTERIES, BATTERIES_GB],
)
def detector(study: Study, _here: Here) -> Verdict | None:
    """A battery stands indoors → its room has a detector, linked where the rule set asks it

    Who sleeps two floors above hears nothing of an alarm in the cellar.
    """
    spot = _spot(study)
    if spot is None or _silent(study) or spot.situation == "outdoors":
        return None
    linked = study.profile.text("place.detector") == "linked"
    found = spot.detector
    fits = found.startswith("linked") or (found == "alone" and not linked)
    remedy = "Fit a detector in the battery's room that sounds with the house's alarms."
    return Verdict(
        status=Status.MET if fits else Status.NOT_MET,
        because=lambda: [f"fire detector: {found}"],
        remedies=[lambda: remedy],
        confirmed=study.profile.row("place.detector").confirmed,
    )
