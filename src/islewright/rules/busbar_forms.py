"""How rule sets add up what sources and devices bring to a busbar; no rule stands here.

The figures that go into a form are keys of the profile; what it adds up is told here. A form
that no loaded rule set names is kept because others do.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from islewright.findings import Verdict, at_most
from islewright.network.state import Mode
from islewright.network.way import circuits_of, device_end
from islewright.rules.demand import spread_of
from islewright.rules.inflow import (
    SUPPLY,
    Inflow,
    at_place,
    sum_told,
    together,
    ways_on,
    worst_at,
)
from islewright.rules.registry import Here, first_way

if TYPE_CHECKING:
    from islewright.job.model import Job
    from islewright.rules.study import Study
    from islewright.tables.figure import Figure


def by_sum(study: Study, here: Here) -> Verdict:
    """I_n + k_source · Σ I_g ≤ k_busbar · I_nA, wherever sources and main sit on the busbar."""
    factor = float(study.profile.number("sources.source_factor"))
    _, flow = found = worst_at(study, here.name, here.mode, factor)
    share = study.profile.number("sources.busbar_factor")
    return _held(study, here, found, float(share), share, flow.made)


def by_ends(study: Study, here: Here) -> Verdict:
    """The same; k_busbar only where sources and main feed at opposite ends, else 1.

    Between the ends no piece of the busbar then carries the whole sum.
    """
    factor = float(study.profile.number("sources.source_factor"))
    _, flow = found = worst_at(study, here.name, here.mode, factor)
    stated = study.profile.number("sources.busbar_factor")
    apart = study.job.boards[here.name].feeds == "opposite ends"
    return _held(study, here, found, float(stated) if apart else 1.0, stated, flow.made)


def by_device_ratings(study: Study, here: Here) -> Verdict:
    """Σ I_n of the devices of all sources, the main among them, ≤ k_busbar · I_nA."""
    share = study.profile.number("sources.busbar_factor")
    each = [(line, _rated(study, here, line)) for line in study.job.phases]
    found = max(each, key=lambda one: one[1].amps)
    return _held(study, here, found, float(share), share, found[1].made)


def by_all_devices(study: Study, here: Here) -> Verdict:
    """Σ I_n of all devices on the busbar, loads' and sources', without the main, ≤ I_nA."""
    stated = study.profile.number("sources.busbar_factor")
    each = [(line, _beside_main(study, here, line)) for line in study.job.phases]
    found = max(each, key=lambda one: one[1].amps)
    return _held(study, here, found, 1.0, stated, found[1].made)


def by_ends_or_all_devices(study: Study, here: Here) -> Verdict:
    """Either of the two is enough."""
    return first_way(form(study, here) for form in (by_ends, by_all_devices))


#: form by the word of the profile
FORMS = {
    "sum": by_sum,
    "opposite ends": by_ends,
    "device ratings": by_device_ratings,
    "all devices": by_all_devices,
    "opposite ends or all devices": by_ends_or_all_devices,
}


def _held(
    study: Study, here: Here, found: tuple[str, Inflow], share: float, stated: Figure, made: float
) -> Verdict:
    """A sum on its worst line against the busbar."""
    line, flow = found
    i_na = float(study.job.boards[here.name].busbar_a)
    limit, spread = share * i_na, spread_of(study.profile, "maker", made)
    times = "" if share == 1 else f"{share:g} · {i_na:g} A = {limit:.1f} A with "
    return at_most(
        flow.amps,
        limit,
        "A",
        spread=spread,
        because=lambda: [*sum_told(flow), f"on {line}; {times}I_nA = {i_na:g} A"],
        remedies=[
            lambda: f"Fit a board whose busbar carries {(flow.amps + spread) / share:.0f} A."
        ],
        means="With every source at its most, nothing protects this busbar."
        if flow.amps > limit
        else "",
        confirmed=stated.confirmed,
    )


def _rated(study: Study, here: Here, line: str) -> Inflow:
    """What sources bring, each by the device nearest to the busbar; by its current without one."""
    return together([*_devices_of_sources(study, here.name, line, here.mode, None)])


def _devices_of_sources(
    study: Study, place: str, line: str, mode: Mode, but: str | None
) -> Iterator[Inflow]:
    job = study.job
    for flow in at_place(study, place, line, mode, 1.0):
        yield _by_circuit(job, flow)
    for way, far in ways_on(job, line, mode).get(place, ()):
        if way == but:
            continue
        behind = together([*_devices_of_sources(study, far, line, mode, way)])
        device = job.cables[way].device if way in job.cables else None
        if not behind.sources or device is None:
            yield behind
        else:
            told = f"{device.name} ({way}): {device.i_n_a:g} A"
            yield Inflow(float(device.i_n_a), (told,), behind.sources)


def _by_circuit(job: Job, flow: Inflow) -> Inflow:
    """A source in a final circuit counts with the circuit's device."""
    names = [source.removeprefix("source in ") for source in flow.sources]
    if len(names) != 1 or names[0] not in job.circuits:
        return flow
    device = job.circuits[names[0]].device
    return Inflow(float(device.i_n_a), (f"{device.name} ({names[0]}): {device.i_n_a:g} A",),
                  flow.sources)  # fmt: skip


def _beside_main(study: Study, here: Here, line: str) -> Inflow:
    """Every device on the busbar but that of the way by which the public supply comes."""
    job, flows = study.job, list[Inflow]()
    for name, circuit in circuits_of(job, here.name).items():
        if line in job.lines_of(circuit):
            told = f"{circuit.device.name} ({name}): {circuit.device.i_n_a:g} A"
            flows.append(Inflow(float(circuit.device.i_n_a), (told,), frozenset([name])))
    for way, far in ways_on(job, line, here.mode).get(here.name, ()):
        behind = together([*_devices_of_sources(study, far, line, here.mode, way)])
        if SUPPLY in behind.sources:
            continue
        device = job.cables[way].device if way in job.cables else None
        if device is not None and device_end(job.cables[way]) == here.name:
            told = f"{device.name} ({way}): {device.i_n_a:g} A"
            flows.append(Inflow(float(device.i_n_a), (told,), frozenset([way])))
        else:
            flows.append(behind)
    return together(flows)
