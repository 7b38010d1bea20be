"""Chapter: earth faults in island mode, where the source limits its current (411, 419, 551)."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from functools import partial

from islewright.findings import Status, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.job.model import Circuit
from islewright.network.follow import OneFault
from islewright.network.places import INVERTER, canonical
from islewright.network.race import guards_at, system_of
from islewright.network.sheet import RaceBar
from islewright.network.state import ISLAND, Mode
from islewright.network.way import Guard
from islewright.rules.ask_maker import ask_current
from islewright.rules.clearing import ahead_of
from islewright.rules.demand import own_spread, spread_of
from islewright.rules.disconnection import (
    ADS,
    ADS_BS,
    earthed,
    left_by_residual,
    no_protective_conductor,
    touch_limit_v,
)
from islewright.rules.mend import BOND, behind_an_rcd, quicker_breaker
from islewright.rules.opening import in_time
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study
from islewright.rules.time_allowed import allowed_s, shortest_allowed_s
from islewright.rules.tt_overcurrent import ASSURED


@rule(
    "shock.island-disconnection",
    over="circuits",
    modes=[Mode.ISLAND],
    title="An earth fault in the island must be cut off in time, or leave no dangerous voltage",
    clauses=[
        f"{ADS}, 411.3.2, 419.2, 419.3, 415.2 (419 from memory)",
        "IEC 60364-5-55, 551.4.3.3 (from memory)",
        f"{ADS_BS}, 411.3.2, 419.2, 419.3, 415.2, 551.4.3.3 (419 and 551.4.3.3 from memory)",
    ],
)
def island_disconnection(study: Study, here: Here) -> Verdict:
    """t_device(I_limited) ≤ t_allowed, else t(U ≤ 50 V) ≤ t_allowed, else I_max · R_PE ≤ U_L

    In this order: (a) a device opens in time at the current that flows; (b) the maker
    declares that the voltage falls to 50 V in that time; (c) the limited current leaves no
    more than U_L between parts that can be touched at once, with supplementary bonding.
    """
    circuit = study.job.circuits[here.name]
    return _ways(study, here, circuit) if earthed(circuit) else no_protective_conductor()


@rule(
    "shock.island-disconnection-cable",
    over="cables",
    modes=[Mode.ISLAND],
    title="An earth fault on a distribution cable of the island must end in time, or do no harm",
    clauses=[
        f"{ADS}, 411.3.2.3, 419.2, 419.3, 415.2 (419 from memory)",
        f"{ADS_BS}, 411.3.2.3, 419.2, 419.3, 415.2 (419 from memory)",
    ],
)
def island_disconnection_cable(study: Study, here: Here) -> Verdict:
    """t_device(I_limited) ≤ t_allowed, else t(U ≤ 50 V) ≤ t_allowed, else I_max · R_PE ≤ U_L

    Between the inverter and the bond no RCD clears an earth fault: it returns through N. One at
    the bond's end opens that return alone, and the line stays joined to the inverter.
    """
    return _ways(study, here, None)


def _ways(study: Study, here: Here, circuit: Circuit | None) -> Verdict:
    allowed = allowed_s(study, here)  # raises its question where the use is not known
    if study.island_faults.limit_missing:
        raise Unknown(ask_current(study, here, allowed))
    study.clean(here)
    if not study.joints(here.board or study.first_backed_up, Mode.ISLAND):
        return _no_way_back()
    row = study.followed(here)
    ways = [
        ("(a)", partial(_by_device, study, here, row, circuit)),
        ("(b)", partial(_by_collapse, study, row, circuit)),
        ("(c)", partial(_by_touch_voltage, study, here, row, circuit)),
    ]
    verdict = first_way(_labelled(label, attempt(way)) for label, way in ways)
    also = study.limiting_told(here.mode)
    return verdict.but(because=lambda: [*verdict.because, *also]) if also else verdict


def _labelled(label: str, way: Verdict) -> Verdict:
    """A way whose every line says which way it is."""
    return way.but(because=lambda: [f"{label} {line}" for line in way.because])


def _no_way_back() -> Verdict:
    return Verdict(
        status=Status.NOT_MET,
        because=["neutral and earth are joined nowhere in the island"],
        means="An earth fault finds no way back and nothing opens; a second one is a short "
        "circuit through protective conductors.",
        remedies=[lambda: BOND],
        confirmed="memory",
    )


# --- (a) ----------------------------------------------------------------------------------


def _by_device(study: Study, here: Here, row: OneFault, circuit: Circuit | None) -> Verdict:
    """(a) a device opens in time, at the current that really flows, before the source stops."""
    guards = guards_at(study.job, here.kind, here.name, Mode.ISLAND)[0]
    u_l = touch_limit_v(study, circuit)
    pairs = [(guard, row.bar(guard)) for guard in ahead_of(study.job, here, guards)]
    quickest_first = sorted(pairs, key=lambda pair: pair[1].latest_s)
    verdict = (
        first_way(
            attempt(partial(_one_device, study, here, guard, bar, row, u_l))
            for guard, bar in quickest_first
        )
        if pairs
        else Verdict(status=Status.NOT_MET, because=["no device stands in the way"])
    )
    most = ", the most that the inverter gives" if row.limited else ""
    return verdict.but(
        because=lambda: [f"I = {row.current_a:.1f} A{most}", *verdict.because],
        remedies=[
            lambda: _residual_remedy(study, here, row),
            lambda: _quicker_remedy(study, here, row),
        ],
    )


def _within_s(study: Study, row: OneFault) -> float:
    """Time in which a device must open, while the inverter is known to give the current [s]."""
    given = study.job.inverter.fault_current.figure("for_s") if row.limited else None
    return row.allowed_s if given is None else min(row.allowed_s, given)


def _residual_remedy(study: Study, here: Here, row: OneFault) -> str | None:
    """An RCD in front; on a cable only where the fault current does not return through it."""
    if here.kind == "circuit":
        within = _within_s(study, row)
        return behind_an_rcd(study, here, row.current_a, row.voltage_left_v, within)
    cable = study.job.cables[here.name]
    if INVERTER in (canonical(cable.from_), canonical(cable.to)):
        return None  # with the bond beyond this cable no RCD would see the fault
    return f"Fit an RCD where the cable {here.name} begins, on the load side of the bond."


def _quicker_remedy(study: Study, here: Here, row: OneFault) -> str | None:
    if here.kind != "circuit":
        return None
    surely = row.current_a - spread_of(study.profile, "maker", row.current_a)
    device = study.job.circuits[here.name].device
    return quicker_breaker(study, here, device, surely, _within_s(study, row))


def _one_device(
    study: Study, here: Here, guard: Guard, bar: RaceBar, row: OneFault, u_l: float
) -> Verdict:
    """One device: in the allowed time, and while the inverter still gives the current."""
    opens = in_time(study, guard, bar, row)
    if opens.status in (Status.NOT_MET, Status.UNDECIDED):
        return opens
    demands = [opens, *_near_end(study, here, guard)]
    if system_of(study.job, ISLAND) == "TT":
        demands.append(_by_electrode(study, guard, u_l))
    held = _held_s(study, bar, row)
    if math.isinf(held):
        return every(demands)
    kept = at_most(
        bar.latest_s,
        held,
        "s",
        spread=opens.spread,
        because=lambda: [f"the inverter gives this current for {held:g} s"],
    )
    return every([*demands, kept])


def _near_end(study: Study, here: Here, guard: Guard) -> Iterator[Verdict]:
    """An RCD that needs voltage finds least of it with the fault right behind it."""
    if guard.residual is None or guard.residual.needs_voltage_v is None:
        return
    near = study.followed(here, "near")
    opens = in_time(study, guard, near.bar(guard), near)
    yield opens.but(because=lambda: ["fault right behind it:", *opens.because])


def _by_electrode(study: Study, guard: Guard, u_l: float) -> Verdict:
    """A TT house whose neutral stays joined is TT as an island too: R_A stands in the loop.

    An RCD must open before a fault leaves more than U_L for good (411.5.3); an overcurrent
    device counts where somebody answers for the electrode (411.5.4).
    """
    electrode = study.job.earthing.electrode
    if electrode is None:
        return Verdict(
            status=Status.NOT_MET,
            because=["there is no electrode"],
            remedies=[lambda: "Drive an earth electrode at the house."],
        )
    if guard.residual is not None:
        return left_by_residual(study, electrode, guard.name, guard.residual, u_l)
    assured = electrode.stays_low == ASSURED
    told = f"that the electrode stays low for good is {electrode.stays_low}"
    return Verdict(status=Status.MET if assured else Status.NOT_MET, because=[told])


def _held_s(study: Study, bar: RaceBar, row: OneFault) -> float:
    """How long the current flows [s]: for good up to the rating, else as the maker says.

    Raises
    ------
    Unknown : the maker does not say
    """
    inverter = study.job.inverter
    rated_a = study.phase_va / float(study.job.supply.nominal_voltage_v)
    if not row.limited and row.current_a <= rated_a:
        return math.inf
    try:
        return float(inverter.fault_current.for_s)
    except Unknown as gap:
        asked = gap.questions[0]
        ask = f"{asked.ask} {bar.latest_s:g} s would do for {row.place} ({bar.name})."
        raise Unknown(dataclasses.replace(asked, ask=ask)) from None


# --- (b), (c) -----------------------------------------------------------------------------


def _by_collapse(study: Study, row: OneFault, circuit: Circuit | None) -> Verdict:
    """(b) the maker declares that the voltage has fallen to 50 V in time, and stays down."""
    if not row.limited:
        return Verdict(status=Status.NOT_MET, because=["the inverter is not at its limit"])
    u_l = touch_limit_v(study, circuit)
    left = study.profile.number("disconnection.collapse_voltage")
    if left > u_l:
        told = f"a voltage that has fallen to {left:g} V is still above U_L = {u_l:g} V"
        return Verdict(status=Status.NOT_MET, because=[told])
    inverter = study.job.inverter
    try:
        falls = inverter.falls_to_50v_s
    except Unknown as gap:
        asked = gap.questions[0]
        ask = (
            f"{asked.ask} {row.allowed_s:g} s would do for {row.place}, "
            f"{shortest_allowed_s(study):g} s for the whole island."
        )
        raise Unknown(dataclasses.replace(asked, ask=ask)) from None
    fallen = at_most(
        float(falls),
        row.allowed_s,
        "s",
        spread=own_spread(study.profile, "maker", falls),
        because=lambda: [
            f"t(U ≤ 50 V) = {falls:g} s, the maker's word",
            f"t_allowed = {row.allowed_s:g} s",
        ],
        remedies=[
            lambda: (
                "Get it from the maker in writing that the voltage falls to 50 V within "
                f"{row.allowed_s:g} s, by a setting or another model."
            )
        ],
        means="The whole island goes dark on such a fault.",
        confirmed="memory",
    )
    if fallen.status is Status.NOT_MET:
        return fallen
    if inverter.on_a_fault == "restarts":
        return Verdict(
            status=Status.NOT_MET,
            because=lambda: [
                *fallen.because,
                "it starts again on a fault that stays: the voltage comes back",
            ],
            remedies=[lambda: "Set the inverter to stay off after a fault."],
        )
    return fallen


def _by_touch_voltage(study: Study, here: Here, row: OneFault, circuit: Circuit | None) -> Verdict:
    """(c) the limited current leaves no dangerous voltage, and the parts are bonded."""
    u_l = touch_limit_v(study, circuit)
    volts, to = study.touch_v(here), "the earthing terminal"
    if system_of(study.job, ISLAND) == "TT" and row.touch_earth_v > volts:
        volts, to = row.touch_earth_v, "true earth, where no bonding helps,"
    told = f"U_touch = {volts:.1f} V to {to} at {row.current_a:.1f} A"
    share = math.hypot(spread_of(study.profile, "length", 1), spread_of(study.profile, "maker", 1))
    touch = at_most(
        volts,
        u_l,
        "V",
        spread=volts * share,
        because=lambda: [told, f"U_L = {u_l:g} V"],
        means="The fault stays on until the inverter stops or someone opens the circuit.",
        confirmed="memory",
    )
    if touch.status is Status.NOT_MET:
        return touch
    if study.job.earthing.supplementary_bonding != "present":
        lacks = "there is no supplementary bonding, so 419.3 cannot be used"
        return Verdict(
            status=Status.NOT_MET,
            because=lambda: [*touch.because, lacks],
            remedies=[
                lambda: (
                    "Bond all parts that can be touched at once (415.2): the fault then "
                    f"leaves {volts:.1f} V, and stays on."
                )
            ],
        )
    return touch
