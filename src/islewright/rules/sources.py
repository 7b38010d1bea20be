"""Chapter: the sum of all sources that feed one board, cable or circuit."""

from __future__ import annotations

from functools import partial

from islewright.findings import Status, Verdict, at_most
from islewright.job.model import Job
from islewright.network.places import canonical
from islewright.network.state import Mode
from islewright.network.way import Guard, guards_of_circuit
from islewright.rules.busbar_forms import FORMS
from islewright.rules.capacity import (
    CAPACITY,
    CAPACITY_BS,
    capacity,
    larger_cable,
    loaded_conductors,
    loaded_in,
    weakest,
)
from islewright.rules.demand import spread_of
from islewright.rules.forms import form_of
from islewright.rules.inflow import (
    sources_along,
    sum_told,
    worst_in,
)
from islewright.rules.registry import Here, attempt, every, rule
from islewright.rules.study import Study

PARALLEL = "IEC 60364-5-55:2011, 551.7.2 (from memory)"
PARALLEL_BS = "BS 7671:2018+A2:2022, 551.7.2"


@rule(
    "sources.busbar",
    over="boards",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A board must carry what all its sources together can feed into it",
    clauses=[PARALLEL, PARALLEL_BS],
)
def busbar(study: Study, here: Here) -> Verdict:
    """I_n + k_source · Σ I_g ≤ k_busbar · I_nA

    I_n of the device upstream, I_g of each source of the house that feeds this board in this
    mode, I_nA of the board. Sources behind a device count with no more than its rating.
    """
    return form_of(study.profile, "sources.busbar_rule", FORMS)(study, here)


def ends_of(job: Job, cable: str) -> tuple[str, str]:
    """Both places of a cable."""
    return canonical(job.cables[cable].from_), canonical(job.cables[cable].to)


@rule(
    "sources.cable",
    over="cables",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A cable that several sources feed must carry what they can drive through it together",
    clauses=[PARALLEL, "IEC 60364-4-43:2008, 433.1 (from memory)", PARALLEL_BS, CAPACITY,
             CAPACITY_BS],
)  # fmt: skip
def cable(study: Study, here: Here) -> Verdict | None:
    """Σ min(I_n, Σ I_g) ≤ I_z, in the direction and on the line with most

    One source alone is judged by the chapter of overload.
    """
    ends = ends_of(study.job, here.name)
    if len(sources_along(study, here.name, ends, here.mode)) < 2:
        return None
    laid = study.job.cables[here.name]
    line, flow = worst_in(study, here.name, ends, here.mode)
    loaded = loaded_conductors(
        study.job, tuple(c for c in laid.cores if c.startswith("L")), laid.cores
    )
    i_z, told = capacity(laid, loaded)
    spread = spread_of(study.profile, "maker", flow.made) + (i_z.spread or 0.0)
    return at_most(
        flow.amps,
        float(i_z),
        "A",
        spread=spread,
        because=[*sum_told(flow), f"on {line}", *told],
        remedies=[lambda: larger_cable(laid, loaded, flow.amps + spread)],
        confirmed=weakest("memory", i_z.confirmed),
    )


@rule(
    "sources.final-circuit",
    over="circuits, dead lines too",
    modes=[Mode.GRID],
    title="A final circuit into which a source feeds must carry device and source together",
    clauses=[PARALLEL, PARALLEL_BS, CAPACITY, CAPACITY_BS],
)
def final_circuit(study: Study, here: Here) -> Verdict | None:
    """I_n + k_source · I_g ≤ I_z

    Two sources feed such a cable, one at each end, and no device sees the sum.
    """
    circuit = study.job.circuits[here.name]
    if circuit.source_a is None:
        return None
    factor = float(study.profile.number("sources.source_factor"))
    i_n, i_g = float(circuit.device.i_n_a), float(circuit.source_a)
    loaded = loaded_in(study.job, circuit)
    i_z, told = capacity(circuit, loaded)
    amps, times = i_n + factor * i_g, "" if factor == 1 else f"{factor:g} · "
    spread = spread_of(study.profile, "maker", i_g) + (i_z.spread or 0.0)
    return at_most(
        amps,
        float(i_z),
        "A",
        spread=spread,
        because=lambda: [f"I_n + I_g = {i_n:g} A + {times}{i_g:g} A = {amps:.1f} A", *told],
        remedies=[
            lambda: larger_cable(circuit, loaded, amps + spread),
            lambda: "Give the source a circuit of its own, straight from the board.",
        ],
        confirmed=weakest("memory", i_z.confirmed),
    )


@rule(
    "sources.final-circuit-neutral",
    over="circuits, dead lines too",
    modes=[Mode.GRID],
    title="An RCD of a final circuit into which a source feeds must open the neutral too",
    clauses=[PARALLEL, f"{PARALLEL_BS} (from memory)"],
)
def final_circuit_neutral(study: Study, here: Here) -> Verdict | None:
    """A source in the circuit → its RCBO, and the RCD of its group, open lines and neutral

    Behind an RCD that has opened the lines alone the source still drives a fault's current back
    through the neutral.
    """
    job = study.job
    if job.circuits[here.name].source_a is None:
        return None
    guards = guards_of_circuit(job, here.name, Mode.GRID)
    own = f"RCBO {here.name}", f"RCD {here.board}/"
    rcds = [guard for guard in guards if guard.role == "RCD" and guard.branch.startswith(own)]
    demands = [attempt(partial(_opens_neutral, guard)) for guard in rcds]
    return every(demands) if demands else None


def _opens_neutral(guard: Guard) -> Verdict:
    guard.must_be_known()
    assert guard.residual is not None  # noqa: S101 - a guard of this role that asks nothing has it
    neutral = guard.residual.neutral
    return Verdict(
        status=Status.MET if neutral == "switched" else Status.NOT_MET,
        because=[f"{guard.name}: neutral {neutral}"],
        remedies=[lambda: f"Fit an RCD that opens the neutral too in place of {guard.name}."],
        means="" if neutral == "switched" else "The source feeds the fault past an open RCD.",
        confirmed="memory",
    )
