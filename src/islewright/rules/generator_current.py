"""Chapter: what a generator drives through its inlet and cable."""

from __future__ import annotations

from islewright.findings import Verdict, at_most
from islewright.job.generator import GeneratorInlet
from islewright.network.state import Mode
from islewright.rules.capacity import (
    CAPACITY,
    CAPACITY_BS,
    capacity,
    larger_cable,
    loaded_conductors,
    weakest,
)
from islewright.rules.demand import spread_of
from islewright.rules.generator import inlet_of
from islewright.rules.registry import Here, rule
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
        because=[told, f"inlet: {rated:g} A"],
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
