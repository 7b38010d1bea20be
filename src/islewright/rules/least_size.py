"""Chapter: least cross-sections of circuits (IEC 60364-5-52, 524), and no PEN in the house."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_least
from islewright.job.laying import Laying
from islewright.network.state import Mode
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study


@rule(
    "size.circuit",
    over="circuits, fed or not",
    modes=[Mode.GRID],
    title="The conductors of a circuit must have the least size that is strong enough",
    clauses=[
        "IEC 60364-5-52:2009, 524, Table 52.2 (from memory)",
        "BS 7671:2018, 524, Table 52.3 (from memory)",
    ],
)
def circuit_size(study: Study, here: Here) -> Verdict:
    """S ≥ least S for its use and metal

    Whatever little current it carries: a thinner core breaks as it is bent and terminated.
    """
    circuit = study.job.circuits[here.name]
    if circuit.material == "aluminium":
        key = "size.aluminium"
    else:
        key = "size.copper_lighting" if circuit.use == "lights" else "size.copper"
    return _at_least(study, circuit, key, f"{circuit.material}, {circuit.use}")


def _at_least(study: Study, laying: Laying, key: str, what: str) -> Verdict:
    size, least = float(laying.size_mm2), study.profile.number(key)
    return at_least(
        size,
        float(least),
        "mm2",
        spread=0.0,
        because=lambda: [f"S = {size:g} mm²", f"{what}: {least:g} mm² at least"],
        remedies=[lambda: f"Lay {least:g} mm² or more."],
        confirmed=least.confirmed,
    )


@rule(
    "neutral.pen-in-house",
    over="cables, fed or not",
    modes=[Mode.GRID],
    title="A cable of the house must not join neutral and protective conductor where that is "
    "forbidden",
    clauses=["IEC 60364-5-54:2011, 543.4 (allows it; from memory)",
             "BS 7671:2018, 543.4 (from memory)", "ESQCR 2002, regulation 8(4) (from memory)"],
)  # fmt: skip
def pen_in_house(study: Study, here: Here) -> Verdict:
    """PEN forbidden behind the origin → no core of the cable = PEN

    The PEN is the operator's: he earths it along the street, and behind the origin nobody does.
    """
    cores = study.job.cables[here.name].cores
    wrong = study.profile.text("pen.in_house") == "never" and "PEN" in cores
    return Verdict(
        status=Status.NOT_MET if wrong else Status.MET,
        because=[f"cores of {here.name}: {' '.join(cores)}"],
        remedies=[lambda: f"Lay {here.name} with neutral and protective conductor apart."],
        confirmed="memory",
    )
