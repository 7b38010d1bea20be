"""Chapter: residual current devices, and where they must see a fault."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_least, at_most
from islewright.job.model import Circuit
from islewright.network.race import guards_at
from islewright.network.state import Mode
from islewright.network.way import Guard
from islewright.rules.charging import INSIDE
from islewright.rules.disconnection import ADS, earthed, not_judged_it
from islewright.rules.mend import BOND
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

FOLLOW = "Follow neutral and protective conductor to the origin: somewhere one is open."
#: less hangs on leakage alone and is no fault current [A]
NO_FAULT_A = 0.05


@rule(
    "residual.additional-protection",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="Sockets, lights, outdoor, bathroom and charger circuits must have a 30 mA RCD",
    clauses=[
        f"{ADS}, 411.3.3, 411.3.4, 415.1 (411.3.4 from memory)",
        "IEC 60364-7-701, 7-722 (from memory)",
        "BS 7671:2018, 411.3.3, 411.3.4, 415.1, 701.411.3.3, 722.531.3 (from memory)",
    ],
)
def additional_protection(study: Study, here: Here) -> Verdict | None:
    """I_Δn ≤ 30 mA

    Sockets and outdoor circuits are in its reach up to 32 A; one whose device nobody knows
    is, so that a 30 mA RCD in front of it settles the matter. The RCD inside a charging point
    counts as well (722.531.3.1).
    """
    circuit = study.job.circuits[here.name]
    if not asks_additional(study, circuit):
        return None
    limit = float(study.profile.number("rcd.additional_rating"))
    guards = guards_at(study.job, "circuit", here.name, here.mode)[0]
    ratings = [(float(g.residual.trips_at_a), g.name) for g in guards if g.residual is not None]
    if circuit.use == "charger" and not any(i_dn <= limit for i_dn, _ in ratings):
        inside = circuit.charging.residual
        ratings += [] if inside is None else [(float(inside.trips_at_a), INSIDE)]
    if not ratings or min(ratings)[0] > limit:
        _all_known(guards)
        _ = circuit.device.i_n_a  # without it nobody knows whether the rule reaches so far
    if not ratings:
        return Verdict(
            status=Status.NOT_MET,
            because=["no RCD stands in the way in this mode"],
            remedies=[lambda: additional_remedy(study, here, limit)],
            confirmed="page",
        )
    i_dn, name = min(ratings)
    return at_most(
        i_dn,
        limit,
        "A",
        spread=0.0,  # a rating on the plate, against a rating
        because=lambda: [f"I_Δn = {i_dn * 1000:g} mA ({name})"],
        remedies=[lambda: additional_remedy(study, here, limit)],
        confirmed="page",
    )


def asks_additional(study: Study, circuit: Circuit) -> bool:
    """Whether the rule set asks for additional protection by an RCD for a circuit's use.

    Raises
    ------
    Unknown : what the circuit is for is not stated
    """
    return circuit.use in _uses(study) and not _out_of_reach(study, circuit)


@once_a_study
def _uses(study: Study) -> frozenset[str]:
    return frozenset(study.profile.text("rcd.additional_uses").split("; "))


def _out_of_reach(study: Study, circuit: Circuit) -> bool:
    """Whether a circuit of sockets or outdoors is surely above the rating that 411.3.3 reaches."""
    if circuit.use not in ("sockets", "outdoor") or not circuit.has("device"):
        return False
    i_n = circuit.device.figure("i_n_a")
    return i_n is not None and i_n > study.profile.number("rcd.additional_sockets_to")


def _all_known(guards: tuple[Guard, ...]) -> None:
    """Stop where a part in the way that nobody knows may be an RCD."""
    for guard in guards:
        if guard.role == "RCD":
            guard.must_be_known()


def additional_remedy(study: Study, here: Here, limit_a: float) -> str:
    """An RCD of the same board that is sensitive enough, else an RCBO."""
    circuit = study.job.circuits[here.name]
    for name, rcd in study.job.boards[circuit.board].rcds.items():
        if name != circuit.behind and rcd.has("trips_at_a") and rcd.trips_at_a <= limit_a:
            return f"Put it behind {name}, {rcd.trips_at_a * 1000:g} mA, its neutral too."
    return f"Fit an RCBO of {limit_a * 1000:g} mA in place of {circuit.device.name}."


@rule(
    "residual.sees-the-fault",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="Every RCD in the way of an earth fault must see the whole fault current",
    clauses=[
        "IEC 60364-5-53, 531.3 (from memory)",
        "IEC 60364-5-55, 551.4.3 (from memory)",
        "BS 7671:2018, 531.3, 551.4.3 (from memory)",
    ],
)
def sees_the_fault(study: Study, here: Here) -> Verdict | None:
    """I_residual / I_fault ≥ 0.9, at every RCD

    With the bond on the load side of an RCD, or the neutral on another bar, the current
    comes back through the RCD and cancels: it looks protected and is not.
    """
    if not earthed(study.job.circuits[here.name]):
        return None
    guards = guards_at(study.job, "circuit", here.name, here.mode)[0]
    if not any(guard.role == "RCD" for guard in guards):
        return None
    _all_known(guards)
    study.clean(here)
    if not study.joints(here.board, here.mode):
        if here.mode is Mode.GRID and study.job.supply.system_earthing == "IT":
            return not_judged_it()
        return _nothing_to_see(
            "neutral and earth are joined nowhere: only leakage flows",
            BOND if here.mode is Mode.ISLAND else FOLLOW,
        )
    fault_a, seen, worst = _blindest(study, here, guards)
    if fault_a < NO_FAULT_A:
        return _nothing_to_see(f"no more than {fault_a:.3f} A flow", FOLLOW)
    share = seen / fault_a
    limit = float(study.profile.number("rcd.sees_share"))
    return at_least(
        share,
        limit,
        "-",
        # what goes another way hangs on lengths
        spread=abs(1 - share) * float(study.profile.number("spread.length")) / 100,
        because=lambda: [
            f"I_fault = {fault_a:.2f} A",
            f"{worst} sees {seen:.2f} A",
            f"I_residual / I_fault = {share:.2f}",
            *study.limiting_told(here.mode),
        ],
        remedies=[lambda: f"Move the bond to the source side of {worst}, or the neutral home."],
        means="This RCD is blind to the fault." if share < limit else "",
        confirmed="memory",
    )


def _nothing_to_see(why: str, remedy: str) -> Verdict:
    return Verdict(
        status=Status.NOT_MET,
        because=[why],
        means="The RCDs have no fault current to see.",
        remedies=[lambda: remedy],
        confirmed="memory",
    )


def _blindest(study: Study, here: Here, guards: tuple[Guard, ...]) -> tuple[float, float, str]:
    """The RCD that sees the smallest share of a fault: fault current, what it sees [A], name.

    Never mixed from two solutions where the way of limiting is not known.
    """
    found = [
        (way.current_a, way.seen_a(guard), guard.name)
        for way in study.followed(here).ways
        for guard in guards
        if guard.role == "RCD"
    ]
    return min(found, key=lambda told: told[1] / max(told[0], NO_FAULT_A))
