"""Chapter: residual current devices, and where they must see a fault."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_least, at_most
from islewright.network.state import Mode
from islewright.network.way import guards_of_circuit
from islewright.rules.disconnection import ADS
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

#: uses for which the IEC base asks for additional protection
ADDITIONAL = ("sockets", "outdoor", "lights", "bathroom", "charger")


@rule(
    "residual.additional-protection",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="Sockets, lights, outdoor, bathroom and charger circuits must have a 30 mA RCD",
    clauses=[f"{ADS}, 411.3.3, 411.3.4, 415.1 (411.3.4 from memory)",
             "IEC 60364-7-701, 7-722 (from memory)"],  # fmt: skip
)
def additional_protection(study: Study, here: Here) -> Verdict | None:
    """I_Δn ≤ 30 mA"""
    circuit = study.job.circuits[here.name]
    if circuit.use not in ADDITIONAL:
        return None
    reach = float(study.profile.number("rcd.additional_sockets_to"))
    if circuit.use in ("sockets", "outdoor") and circuit.device.i_n_a > reach:
        return None
    limit = float(study.profile.number("rcd.additional_rating"))
    ratings = [
        (float(g.residual.trips_at_a), g.name)
        for g in guards_of_circuit(study.job, here.name, here.mode)
        if g.residual is not None
    ]
    if not ratings:
        return Verdict(
            status=Status.NOT_MET,
            because=["no RCD stands in the way in this mode"],
            remedies=[lambda: "An RCBO of 30 mA, or a group with a 30 mA RCD."],
            confirmed="page",
        )
    i_dn, name = min(ratings)
    return at_most(
        i_dn, limit, "A", spread=0.0, because=[f"I_Δn = {i_dn * 1000:g} mA ({name})"],
        remedies=[lambda: "An RCBO of 30 mA, or a group with a 30 mA RCD."], confirmed="page",
    )  # fmt: skip


@rule(
    "residual.sees-the-fault",
    over="circuits",
    modes=[Mode.GRID, Mode.ISLAND],
    title="Every RCD in the way of an earth fault must see the whole fault current",
    clauses=["IEC 60364-5-53, 531.3 (from memory)", "IEC 60364-5-55, 551.4.3 (from memory)"],
)
def sees_the_fault(study: Study, here: Here) -> Verdict | None:
    """I_residual / I_fault ≥ 0.9, at every RCD

    With the bond on the load side of an RCD, or the neutral on another bar, the current
    comes back through the RCD and cancels: it looks protected and is not.
    """
    row = study.story(here)
    rcds = [bar for bar in row.bars if bar.role == "RCD" and bar.known]
    if not rcds or row.current_a < 1e-3:
        return None
    worst = min(rcds, key=lambda bar: bar.current_a)
    share = worst.current_a / row.current_a
    return at_least(
        share,
        0.9,
        "-",
        spread=0.0,
        because=[
            f"I_fault = {row.current_a:.2f} A",
            f"{worst.name} sees {worst.current_a:.2f} A",
            f"I_residual / I_fault = {share:.2f}",
        ],
        remedies=[lambda: "Move the bond to the source side, or the neutral to its own bar."],
        means="This RCD is blind to the fault." if share < 0.9 else "",
        confirmed="memory",
    )
