"""Chapter: short circuit: what breaks it, and what stands it (IEC 60364-4-43, 434)."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from islewright.findings import Question, Status, Verdict, at_most
from islewright.job.backing import Backing
from islewright.job.device import Device
from islewright.job.laying import Laying
from islewright.job.model import Cable, Circuit
from islewright.network.race import overcurrent_time_s
from islewright.network.state import Mode
from islewright.network.way import Guard, device_end, guards_upstream, source_end
from islewright.rules.capacity import capacity, loaded_in, weakest
from islewright.rules.clearing import clearing_device, loaded_of
from islewright.rules.demand import spread_of
from islewright.rules.prospective import Prospective, largest_at, least_grid_a, source_fault_a
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study
from islewright.rules.withstand import LONGEST_S, Energy, let_through, stands, stands_of
from islewright.tables.conductor import sizes
from islewright.tables.device import breaking_capacities_a

BREAKS = ["IEC 60364-4-43:2008, 434.5.1 (from memory)", "BS 7671:2018, 434.5.1 (from memory)"]
STANDS = ["IEC 60364-4-43:2008, 434.5.2 (from memory)", "BS 7671:2018, 434.5.2 (from memory)"]
LIMITED = ["IEC 60364-4-43:2008, 434.5.2, 436 (from memory)",
           "BS 7671:2018, 434.5.2, 436.1 (from memory)"]  # fmt: skip


@rule(
    "short-circuit.circuit-device",
    over="circuits",
    modes=[Mode.GRID],
    title="The device of a circuit must break the largest short circuit at its place",
    clauses=BREAKS,
)
def circuit_device(study: Study, here: Here) -> Verdict:
    """I_k ≤ I_cn, or what it breaks together with the fuse that its maker names

    I_k is that of the grid with all that the house's own sources add: no island has more.
    """
    circuit = study.job.circuits[here.name]
    before = guards_upstream(study.job, circuit.board, Mode.GRID)
    i_k = largest_at(study, circuit.board, len(study.job.lines_of(circuit)))
    return _breaks(study, circuit.device, i_k, circuit.board, before)


@rule(
    "short-circuit.cable-device",
    over="cables",
    modes=[Mode.GRID],
    title="The device of a distribution cable must break the largest short circuit at its place",
    clauses=BREAKS,
)
def cable_device(study: Study, here: Here) -> Verdict | None:
    """I_k ≤ I_cn, or what it breaks together with the fuse that its maker names

    A device that must interrupt more than it can bursts, and the arc goes on.
    """
    job, cable = study.job, study.job.cables[here.name]
    if cable.device is None:
        return None
    place = device_end(cable)
    before = guards_upstream(job, source_end(job, cable, Mode.GRID), Mode.GRID)
    return _breaks(study, cable.device, largest_at(study, place, _lines(cable)), place, before)


@rule(
    "short-circuit.main-fuse",
    over="house",
    modes=[Mode.GRID],
    title="The main fuse must break the largest short circuit at the origin",
    clauses=BREAKS,
)
def main_fuse(study: Study, _here: Here) -> Verdict:
    """I_k ≤ I_cn

    Everything behind it relies on the main fuse where its own device cannot break the fault.
    """
    i_k = largest_at(study, "supply", len(study.job.phases))
    return _breaks(study, study.job.supply.main_fuse, i_k, "supply", ())


@rule(
    "short-circuit.rcd",
    over="boards",
    modes=[Mode.GRID],
    title="Each RCD of a board must stand the largest short circuit there",
    clauses=["IEC 60364-5-53, 535 (from memory)", "BS 7671:2018, 536.4.2 (from memory)"],
)
def rcd_stands(study: Study, here: Here) -> Verdict | None:
    """I_k ≤ I_nc, of the weakest RCD

    An RCD does not break a short circuit, yet it carries it until another device does.
    """
    rcds = study.job.boards[here.name].rcds
    if not rcds:
        return None
    i_k = largest_at(study, here.name, len(study.job.phases))
    i_nc, name = min((float(rcd.short_circuit_a), name) for name, rcd in rcds.items())
    kilo = math.ceil((i_k.amps + i_k.spread) / 100) / 10
    return at_most(
        i_k.amps,
        i_nc,
        "A",
        spread=i_k.spread,
        because=lambda: [*i_k.told, f"I_nc = {i_nc:.0f} A ({name})"],
        remedies=[lambda: f"Fit an RCD in place of {name} that stands {kilo:g} kA."],
        confirmed="memory",
    )


def _lines(cable: Cable) -> int:
    return sum(core.startswith("L") for core in cable.cores)


def _breaks(
    study: Study, device: Device, i_k: Prospective, place: str, before: tuple[Guard, ...]
) -> Verdict:
    i_cn, told = float(device.breaking_capacity_a), list[str]()
    if i_k.amps + i_k.spread > i_cn:
        i_cn, told = _backed_up(study, device, place, before, i_cn)
    return at_most(
        i_k.amps,
        i_cn,
        "A",
        spread=i_k.spread,
        because=lambda: [*i_k.told, *told, f"I_cn = {i_cn:.0f} A"],
        remedies=[partial(_stronger, device, i_k, place), partial(_ask_backing, device, before)],
        means="A short circuit may burst the device." if i_k.amps > i_cn else "",
        confirmed="memory",
    )


def _backed_up(
    study: Study, device: Device, place: str, before: tuple[Guard, ...], i_cn: float
) -> tuple[float, list[str]]:
    """What a device breaks with the fuse before it, where a maker states that [A]."""
    board = study.job.boards.get(place)
    stated: Backing | None = device.backed_up or (board.backed_up if board else None)
    if stated is None:
        return i_cn, []
    for guard in before:
        fuse = guard.device
        if fuse is not None and fuse.curve == "gG" and fuse.i_n_a <= stated.fuse_a:
            told = f"with {guard.name}, by its maker ({stated.stated_in or 'no place named'})"
            return max(i_cn, float(stated.breaks_a)), [told]
    return i_cn, [f"no gG fuse of {stated.fuse_a:g} A or less stands before it"]


def _stronger(device: Device, i_k: Prospective, place: str) -> str | None:
    needed = i_k.amps + i_k.spread
    fits = [icn for icn in breaking_capacities_a() if icn >= needed]
    if place == "supply":
        return f"Ask the operator for a main fuse that breaks {needed / 1000:.1f} kA."
    if not fits or device.curve == "gG":
        return None
    return f"Fit a {device.name} of {fits[0] / 1000:g} kA breaking capacity in its place."


def _ask_backing(device: Device, before: tuple[Guard, ...]) -> str | None:
    fuses = [guard.name for guard in before if guard.device and guard.device.curve == "gG"]
    return f"Ask the maker whether {fuses[0]} backs up this {device.name}." if fuses else None


# --- withstand ----------------------------------------------------------------------------


@rule(
    "short-circuit.circuit-near",
    over="circuits",
    modes=[Mode.GRID],
    title="The cable of a circuit must stand what its device lets through right behind it",
    clauses=STANDS,
)
def circuit_near(study: Study, here: Here) -> Verdict:
    """I²t ≤ k² · S²

    I²t by the energy class at the largest current, by the gates of time, or by the maker.
    """
    circuit = study.job.circuits[here.name]
    i_k = largest_at(study, circuit.board, len(study.job.lines_of(circuit)))
    before = guards_upstream(study.job, circuit.board, Mode.GRID)
    return _near(circuit, circuit.device, i_k, before)


@rule(
    "short-circuit.cable-near",
    over="cables",
    modes=[Mode.GRID],
    title="A distribution cable must stand what the device before it lets through",
    clauses=STANDS,
)
def cable_near(study: Study, here: Here) -> Verdict:
    """I²t ≤ k² · S²

    The device is the cable's own if it sits where the grid comes in, else the one before it.
    """
    job, cable = study.job, study.job.cables[here.name]
    device = clearing_device(job, here.name)
    begins = source_end(job, cable, Mode.GRID)
    i_k = largest_at(study, begins, _lines(cable))
    return _near(cable, device, i_k, guards_upstream(job, begins, Mode.GRID))


@rule(
    "short-circuit.circuit-far",
    over="circuits",
    modes=[Mode.GRID],
    title="The cable of a circuit must stand a short circuit at its far end until it is cleared",
    clauses=STANDS,
)
def circuit_far(study: Study, here: Here) -> Verdict:
    """I² · t ≤ k² · S², or I_n ≤ I_z where the device needs more than 5 s

    I is the least current at the far end. A device that protects the cable against overload
    and breaks the largest current also ends a slow short circuit (435.1).
    """
    job, circuit = study.job, study.job.circuits[here.name]
    return _far(study, here, circuit, circuit.device, loaded_in(job, circuit))


@rule(
    "short-circuit.cable-far",
    over="cables",
    modes=[Mode.GRID],
    title="A distribution cable must stand a short circuit at its far end until it is cleared",
    clauses=STANDS,
)
def cable_far(study: Study, here: Here) -> Verdict:
    """I² · t ≤ k² · S², or I_n ≤ I_z where the device needs more than 5 s

    At the far end the current is smallest and the device slowest: there the energy may be larger
    than right behind the device.
    """
    cable = study.job.cables[here.name]
    device = clearing_device(study.job, here.name)
    return _far(study, here, cable, device, loaded_of(study.job, cable))


@rule(
    "short-circuit.island-circuit",
    over="circuits",
    modes=[Mode.ISLAND],
    title="The cable of a circuit must stand what the inverter drives into a short circuit",
    clauses=LIMITED,
)
def island_circuit(study: Study, here: Here) -> Verdict:
    """I ≤ I_z, or I² · t ≤ k² · S² for the time that the inverter gives

    Whether a device opens is left aside: the source itself limits the current.
    """
    circuit = study.job.circuits[here.name]
    return _limited(study, circuit, loaded_in(study.job, circuit))


@rule(
    "short-circuit.island-cable",
    over="cables",
    modes=[Mode.ISLAND],
    title="A distribution cable must stand what the inverter drives into a short circuit",
    clauses=LIMITED,
)
def island_cable(study: Study, here: Here) -> Verdict:
    """I ≤ I_z, or I² · t ≤ k² · S² for the time that the inverter gives

    The inverter limits its current; where no device opens for it, the cable carries it as long
    as the inverter gives it.
    """
    cable = study.job.cables[here.name]
    return _limited(study, cable, loaded_of(study.job, cable))


def _near(laying: Laying, device: Device, i_k: Prospective, before: tuple[Guard, ...]) -> Verdict:
    """What the device lets through; a fuse before it lets no more than its own through."""
    fuses = [g.device for g in before if g.device is not None and g.device.curve == "gG"]
    return _held(laying, [device, *fuses], i_k.amps, i_k.spread, lambda: i_k.told[-1])


def _far(study: Study, here: Here, laying: Laying, device: Device, loaded: int) -> Verdict:
    study.clean(here)
    amps = least_grid_a(study).get((here.part, "far"))
    if amps is None:
        return Verdict(
            status=Status.UNDECIDED,
            because=["no conductors to short are known there"],
            questions=[Question(field=laying.path, ask="Which conductors has it?")],
        )
    spread = spread_of(study.profile, "loop_reading", amps)

    def told() -> str:
        return f"I_k,min = {amps:.0f} A at the far end, hot"

    if overcurrent_time_s(device, amps - spread)[1] <= LONGEST_S:
        return _held(laying, [device], amps, spread, told)
    i_z, lines = capacity(laying, loaded)
    return at_most(
        float(device.i_n_a),
        float(i_z),
        "A",
        spread=i_z.spread or 0.0,
        because=lambda: [told(), f"{device.name} may need more than {LONGEST_S:g} s", *lines],
        remedies=[partial(_larger, laying, math.inf), _quicker],
        confirmed=weakest(i_z.confirmed, "memory"),
    )


def _held(
    laying: Laying, devices: list[Device], amps: float, spread: float, told: Callable[[], str]
) -> Verdict:
    """Energy that a device, or one before it, lets through against what the conductor stands."""
    bears, device = stands(laying), devices[0]
    bounds = [found[0] for each in devices if (found := let_through(each, amps, spread / amps))]
    none = Energy(math.inf, 0.0, f"{device.name}: no time is promised")
    least = min(bounds, key=lambda each: each.a2s + each.spread, default=none)

    def because() -> list[str]:
        return [told(), least.told, bears.told]

    if least.a2s > bears.a2s and device.let_through_a2s is None:
        return _bound_is_not_enough(device, because())
    return at_most(
        least.a2s,
        bears.a2s,
        "A2s",
        spread=least.spread,
        because=because,
        remedies=[partial(_larger, laying, least.a2s + least.spread), _quicker],
        means="A short circuit overheats this cable." if least.a2s > bears.a2s else "",
        confirmed=weakest(bears.confirmed, "memory"),
    )


def _bound_is_not_enough(device: Device, because: list[str]) -> Verdict:
    """What the standards promise of the device is more than the cable stands: ask its maker."""
    asked = [device.question("let_through_a2s")]
    if not device.has("energy_class") and device.curve in ("B", "C"):
        asked = [device.question("energy_class"), *asked]
    return Verdict(status=Status.UNDECIDED, because=because, questions=asked)


def _limited(study: Study, laying: Laying, loaded: int) -> Verdict:
    """The inverter's limit: borne for good, or for as long as it lasts."""
    amps, parts = source_fault_a(study.job)
    spread = spread_of(study.profile, "maker", amps)
    i_z, lines = capacity(laying, loaded)

    def told() -> list[str]:
        return [*parts, f"I = {amps:.1f} A", *lines]

    sheet = study.job.inverter
    borne = amps + spread <= i_z - (i_z.spread or 0.0)
    if borne or sheet.on_a_fault == "restarts":
        return at_most(
            amps, float(i_z), "A", spread=spread + (i_z.spread or 0.0),
            because=told, confirmed=weakest(i_z.confirmed, "memory"),
            remedies=[partial(_larger, laying, math.inf), _set_to_stay_off],
        )  # fmt: skip
    lasts, bears = float(sheet.fault_current.for_s), stands(laying)
    a2s = amps * amps * lasts
    return at_most(
        a2s,
        bears.a2s,
        "A2s",
        spread=2 * spread / amps * a2s,
        because=lambda: [*told(), f"I² · t = ({amps:.1f} A)² · {lasts:g} s = {a2s:.0f} A²s",
                 bears.told],
        remedies=[partial(_larger, laying, a2s * (1 + 2 * spread / amps))],
        confirmed=weakest(bears.confirmed, "memory"),
    )  # fmt: skip


def _set_to_stay_off() -> str:
    return "Set the inverter to stay off after a fault, if its maker allows it."


def _quicker() -> str:
    return "Fit a device that opens quicker at this current."


def _larger(laying: Laying, a2s: float) -> str | None:
    """Least cross-section above its own that stands an energy, or that carries more."""
    if isinstance(laying, Circuit) and laying.ring is not None:
        return None
    for size in sizes(laying.material):
        if size > laying.size_mm2:
            bears = stands_of(laying.material, laying.insulation, size).a2s
            if math.isinf(a2s):
                return f"Lay {size:g} mm² or more, and check it again."
            if bears >= a2s:
                return f"Lay {size:g} mm²: it stands {bears:.0f} A²s."
    return None
