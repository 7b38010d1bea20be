"""Chapter: what a generator carries, and drives through its inlet and cable."""

from __future__ import annotations

from islewright.findings import Question, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.job.generator import GeneratorInlet
from islewright.job.model import Job
from islewright.network.state import Mode
from islewright.network.way import circuits_of
from islewright.rules.capacity import (
    CAPACITY,
    CAPACITY_BS,
    capacity,
    larger_cable,
    loaded_conductors,
    weakest,
)
from islewright.rules.demand import lines_share, loads_va, spread_of
from islewright.rules.generator import MADE_FOR_IT, boards_fed, inlet_of
from islewright.rules.registry import Here, rule
from islewright.rules.source import PRACTICE
from islewright.rules.study import Study

WITHOUT = "no breaker: the generator's own current counts"


@rule(
    "generator.inlet-current",
    over="house",
    modes=[Mode.ISLAND],
    title="The inlet must carry what the generator can drive through it",
    clauses=["IEC 60364-4-43:2008, 433.1, 436 (from memory)",
             "BS 7671:2018, 433.1, 436 (from memory)"],
)  # fmt: skip
def inlet_current(study: Study, _here: Here) -> Verdict | None:
    """I_n of the breaker ≤ I of the inlet; without a breaker S / (lines · U_0)

    Pins that carry too much burn in their socket.
    """
    inlet = inlet_of(study)
    if inlet is None or inlet.joined_by == "fixed wiring":
        return None
    amps, spread, told = _driven(study, inlet)
    rated = float(inlet.inlet_a)
    return at_most(
        amps,
        rated,
        "A",
        spread=spread,
        because=lambda: [told, f"inlet: {rated:g} A"],
        remedies=[
            lambda: f"Fit an inlet for {amps + spread:.0f} A.",
            lambda: f"Fit a breaker of at most {rated:g} A at the generator.",
        ],
        confirmed="memory",
    )


@rule(
    "generator.cable",
    over="house",
    modes=[Mode.ISLAND],
    title="The cable of the inlet must carry what the generator can drive through it",
    clauses=["IEC 60364-4-43:2008, 433.1, 436 (from memory)", CAPACITY,
             "BS 7671:2018, 433.1, 436 (from memory)", CAPACITY_BS],
)  # fmt: skip
def cable(study: Study, _here: Here) -> Verdict | None:
    """I_n of the breaker ≤ I_z; without a breaker S / (lines · U_0)

    The generator's breaker is the only device before this cable.
    """
    inlet = inlet_of(study)
    if inlet is None:
        return None
    amps, spread, told = _driven(study, inlet)
    laid, loaded = inlet.cable, loaded_conductors(study.job, inlet.lines, (*inlet.lines, "N"))
    i_z, carried = capacity(laid, loaded)
    spread += i_z.spread or 0.0
    return at_most(
        amps,
        float(i_z),
        "A",
        spread=spread,
        because=[told, *carried],
        remedies=[lambda: larger_cable(laid, loaded, amps + spread)],
        confirmed=weakest("memory", i_z.confirmed),
    )


@rule(
    "generator.power",
    over="house",
    modes=[Mode.ISLAND],
    title="A generator must carry the demand of the boards that it feeds",
    clauses=["IEC 60364-5-55:2011, 551.2 (from memory)", "BS 7671:2018, 551.2 (from memory)",
             PRACTICE],
)  # fmt: skip
def power(study: Study, _here: Here) -> Verdict | None:
    """Σ (demand factor · Σ S) ≤ S_generator, and as often as it has lines the busiest line's

    Stated loads, those too that an outage sheds: nobody says that they are shed here. Beyond
    its power a generator stalls, and voltage and frequency sink for all. At an input of the
    inverter that is made for it the battery gives the rest.
    """
    inlet = inlet_of(study)
    if inlet is None or inlet.from_inverter == MADE_FOR_IT:
        return None
    total, lines, told = _demand_va(study.job, inlet)
    line = max(lines, key=lines.__getitem__)
    weight, gives = max(total, len(lines) * lines[line]), float(inlet.power_va)
    spread = spread_of(study.profile, "load_power", weight)
    if weight > total:
        told.append(f"{len(lines)} · {lines[line]:.0f} VA on {line} = {weight:.0f} VA")
    return at_most(
        weight,
        gives,
        "VA",
        spread=spread + spread_of(study.profile, "maker", gives),
        because=lambda: [*told, f"S_generator = {gives:.0f} VA"],
        remedies=[
            lambda: f"Take {weight + spread - gives:.0f} VA off what it feeds, before it starts.",
        ],
        confirmed="memory",
    )


def _demand_va(job: Job, inlet: GeneratorInlet) -> tuple[float, dict[str, float], list[str]]:
    """Demand that a generator feeds: in all, on each line as current times U_0 [VA], its sum.

    Raises
    ------
    Unknown : loads or a demand factor are not stated, with all questions at once
    """
    total, lines, told = 0.0, dict.fromkeys(inlet.lines, 0.0), []
    questions: list[Question] = []
    for board in boards_fed(job, inlet.feeds):
        factor, sum_va = float(job.boards[board].demand_factor), 0.0
        for circuit in circuits_of(job, board).values():
            try:
                va, of = loads_va(circuit), job.lines_of(circuit)
            except Unknown as gap:
                questions += gap.questions
                continue
            fed = [line for line in of if line in lines]
            sum_va += va * len(fed) / len(of)
            for line in fed:
                lines[line] += factor * va / lines_share(job, circuit)
        told.append(f"{board}: {factor:g} · {sum_va:.0f} VA = {factor * sum_va:.0f} VA")
        total += factor * sum_va
    if questions:
        raise Unknown(*questions)
    return total, lines, told


def _driven(study: Study, inlet: GeneratorInlet) -> tuple[float, float, str]:
    """What flows for good through inlet and cable at most [A], its spread, how it is told."""
    if inlet.breaker_a is not None:
        i_n = float(inlet.breaker_a)
        return i_n, 0.0, f"breaker of the generator: I_n = {i_n:g} A"
    va, lines = float(inlet.power_va), len(inlet.lines)
    u_0 = float(study.job.supply.nominal_voltage_v)
    amps = va / (lines * u_0)
    told = f"{WITHOUT}: {va:.0f} VA / ({lines} · {u_0:g} V) = {amps:.1f} A"
    return amps, spread_of(study.profile, "maker", amps), told
