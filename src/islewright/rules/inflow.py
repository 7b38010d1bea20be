"""What all sources together can drive into a place, and the devices that bound it.

Belongs here: sums of rated currents along the cables, line by line. Nothing is solved, no rule
stands here. A device bounds what flows through its cable by its rated current; what a program
promises to limit is no device and bounds nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from islewright.job.model import Job
from islewright.job.once import once_a_job
from islewright.network.alive import fed_lines
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, INVERTER, canonical
from islewright.network.state import Mode
from islewright.network.watched import pv_board
from islewright.rules.once import once_a_study

if TYPE_CHECKING:
    from islewright.rules.study import Study

SUPPLY = "supply"
#: name of the way through the closed poles of the islanding switch
POLES = ""


@dataclass(frozen=True, slots=True)
class Inflow:
    """Current that can arrive from one side, or from all sides of a place.

    Attributes
    ----------
    amps : sum [A]
    told : its terms, each with name and figure
    sources : whose current it is
    made : the part of it that rests on a maker's rated output [A]
    """

    amps: float
    told: tuple[str, ...]
    sources: frozenset[str]
    made: float = 0.0


NOTHING = Inflow(0.0, (), frozenset())


def together(flows: list[Inflow]) -> Inflow:
    """Add up what comes from several sides, the public supply first."""
    flows = [flow for flow in flows if flow.sources]
    if len(flows) < 2:
        return flows[0] if flows else NOTHING
    flows.sort(key=lambda flow: SUPPLY not in flow.sources)
    return Inflow(
        sum([flow.amps for flow in flows]),
        tuple([told for flow in flows for told in flow.told]),
        frozenset().union(*[flow.sources for flow in flows]),
        sum([flow.made for flow in flows]),
    )


@once_a_job
def ways_on(job: Job, line: str, mode: Mode) -> dict[str, list[tuple[str, str]]]:
    """Each place with the cables of one line that end there, and where they lead."""
    found: dict[str, list[tuple[str, str]]] = {}
    ways = [
        (name, canonical(cable.from_), canonical(cable.to))
        for name, cable in job.cables.items()
        if line in cable.cores
    ]
    if mode is Mode.GRID:
        ways.append((POLES, GRID_SIDE, HOUSE_SIDE))
    for name, a, b in ways:
        found.setdefault(a, []).append((name, b))
        found.setdefault(b, []).append((name, a))
    return found


def pv_lines(job: Job) -> tuple[str, ...]:
    """Lines into which an inverter of the PV array's own feeds.

    Raises
    ------
    Unknown : not stated, on a supply of several lines
    """
    placed = job.placement.pv
    if placed is None or len(job.phases) == 1:
        return job.phases
    return tuple(placed.line)


def fed_by_pv(job: Job) -> tuple[str, float] | None:
    """Board and power [W] of PV that feeds in on the a.c. side; None where there is none.

    Raises
    ------
    Unknown : whether there is PV, how it is coupled, its board or its power is not stated
    """
    board = pv_board(job)
    return None if board is None or job.pv is None else (board, float(job.pv.power_w))


@once_a_job
def sources_in_circuits(job: Job) -> dict[str, float]:
    """Rated current of the source that feeds into a final circuit [A], by circuit.

    Raises
    ------
    Unknown : of some circuit it is not known
    """
    return {
        name: float(circuit.source_a)
        for name, circuit in job.circuits.items()
        if circuit.source_a is not None
    }


@once_a_study
def own_sources(study: Study, line: str, factor: float) -> dict[str, list[Inflow]]:
    """Sources of the house on a line, by their place, at `factor` times their rated current.

    Raises
    ------
    Unknown : a fact of one of them is not stated
    """
    job, found = study.job, dict[str, list[Inflow]]()
    u_0 = float(job.supply.nominal_voltage_v)
    times = "" if factor == 1 else f"{factor:g} · "
    if line in fed_lines(job):
        _add(found, INVERTER, "inverter", factor * study.phase_va / u_0,
             f"{times}{study.phase_va:.0f} VA / {u_0:g} V")  # fmt: skip
    pv = fed_by_pv(job)
    if pv is not None and line in pv_lines(job):
        watts = pv[1] / len(pv_lines(job))
        _add(found, pv[0], "PV array", factor * watts / u_0, f"{times}{watts:.0f} W / {u_0:g} V")
    for name, amps in sources_in_circuits(job).items():
        circuit = job.circuits[name]
        if line in job.lines_of(circuit):
            _add(found, circuit.board, f"source in {name}", factor * amps, f"{times}{amps:g} A")
    return found


def _add(found: dict[str, list[Inflow]], place: str, name: str, amps: float, how: str) -> None:
    told = f"{name}: {how}" if how.endswith(" A") else f"{name}: {how} = {amps:.1f} A"
    found.setdefault(place, []).append(Inflow(amps, (told,), frozenset([name]), amps))


def at_place(study: Study, place: str, line: str, mode: Mode, factor: float) -> list[Inflow]:
    """What is fed in at a place itself."""
    if place == SUPPLY and mode is Mode.GRID:
        fuse = study.job.supply.main_fuse
        told = f"main fuse {fuse.name}: {fuse.i_n_a:g} A"
        return [Inflow(float(fuse.i_n_a), (told,), frozenset([SUPPLY]))]
    return own_sources(study, line, factor).get(place, [])


@once_a_study
def through(study: Study, name: str, to: str, line: str, mode: Mode, factor: float) -> Inflow:
    """What can come out of a cable at one of its ends [A], bounded by its own device.

    Parameters
    ----------
    name : the cable, or `POLES`
    to : that end, a place
    """
    fars = [far for way, far in ways_on(study.job, line, mode).get(to, ()) if way == name]
    if not fars:
        return NOTHING
    arriving = together(_sides(study, fars[0], line, mode, factor, name))
    device = study.job.cables[name].device if name != POLES and arriving.sources else None
    if device is None or device.i_n_a >= arriving.amps:
        return arriving
    told = f"{device.name} ({name}): {device.i_n_a:g} A"
    return Inflow(float(device.i_n_a), (told,), arriving.sources)


def _sides(
    study: Study, place: str, line: str, mode: Mode, factor: float, but: str | None = None
) -> list[Inflow]:
    """What arrives at a place from each side; no line closes a ring, which reading refuses."""
    found = [*at_place(study, place, line, mode, factor)]
    for way, _ in ways_on(study.job, line, mode).get(place, ()):
        if way != but:
            found.append(through(study, way, place, line, mode, factor))
    return found


@once_a_study
def worst_at(study: Study, place: str, mode: Mode, factor: float) -> tuple[str, Inflow]:
    """The line on which most can flow into a place, and what does."""
    each = [(line, together(_sides(study, place, line, mode, factor))) for line in study.job.phases]
    return max(each, key=lambda found: found[1].amps)


@once_a_study
def worst_in(study: Study, name: str, ends: tuple[str, str], mode: Mode) -> tuple[str, Inflow]:
    """The line and direction in which most can flow through a cable or through `POLES`."""
    each = [
        (line, through(study, name, end, line, mode, 1.0))
        for line in study.job.phases
        for end in ends
    ]
    return max(each, key=lambda found: found[1].amps)


@once_a_study
def sources_along(study: Study, name: str, ends: tuple[str, str], mode: Mode) -> frozenset[str]:
    """All sources that can drive a current through a cable, from either end."""
    flows = [
        through(study, name, end, line, mode, 1.0) for line in study.job.phases for end in ends
    ]
    return frozenset().union(*(flow.sources for flow in flows))


def sum_told(flow: Inflow) -> list[str]:
    """Lines of the arithmetic: each term, and the sum where there are several."""
    if len(flow.told) < 2:
        return list(flow.told)
    terms = " + ".join(told.rpartition("= ")[2].rpartition(": ")[2] for told in flow.told)
    return [*flow.told, f"{terms} = {flow.amps:.1f} A"]
