"""A device against the loop of an earth fault in TN, by hand and by the network (411.4.4).

No rule stands here; the rules of disconnection ask for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from islewright.findings import Status, Verdict, at_most
from islewright.job.model import Circuit
from islewright.rules.loop import loop_by_hand
from islewright.rules.mend import behind_an_rcd, quicker_breaker, without_voltage
from islewright.rules.opening import in_time, opening_current_a
from islewright.rules.registry import every
from islewright.tables.rows import NotInTable

if TYPE_CHECKING:
    from islewright.network.follow import OneFault
    from islewright.network.sheet import RaceBar
    from islewright.network.way import Guard
    from islewright.rules.registry import Here
    from islewright.rules.study import Study

#: share of a fault's current below which a device surely does not lie in its way
HALF = 0.5


def by_loop(study: Study, here: Here, guard: Guard, allowed: float) -> Verdict:
    """One device against the loop."""
    try:
        i_a = opening_current_a(guard, allowed)
    except NotInTable as slow:
        return Verdict(status=Status.NOT_MET, because=[str(slow)])
    parts, spread, z_s = loop_by_hand(study, here)
    u_0, c_min = (
        float(study.job.supply.nominal_voltage_v),
        float(study.profile.number("loop.c_min")),
    )
    row = study.followed(here)
    if row.current_a < HALF * c_min * u_0 / (z_s + spread):
        return _open_loop(row)
    limit = c_min * u_0 / i_a
    by_loop = at_most(
        z_s,
        limit,
        "ohm",
        spread=spread,
        because=lambda: [
            "Z_s = " + " + ".join(f"{ohm:.3f} Ω" for _, ohm in parts) + f" = {z_s:.2f} Ω, hot",
            f"I_a = {i_a:g} A ({guard.name}, within {allowed:g} s)",
            f"c_min · U_0 / I_a = {c_min:g} · {u_0:g} V / {i_a:g} A = {limit:.2f} Ω",
        ],
        remedies=[
            partial(_larger_cores, study, here, parts, limit - spread),
            partial(_other_device, study, here, guard, c_min * u_0 / (z_s + spread), allowed),
            partial(residual_remedy, study, here, c_min * u_0 / (z_s + spread), allowed),
        ],
        confirmed="page",
    )
    return every([by_loop, *_in_the_network(study, guard, row, allowed)])


def _open_loop(row: OneFault) -> Verdict:
    """The sum takes the protective conductor as unbroken; the network knows that it is not."""
    return Verdict(
        status=Status.NOT_MET,
        because=[f"an earth fault lets no more than {row.current_a:.3g} A flow"],
        means="The protective conductor does not reach the main earthing terminal.",
        remedies=[
            lambda: (
                f"Follow the protective conductor from {row.place} to the main earthing "
                "terminal, and lay it where a cable has none."
            )
        ],
        confirmed="page",
    )


def _in_the_network(study: Study, guard: Guard, row: OneFault, allowed: float) -> Iterator[Verdict]:
    """What the sum of the loop cannot tell: an RCD that is blind, or finds too little voltage."""
    needs = guard.residual is not None and guard.residual.needs_voltage_v is not None
    bar = row.bar(guard)
    if needs or not bar.latest_s <= allowed:
        opens = in_time(study, guard, bar, row)
        if needs or opens.status is Status.NOT_MET:
            yield opens.but(remedies=[lambda: _heal(guard, bar, row)])


def _heal(guard: Guard, bar: RaceBar, row: OneFault) -> str | None:
    """What to do where the network says that a device does not open; else the loop's remedies."""
    if guard.residual is None:
        return None
    if bar.current_a >= HALF * row.current_a:
        return without_voltage(guard.name)
    return f"Move the neutral home, or the bond: {guard.name} sees {bar.current_a:.2f} A of it."


def _larger_cores(
    study: Study, here: Here, parts: list[tuple[str, float]], limit: float
) -> str | None:
    """Least cross-section of all conductors with which this rule alone would be met."""
    from islewright.network.impedance import core_impedance
    from islewright.tables.conductor import sizes

    laying = (study.job.circuits if here.kind == "circuit" else study.job.cables)[here.name]
    if isinstance(laying, Circuit) and laying.ring is not None:
        return None
    before = sum(ohm for _, ohm in parts[:-1])
    for size in sizes(laying.material):
        if size > laying.size_mm2:
            core = core_impedance(laying.material, laying.insulation, size, laying.length_m).hot
            if before + 2 * abs(core) <= limit:
                z_s = before + 2 * abs(core)
                return f"Lay {size:g} mm² in all conductors: Z_s = {z_s:.2f} Ω."
    return None


def _other_device(
    study: Study, here: Here, guard: Guard, surely_a: float, allowed: float
) -> str | None:
    if here.kind != "circuit" or guard.device is None:
        return None  # what a cable's device must carry is not this rule's
    return quicker_breaker(study, here, guard.device, surely_a, allowed)


def residual_remedy(study: Study, here: Here, surely_a: float, allowed: float) -> str:
    """Order to fit an RCD that opens at a current [A] in the allowed time [s]."""
    if here.kind == "circuit":
        return behind_an_rcd(study, here, surely_a, math.inf, allowed)
    return f"Fit an RCD where the cable {here.name} begins (411.4.5, 411.5.3)."
