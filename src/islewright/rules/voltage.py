"""Chapter: voltage drop, from the source of the mode to the load."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.network.state import Mode
from islewright.rules.demand import design_current_a
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study


@rule(
    "voltage.drop",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="The voltage at the far end must not fall too far below that of the source",
    clauses=["IEC 60364-5-52:2009, 525, Table G.52.1 (informative)"],
)
def drop(study: Study, here: Here) -> Verdict:
    """(U_source − U_far) / U_0 ≤ limit

    The circuit carries I_b, every other one its demand factor times I_b; conductors are
    hot. From the origin in grid mode, from the inverter's terminals in island mode.
    """
    study.clean(here)
    circuit = study.job.circuits[here.name]
    try:
        i_b, told = design_current_a(study.job, circuit)
        bound: Unknown | None = None
    except Unknown as gap:
        i_b, bound = float(circuit.device.i_n_a), gap
        told = f"load not known; at I_n = {i_b:g} A"
    percent, volts = study.drop(here, i_b)
    use = "drop_lighting" if circuit.use == "lights" else "drop_other"
    limit = float(study.profile.number(f"volt.{use}"))
    if bound is not None and percent > limit:
        return Verdict(status=Status.UNDECIDED, questions=bound.questions,
                       because=[told, f"drop at that current: {percent:.2f} %"])  # fmt: skip
    share = (
        float(study.profile.number("spread.length")) + float(study.profile.number("spread.load_power"))
    ) / 100
    return at_most(
        percent,
        limit,
        "%",
        spread=percent * share,
        because=[told, f"U_source − U_far = {volts:.2f} V",
                 f"{volts:.2f} V / {study.job.supply.nominal_voltage_v:g} V = {percent:.2f} %"],
        remedies=[lambda: _larger(study, here, percent, limit)],
        means="Nothing dangerous; lamps and motors may complain." if percent > limit else "",
        confirmed="two pages",
    )  # fmt: skip


def _larger(study: Study, here: Here, percent: float, limit: float) -> str | None:
    """Cross-section at which the circuit's own share would shrink enough, others unchanged."""
    from islewright.tables.conductor import resistance_ohm_per_km, sizes

    circuit = study.job.circuits[here.name]
    own = study.own_drop_percent(here)
    now = resistance_ohm_per_km(circuit.material, circuit.size_mm2, theta_c=20)
    for size in sizes(circuit.material):
        if size > circuit.size_mm2:
            share = resistance_ohm_per_km(circuit.material, size, theta_c=20) / now
            if percent - own + own * share <= limit:
                return f"{size:g} mm²: about {percent - own + own * share:.1f} %."
    return None
