"""Where to prove dead, between which conductors, and what could have made them alive."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from islewright.job.gap import Unknown
from islewright.papers.say import NOT_KNOWN, stated
from islewright.papers.sources_of_power import (
    may_be_there,
    may_have_a_generator,
    own_pv_inverter,
)
from islewright.units import show

if TYPE_CHECKING:
    from islewright.job.model import Job

#: d.c. readings: a battery or string may stand against earth with either pole
DIRECT_PAIRS = ("+ to −", "+ to PE", "− to PE")


def alternating(job: Job) -> dict[str, Any]:
    """Points on the a.c. side, each with a reading between every two conductors."""
    return {"heads": pairs(job), "points": list(_points(job))}


def direct(job: Job) -> dict[str, Any]:
    """Points on the d.c. side, each with both poles against each other and to earth."""
    return {"heads": list(DIRECT_PAIRS), "points": list(_direct_points(job))}


def pairs(job: Job) -> list[str]:
    """Every two conductors of the a.c. side."""
    lines = job.phases
    among = [f"{lines[i]}-{lines[i - 1]}" for i in range(1, len(lines))]
    if len(lines) == 3:
        among = ["L1-L2", "L2-L3", "L3-L1"]
    to_earth = [f"{conductor}-PE" for conductor in (*lines, "N")]
    return [*(f"{line}-N" for line in lines), *among, *to_earth]


def _points(job: Job) -> Iterator[dict[str, str]]:
    whence = "public supply, inverter"
    if own_pv_inverter(job):
        whence += ", PV inverter"
    if may_have_a_generator(job):
        whence += ", generator"
    for name, board in job.boards.items():
        at = stated(functools.partial(getattr, board, "at"))
        yield _point(f"{name}, busbar" + ("" if at == NOT_KNOWN else f" ({at})"), whence)
    yield _point("islanding switch, grid terminals", whence)
    yield _point("islanding switch, house terminals", whence)
    yield _point("inverter, a.c. terminals", f"{whence}, capacitors")
    if own_pv_inverter(job):
        yield _point("PV inverter, a.c. terminals", f"{whence}, capacitors")
    if may_have_a_generator(job):
        yield _point("generator inlet, pins or terminals", whence)


def _direct_points(job: Job) -> Iterator[dict[str, str]]:
    """Terminals that battery and strings end at; each string is read by itself."""
    if may_be_there(job, "battery"):
        yield _point("inverter, battery terminals", "battery, PV, capacitors"
                     if _shares_the_link(job) else "battery, capacitors")  # fmt: skip
    if may_be_there(job, "pv"):
        where = "PV inverter" if own_pv_inverter(job) else "inverter"
        battery = "battery, " if _shares_the_link(job) and may_be_there(job, "battery") else ""
        yield _point(f"{where}, PV terminals, each string", f"PV, {battery}capacitors")
    if not may_be_there(job, "battery") and not may_be_there(job, "pv"):
        yield _point("inverter, d.c. terminals", "capacitors")


def _shares_the_link(job: Job) -> bool:
    """Whether PV lies on the d.c. side of the battery's inverter."""
    return may_be_there(job, "pv") and not own_pv_inverter(job)


def tester(job: Job) -> str:
    """What the tester must be made for: the highest d.c. voltage; empty without a d.c. source."""
    try:
        volts = list(_direct_volts(job))
    except Unknown:
        return "made for the highest d.c. voltage here, which is not known"
    return f"made for d.c. up to {show(max(volts), 'V')}" if volts else ""


def _direct_volts(job: Job) -> Iterator[float]:
    """Voltage of each d.c. source; raises Unknown where one is not stated."""
    if may_be_there(job, "battery") and job.battery is not None:
        yield job.battery.nominal_v
    if may_be_there(job, "pv") and job.pv is not None:
        yield job.pv.open_circuit_v


def _point(place: str, whence: str) -> dict[str, str]:
    return {"place": place, "whence": whence}
