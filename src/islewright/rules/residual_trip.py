"""Chapter: how fast residual current devices open, and the voltage that they need for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from islewright.findings import Question, Verdict, at_least, at_most
from islewright.job.device import Residual
from islewright.job.gap import Unknown
from islewright.network.race import guards_at
from islewright.network.state import Mode
from islewright.network.way import Guard
from islewright.rules.charging import INSIDE
from islewright.rules.demand import spread_of
from islewright.rules.disconnection import earthed
from islewright.rules.mend import without_voltage
from islewright.rules.registry import Here, every, rule
from islewright.rules.residual import asks_additional
from islewright.rules.study import Study
from islewright.tables.device import rcd_time_s

#: arithmetic of one RCD, written when it is read
Told = Callable[[], list[str]]


@rule(
    "residual.time",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="An RCD for additional protection must open within 40 ms at five times its rating",
    clauses=["IEC 60364-4-41:2005+A1:2017, 415.1.1", "BS 7671:2018, 415.1.1"],
)
def additional_time(study: Study, here: Here) -> Verdict | None:
    """t(5 · I_Δn, at least 0.25 A) ≤ 40 ms

    Of all RCDs in the way that are sensitive enough the quickest counts. Times at the current
    of a real fault are the matter of automatic disconnection.
    """
    circuit = study.job.circuits[here.name]
    if not asks_additional(study, circuit):
        return None
    allowed = float(study.profile.number("rcd.additional_time"))
    ways, asks = _sensitive(study, here)
    quick = min(ways, key=lambda way: way[1], default=None)
    if asks and not (quick and quick[1] <= allowed):
        raise Unknown(*asks)
    if quick is None:
        return None  # residual.additional-protection tells that there is none
    name, latest, because = quick
    return at_most(
        latest,
        allowed,
        "s",
        spread=0.0,  # a time that the device's standard promises
        because=lambda: [*because(), f"t(I) ≤ {latest:g} s"],
        remedies=[lambda: f"Fit an RCD of the same rating without delay in place of {name}."],
        confirmed="page",
    )


def _sensitive(study: Study, here: Here) -> tuple[list[tuple[str, float, Told]], list[Question]]:
    """RCDs in the way that may give additional protection: name, time [s], arithmetic; gaps."""
    number = study.profile.number
    most, times = float(number("rcd.additional_rating")), float(number("rcd.additional_times"))
    least = float(number("rcd.additional_current"))
    found: list[tuple[str, float, Told]] = []
    asks: list[Question] = []
    for name, ask_for in _watching(study, here):
        try:
            rcd = ask_for()
            if rcd is None or rcd.trips_at_a > most:
                continue
            i_dn, amps = float(rcd.trips_at_a), max(times * rcd.trips_at_a, least)

            def told(name: str = name, i_dn: float = i_dn, amps: float = amps) -> list[str]:
                return [
                    f"I_Δn = {i_dn * 1000:g} mA ({name})",
                    f"I = {amps:g} A, the larger of {times:g} · I_Δn and {least:g} A",
                ]

            kind = "S" if rcd.delay == "S" else "general"
            found.append((name, rcd_time_s(i_dn, kind, amps)[1], told))
        except Unknown as gap:
            asks += gap.questions
    return found, asks


def _watching(study: Study, here: Here) -> Iterator[tuple[str, Callable[[], Residual | None]]]:
    """RCDs in the way and inside a charging point: name, and what to ask for its facts."""
    circuit = study.job.circuits[here.name]
    for guard in guards_at(study.job, "circuit", here.name, here.mode)[0]:
        if guard.role == "RCD":
            yield guard.name, partial(_known, guard)
    if circuit.use == "charger":
        yield INSIDE, lambda: circuit.charging.residual


def _known(guard: Guard) -> Residual | None:
    guard.must_be_known()
    return guard.residual


@rule(
    "residual.voltage",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="An RCD that needs voltage must find enough of it while an earth fault lasts",
    clauses=[
        "IEC 60364-5-53:2019, 531.3.4 (from memory)",
        "BS 7671:2018, 531.3.4.2 (from memory)",
    ],
)
def needs_voltage(study: Study, here: Here) -> Verdict | None:
    """U_left ≥ U_needed, at every RCD in the way that depends on voltage

    The source gives no more than its limit, and that current through the loop is all the
    voltage that is left at the board: next to nothing where the fault lies right behind it. On
    the grid a breaker ends that one. One that finds too little never opens.
    """
    if not earthed(study.job.circuits[here.name]):
        return None
    needing, asks = _needing(study, here)
    if asks:
        raise Unknown(*asks)
    if not needing:
        return None
    ends = ("far", "near") if here.mode is Mode.ISLAND else ("far",)
    faults = [way for end in ends for way in study.followed(here, end).ways]
    return every(
        [
            _left(study, guard.name, way.end, way.volts(guard.bar), needed)
            for guard, needed in needing
            for way in sorted(faults, key=lambda way: way.volts(guard.bar))
        ]
    )


def _needing(study: Study, here: Here) -> tuple[list[tuple[Guard, float]], list[Question]]:
    """RCDs in the way that need voltage, each with how much [V]; what is not stated of them."""
    needing: list[tuple[Guard, float]] = []
    asks: list[Question] = []
    for guard in guards_at(study.job, "circuit", here.name, here.mode)[0]:
        if guard.role != "RCD":
            continue
        asks += guard.asks
        rcd = guard.residual
        if rcd is None:
            continue
        if rcd.gap("needs_voltage_v") is not None:
            asks.append(rcd.question("needs_voltage_v"))
        elif rcd.needs_voltage_v is not None:
            needing.append((guard, float(rcd.needs_voltage_v)))
    return needing, asks


def _left(study: Study, name: str, end: str, left: float, needed: float) -> Verdict:
    """One device against the voltage at its bar, with a fault at one end of the circuit."""
    return at_least(
        left,
        needed,
        "V",
        spread=spread_of(study.profile, "loop_reading", left),
        because=lambda: [
            f"U_left = {left:.1f} V at {name}, fault at the {end} end",
            f"U_needed = {needed:g} V",
        ],
        means="It stays closed as long as the fault lasts." if left < needed else "",
        remedies=[lambda: without_voltage(name)],
        confirmed="memory",
    )
