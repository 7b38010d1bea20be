"""Chapter: voltage drop, from the source of the mode to the load."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_most
from islewright.job.gap import Gap, Unknown
from islewright.job.model import Circuit
from islewright.network.state import Mode
from islewright.network.way import cables_to
from islewright.rules.demand import design_current_a, lines_fed
from islewright.rules.drop import drop_limit_percent, drop_spread_share, drop_v, own_drop_v
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

PUBLIC_LIMIT = "the limit of a public supply is used, stricter than that of a private one"


@rule(
    "voltage.drop",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="The voltage at the far end must not fall too far below that of the source",
    clauses=[
        "IEC 60364-5-52:2009, 525, Table G.52.1 (informative)",
        "BS 7671:2018, 525, Appendix 4, Table 4Ab (informative)",
    ],
)
def drop(study: Study, here: Here) -> Verdict | None:
    """(U_source − U_far) / U_0 ≤ limit

    The circuit carries I_b, every other one its demand factor times I_b; conductors are
    hot. From the origin in grid mode, from the inverter's terminals in island mode; the
    limit of a public supply is used for both, the stricter one. Of lines that the island
    leaves dead `source.line-alive` speaks.
    """
    study.clean(here)
    circuit = study.job.circuits[here.name]
    fed = lines_fed(study.job, circuit, here.mode)
    if fed != study.job.lines_of(circuit) and not _has_neutral(circuit):
        return None
    nominal_v = float(study.job.supply.nominal_voltage_v)
    try:
        i_b, told = design_current_a(study.job, circuit)
    except Unknown as gap:
        return _at_rated(study, here, gap)
    volts, nominal = drop_v(study, here, i_b)
    percent = volts / nominal * 100
    limit = drop_limit_percent(study, circuit.use)
    others = list(_others_told(study, here.mode))
    share = drop_spread_share(study)
    swinging = volts > nominal / 2
    if swinging:
        others.append("the source gives no voltage between its conductors: its lines swing alike")
    times = "" if nominal == nominal_v else f"{nominal / nominal_v:.3g} · "
    return at_most(
        percent,
        limit,
        "%",
        spread=abs(percent) * share,
        because=lambda: [
            told,
            *others,
            f"U_source − U_far = {volts:.2f} V",
            f"{volts:.2f} V / ({times}{nominal_v:g} V) = {percent:.2f} %",
            *([PUBLIC_LIMIT] if here.mode is Mode.ISLAND else []),
        ],
        remedies=[
            lambda: (
                _larger(study, here, i_b, percent, limit / (1 + share))
                if not swinging
                else "Move it to lines between which this source gives a voltage."
            )
        ],
        means=_meaning(too_low=percent > limit, swinging=swinging),
        confirmed="two pages",
    )


def _meaning(*, too_low: bool, swinging: bool) -> str:
    if swinging:
        return "What needs a voltage between these lines does not work, and a motor burns."
    return "Nothing dangerous; lamps and motors may complain." if too_low else ""


@once_a_study
def _others_told(study: Study, mode: Mode) -> list[str]:
    """Circuits that the mode feeds and whose load is not known, and what is taken for it."""
    return [
        f"load of {name} not known: taken at its device's rated current, or at nothing"
        for name in study.unknown_loads
        if cables_to(study.job, study.job.circuits[name].board, mode) is not None
    ]


def _has_neutral(circuit: Circuit) -> bool:
    """Whether its loads lie between line and neutral; cores left out are those it needs."""
    return circuit.gap("cores") is Gap.LEFT_OUT or "N" in circuit.cores


def _at_rated(study: Study, here: Here, gap: Unknown) -> Verdict:
    """Undecided; what the drop would be at the device's rated current is shown."""
    i_n = float(study.job.circuits[here.name].device.i_n_a)
    volts, nominal = drop_v(study, here, i_n)
    told = f"load not known; at I_n = {i_n:g} A the drop would be {volts / nominal * 100:.2f} %"
    return Verdict(status=Status.UNDECIDED, questions=gap.questions, because=[told])


def _larger(study: Study, here: Here, i_b: float, percent: float, limit: float) -> str | None:
    """Cross-section at which the circuit's own share would shrink enough, others unchanged."""
    from islewright.tables.conductor import resistance_ohm_per_km, sizes

    circuit = study.job.circuits[here.name]
    own = own_drop_v(study, here, i_b) / drop_v(study, here, i_b)[1] * 100
    now = resistance_ohm_per_km(circuit.material, circuit.size_mm2, theta_c=20)
    for size in sizes(circuit.material):
        if size > circuit.size_mm2:
            share = resistance_ohm_per_km(circuit.material, size, theta_c=20) / now
            if percent - own + own * share <= limit:
                return f"Lay {size:g} mm²: about {percent - own + own * share:.1f} %."
    return None
