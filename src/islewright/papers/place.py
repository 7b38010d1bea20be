"""How a place, a mode and the job are called on paper.

Belongs here: names and numbers that several pages must give alike.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from islewright.papers.say import NONE, NOT_KNOWN, counted, listed, stated
from islewright.units import show

if TYPE_CHECKING:
    from islewright.job.model import Job

#: places of the network that have no name of their own in the job, in words
TERMINALS = {
    "supply": "behind the main fuse",
    "islanding switch/grid": "islanding switch, grid side",
    "islanding switch/house": "islanding switch, house side",
    "inverter": "inverter, a.c. side",
}


#: how the place of a circuit's own residual current device begins
_RCBO = "RCBO of "


def circuit_numbers(job: Job) -> dict[str, int]:
    """Number of each circuit: its place in the job file, board by board as drawn."""
    return {name: number for number, name in enumerate(job.circuits, 1)}


def place_name(job: Job, place: str) -> str:
    """A place, with the number that its circuit has in the schedule and on the drawing."""
    name, numbers = place.removeprefix("circuit "), circuit_numbers(job)
    number = numbers.get(name)
    if number is None and (owner := numbers.get(name.removeprefix(_RCBO))):
        return f"{name}, circuit {owner}"
    return _other(place) if number is None else f"{name}, circuit {number}"


def short_place(job: Job, place: str) -> str:
    """A place for a list of many: a circuit by its number and name."""
    name, numbers = place.removeprefix("circuit "), circuit_numbers(job)
    number = numbers.get(name)
    if number is None and (owner := numbers.get(name.removeprefix(_RCBO))):
        return f"RCBO of {owner} {name.removeprefix(_RCBO)}"
    return _other(place) if number is None else f"{number} {name}"


def _other(place: str) -> str:
    """A board is called by its name; the house as a whole is "the whole house"."""
    return "the whole house" if place == "house" else place.removeprefix("board ")


def place_of_field(job: Job, field: str) -> str:
    """Which circuit, cable or board a path in the job file lies in; empty where in none."""
    kind, _, rest = field.partition(".")
    named: dict[str, list[str]] = {
        "circuits": list(job.circuits),
        "cables": list(job.cables),
        "boards": list(job.boards),
    }
    inside = [n for n in named.get(kind, ()) if rest == n or rest.startswith(f"{n}.")]
    if not inside:
        return ""
    name = max(inside, key=len)
    return {"circuits": short_place(job, name), "cables": f"cable {name}"}.get(kind, name)


def terminals(place: str) -> str:
    """An end of a cable in words: "islanding switch, grid"."""
    return place.replace("/", ", ")


def house(job: Job) -> str:
    """The house in one sentence: supply, system earthing, circuits, boards."""
    form = {
        "one phase": "Single-phase",
        "three phases": "Three-phase",
        "split phase": "Split-phase",
    }
    supply = form[job.supply.form]
    system = stated(lambda: job.supply.system_earthing)
    system = "system earthing not known" if system == NOT_KNOWN else system
    u0_v, f_hz = job.supply.nominal_voltage_v, job.supply.frequency_hz
    return (
        f"{supply} supply, {show(u0_v, 'V')}, {show(f_hz, 'Hz')}, {system}; "
        f"{counted(len(job.circuits), 'circuit')} on {counted(len(job.boards), 'board')}."
    )


def equipment(job: Job) -> str:
    """The equipment in one sentence: switch, inverter, battery, PV array."""
    poles = stated(lambda: listed(job.switch.switched_poles))
    parts = [
        f"Islanding switch opening {poles}",
        f"inverter {stated(lambda: job.inverter.rated_va, 'VA')}",
    ]
    for word, read in (
        ("battery", lambda: job.battery and job.battery.usable_wh),
        ("PV", lambda: job.pv and job.pv.power_w),
    ):
        size = stated(read, "Wh" if word == "battery" else "W")
        parts.append(f"no {word}" if size == NONE else f"{word} {size}")
    if job.gap("generator") is None and (inlet := job.generator) is not None:
        parts.append(f"inlet for a generator of {stated(lambda: inlet.power_va, 'VA')}")
    return ", ".join(parts) + "."
