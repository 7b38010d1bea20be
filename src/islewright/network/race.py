"""When each device ends an earth fault, at the current that really flows.

Every time is the interval that the device's standard leaves open. Belongs here: times of
devices. Does not belong here: the fault as a whole (`follow`), whose is first (`order`),
whether that is in time (`rules`).
"""

from __future__ import annotations

import math

from islewright.findings import Question
from islewright.job.device import Device, Residual
from islewright.job.gap import Unknown
from islewright.job.model import Circuit, Job
from islewright.job.once import once_a_job
from islewright.network.places import canonical
from islewright.network.sheet import RaceBar
from islewright.network.state import Mode, State
from islewright.network.way import (
    Guard,
    guards_of_cable,
    guards_of_circuit,
    guards_upstream,
    source_end,
)
from islewright.tables import device as published
from islewright.tables.profile import Profile
from islewright.tables.rows import NotInTable

NEVER = (math.inf, math.inf)


def system_of(job: Job, state: State) -> str:
    """System earthing of a state: the house may be TT on the grid and TN-S as an island.

    Raises
    ------
    Unknown : whether there is a bond, and at which terminals, is not stated
    """
    return _island_system(job) if state.mode is Mode.ISLAND else str(job.supply.system_earthing)


@once_a_job
def _island_system(job: Job) -> str:
    sheet = job.switch
    if "N" not in sheet.switched_poles:
        return str(job.supply.system_earthing)
    local = sheet.bond is not None and sheet.bond.at != "grid"  # else it lies beyond the open pole
    return "TN-S" if local or job.inverter.bond is not None else "IT"


def overcurrent_time_s(device: Device, amps: float) -> tuple[float, float]:
    """Earliest and latest opening of a breaker or fuse at a current [s]."""
    if device.curve == "gG":
        return published.fuse_gg_time_s(device.i_n_a, amps)
    return published.mcb_time_s(device.curve, device.i_n_a, amps)


def residual_time_s(residual: Residual, amps: float) -> tuple[float, float]:
    """Earliest and latest opening of an RCD at a residual current [s]."""
    kind = "S" if residual.delay == "S" else "general"
    return published.rcd_time_s(residual.trips_at_a, kind, amps)


@once_a_job
def guards_at(job: Job, word: str, name: str, mode: Mode) -> tuple[tuple[Guard, ...], str]:
    """Devices in the way, nearest first, and the bar at which the place begins.

    A row of the race has one bar for each of them, in this order, and the inverter's last.
    """
    if word == "circuit":
        circuit = job.circuits[name]
        bar = f"{circuit.board}/{circuit.behind}" if circuit.behind else circuit.board
        return guards_of_circuit(job, name, mode), bar
    cable = job.cables[name]
    upstream = guards_upstream(job, source_end(job, cable, mode), mode)
    return (*guards_of_cable(job, name, cable, mode), *upstream), canonical(cable.from_)


def allowed_time_s(job: Job, profile: Profile, state: State, word: str, name: str) -> float:
    """Time within which the fault must be gone in the system of the state [s]; NaN where open."""
    try:
        system = "TT" if system_of(job, state) == "TT" else "TN"
        u0 = float(job.supply.nominal_voltage_v)
        if word != "circuit":
            return float(profile.disconnection_time_s(
                system, u0_v=u0, final=False, sockets=False, i_n_a=math.inf))  # fmt: skip
        circuit = job.circuits[name]
        sockets, i_n = has_sockets(circuit), circuit.device.i_n_a
        return float(profile.disconnection_time_s(
            system, u0_v=u0, final=True, sockets=sockets, i_n_a=i_n))  # fmt: skip
    except (Unknown, NotInTable):
        return math.nan


def has_sockets(circuit: Circuit) -> bool:
    """Whether the reach of Table 41.1 for socket-outlets holds for a circuit (411.3.2.2)."""
    return circuit.use in ("sockets", "outdoor", "bathroom", "charger")


def race_bar(guard: Guard, amps: float, volts: float, *, away: bool = False) -> RaceBar:
    """One device in the way of a fault, and its time at the current that it sees.

    Parameters
    ----------
    amps : current of a line, or residual [A]
    volts : line to neutral at its bar, NaN for what has none [V]
    away : whether it sits beyond the fault, so that it never ends it
    """
    questions: tuple[Question, ...] = ()
    try:
        guard.must_be_known()
        times = _times_s(guard, amps, volts)
        times = NEVER if away else times
    except Unknown as gap:
        times, questions = (0.0, math.inf), gap.questions
    except NotInTable as odd:
        part = guard.device or guard.residual
        where = "" if part is None else part.path
        times, questions = (0.0, math.inf), (Question(field=where, ask=str(odd)),)
    return RaceBar(role=guard.role, name=guard.name, current_a=amps, earliest_s=times[0],
                   latest_s=times[1], rank="later", questions=questions,
                   volts=volts)  # fmt: skip


def _times_s(guard: Guard, amps: float, volts: float) -> tuple[float, float]:
    if guard.device is not None:
        return overcurrent_time_s(guard.device, amps)
    assert guard.residual is not None  # noqa: S101 - a guard has one of the two
    times = residual_time_s(guard.residual, amps)
    return NEVER if times != NEVER and needs_more(guard.residual, volts) else times


def needs_more(residual: Residual, left_v: float) -> bool:
    """Whether an RCD that depends on voltage has too little left to trip; NaN is too little."""
    needed = residual.needs_voltage_v
    return needed is not None and not left_v >= needed


def inverter_bar(job: Job, amps: float, *, limited: bool) -> RaceBar:
    """The inverter at its limit: it holds the current, then its voltage falls."""
    if not limited:
        return RaceBar(role="inverter", name="inverter", current_a=amps, earliest_s=math.inf,
                       latest_s=math.inf, rank="later")  # fmt: skip
    sheet = job.inverter
    earliest = 0.0
    if not sheet.gap("fault_current") and sheet.fault_current.has("for_s"):
        earliest = float(sheet.fault_current.for_s)
    try:
        latest = float(sheet.falls_to_50v_s)
        questions: tuple[Question, ...] = ()
    except Unknown as gap:
        latest, questions = math.inf, gap.questions
    return RaceBar(role="inverter", name="inverter", current_a=amps, rank="later",
                   earliest_s=min(earliest, latest), latest_s=latest,
                   questions=questions)  # fmt: skip
