"""A TT house whose electrode nobody measured: the measured loop stands in for it (411.5.3).

No rule stands here; the rules of disconnection ask for it. The loop holds the electrode, so
that it is never the smaller of the two, as long as no pipes lie beside the electrode.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from islewright.findings import Question, Verdict, at_most
from islewright.job.gap import Unknown
from islewright.network.race import residual_time_s
from islewright.network.way import Guard
from islewright.rules.loop import loop_by_hand
from islewright.rules.registry import Here, attempt, every, first_way

if TYPE_CHECKING:
    from islewright.rules.study import Study


def electrode_asked(study: Study) -> Question | None:
    """The question for an electrode that is there and was not measured; else None."""
    earthing = study.job.earthing
    if earthing.gap("electrode") is not None or earthing.electrode is None:
        return None
    electrode = earthing.electrode
    return electrode.question("resistance_ohm") if electrode.gap("resistance_ohm") else None


def by_measured_loop(
    study: Study, here: Here, guards: Sequence[Guard], u_l: float, allowed: float
) -> Verdict:
    """Z_s · I_Δn ≤ U_L and the RCD's time at c_min · U_0 / Z_s, one RCD being enough.

    Raises
    ------
    Unknown : pipes lie beside the electrode or may do, no RCD is there, or no loop is stated
    """
    asked = electrode_asked(study)
    earthing = study.job.earthing
    rcds = [guard for guard in guards if guard.role == "RCD"]
    if asked and (earthing.gap("parallel_earths") or earthing.parallel_earths or not rcds):
        raise Unknown(asked)
    _, spread, z_s = loop_by_hand(study, here)
    return first_way(attempt(partial(_one, study, g, z_s, spread, u_l, allowed)) for g in rcds)


def _one(
    study: Study, guard: Guard, z_s: float, spread: float, u_l: float, allowed: float
) -> Verdict:
    guard.must_be_known()
    residual = guard.residual
    assert residual is not None  # noqa: S101 - the caller takes RCDs alone
    asked = electrode_asked(study)
    if asked and residual.needs_voltage_v is not None:
        raise Unknown(asked)  # what the fault leaves it hangs on the electrode
    i_dn = float(residual.trips_at_a)
    c_min = float(study.profile.number("loop.c_min"))
    amps = c_min * float(study.job.supply.nominal_voltage_v) / (z_s + spread)
    latest = residual_time_s(residual, amps)[1]
    lower = "Measure the electrode, and bring it down until R_A · I_Δn is below that."
    touch = at_most(
        z_s * i_dn, u_l, "V", spread=spread * i_dn, confirmed="two pages",
        because=["R_A is not known; the measured loop stands in for it",
                 f"Z_s = {z_s:.2f} Ω, hot, with the electrode in it",
                 (f"Z_s · I_Δn = {z_s:.2f} Ω · {i_dn * 1000:g} mA = {z_s * i_dn:.2f} V"
                 f" ({guard.name}), U_L = {u_l:g} V")],
        remedies=[lambda: lower],
    )  # fmt: skip
    in_time = at_most(
        latest, allowed, "s", spread=0.0, confirmed="page",
        because=[f"{guard.name} at {amps:.3g} A: within {latest:g} s; t_allowed = {allowed:g} s"],
        remedies=[lambda: lower],
    )  # fmt: skip
    return every([touch, in_time])
