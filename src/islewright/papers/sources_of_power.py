"""Everything that can make a conductor of the house alive, as the isolation sheet lists it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from islewright.papers.say import NOT_KNOWN, listed, stated

if TYPE_CHECKING:
    from islewright.job.model import Job

#: sources on the d.c. side, and where the job places them
_DIRECT = {"battery": "battery", "PV": "pv"}


def sources(job: Job) -> Iterator[dict[str, str]]:
    """Name, place, kind and time of each, what holds a charge last."""
    volts = f"{job.supply.nominal_voltage_v:g} V line to neutral"
    placed = job.placement
    yield _source("public supply", "service entry", f"a.c., {volts}", "always, unless it is out")
    yield _source(
        "inverter",
        stated(lambda: placed.inverter.at),
        f"a.c., {volts}",
        f"on {_behind_the_inverter(job)}, with the public supply out; starts by itself",
    )
    if may_be_there(job, "battery"):
        yield _source(
            "battery" if placed.has("battery") else "battery, if there is one",
            stated(lambda: placed.battery and placed.battery.at),
            f"d.c., {stated(lambda: job.battery and job.battery.nominal_v, 'V')}",
            "always, up to its own switch",
        )
    if may_be_there(job, "pv"):
        yield from _photovoltaic(job, volts)
    if may_have_a_generator(job):
        yield _generator(job, volts)
    time = discharge_time(job)
    when = "discharge time not known" if time == NOT_KNOWN else f"for {time} after it is cut off"
    yield _source("capacitors", "in the inverter", "a.c. filter and d.c. link", when)


def _photovoltaic(job: Job, volts: str) -> Iterator[dict[str, str]]:
    """The array, and the inverter of its own that a.c. coupling means."""
    placed = job.placement
    yield _source(
        "PV array" if placed.has("pv") else "PV array, if there is one",
        stated(lambda: placed.pv and placed.pv.at),
        f"d.c., up to {stated(lambda: job.pv and job.pv.open_circuit_v, 'V')}",
        "while there is light, up to its isolators",
    )
    if own_pv_inverter(job):
        surely = stated(lambda: job.pv and job.pv.coupling) == "a.c."
        yield _source(
            "PV inverter" if surely else "PV inverter, if it has one",
            f"feeds {stated(lambda: placed.pv and placed.pv.connected_to)}",
            f"a.c., {volts}",
            "while there is light and a voltage to follow; its capacitors longer",
        )


def _generator(job: Job, volts: str) -> dict[str, str]:
    if job.gap("generator") is not None or job.generator is None:
        return _source("generator, if there is one", NOT_KNOWN, "a.c.", "when somebody starts it")
    inlet = job.generator
    power = stated(lambda: inlet.power_va, "VA")
    return _source(
        "generator",
        f"{stated(lambda: inlet.generator)}, feeds {stated(lambda: inlet.feeds)}",
        f"a.c., {volts}, {power}",
        "when somebody joins and starts it",
    )


def _source(name: str, at: str, kind: str, when: str) -> dict[str, str]:
    return {"name": name, "at": at, "kind": kind, "when": when}


def _behind_the_inverter(job: Job) -> str:
    """What the inverter runs on; PV with an inverter of its own is not behind it."""
    own = stated(lambda: job.pv and job.pv.coupling) == "a.c."
    there = [word for word in direct_sources(job) if word != "PV" or not own]
    return listed((f"the {w}" if w == "battery" else w for w in there), "or") or "its d.c. side"


def direct_sources(job: Job) -> list[str]:
    """Battery and PV, as far as they are there or nobody knows that they are not."""
    return [word for word, part in _DIRECT.items() if may_be_there(job, part)]


def may_be_there(job: Job, placed: str) -> bool:
    """Whether the job places such a piece, or leaves open whether there is one."""
    return job.placement.gap(placed) is not None or job.placement.has(placed)


def own_pv_inverter(job: Job) -> bool:
    """Whether the array has, or may have, an inverter of its own."""
    return may_be_there(job, "pv") and stated(lambda: job.pv and job.pv.coupling) != "d.c."


def may_have_a_generator(job: Job) -> bool:
    """Whether a generator is stated, or nobody has said that there is none."""
    return job.gap("generator") is not None or job.generator is not None


def discharge_time(job: Job) -> str:
    """How long the inverter stays charged once cut off, by its maker; or "not known"."""
    return stated(lambda: job.inverter.discharge_s, "s")
