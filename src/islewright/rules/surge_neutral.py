"""Chapter: surge arresters where the neutral is lost or floats."""

from __future__ import annotations

import math

from islewright.findings import Verdict, at_least
from islewright.job.arrester import SurgeArrester
from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.network.state import Mode
from islewright.rules.entering import tightest
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study
from islewright.rules.surge import BETWEEN_LINES, arrester_at


@rule(
    "surge.lost-neutral",
    over="boards, fed or not",
    modes=[Mode.GRID],
    title="A surge arrester must stand the voltage of a lost neutral, or fail safely",
    clauses=[
        "IEC 60364-4-44, 442.3 (from memory)",
        "IEC 61643-11, Annex B (from memory)",
        "BS 7671:2018, 442.3 (from memory)",
        "BS EN 61643-11, Annex B (from memory)",
    ],
)
def lost_neutral(study: Study, here: Here) -> Verdict | None:
    """U_T ≥ √3 · U_0, for at least 120 min; 2 · U_0 with split phase

    Where the neutral of several phases opens, a lightly loaded line rises towards the
    voltage between lines. A house on one phase goes dark instead.
    """
    arrester = arrester_at(study, here.board)
    form = study.job.supply.form
    if arrester is None or form not in BETWEEN_LINES:
        return None
    lasts = study.profile.number("surge.lost_neutral_time")
    u_0 = float(study.job.supply.nominal_voltage_v)
    return _stands(
        arrester,
        BETWEEN_LINES[form] * u_0,
        float(lasts),
        f"neutral lost: {BETWEEN_LINES[form]:.3g} · U_0 = {BETWEEN_LINES[form] * u_0:.0f} V",
        lasts.confirmed,
    )


def _stands(
    arrester: SurgeArrester, limit_v: float, lasts_s: float, told: str, confirmed: str
) -> Verdict:
    """Hold the largest voltage that it is tested with for so long against what can come.

    Raises
    ------
    Unknown : the sheet states none for so long
    """
    fit = [one for one in arrester.overvoltages.values() if one.for_s >= lasts_s]
    if not fit:
        raise Unknown(arrester.question("overvoltages"))
    best = max(fit, key=lambda one: one.voltage_v)
    return at_least(
        float(best.voltage_v),
        limit_v,
        "V",
        spread=0.0,  # a test voltage, against a nominal one
        because=[
            told,
            f"U_T = {best.voltage_v:g} V for {best.for_s:g} s ({best.then})",
            f"for at least {lasts_s:g} s",
        ],
        remedies=[
            lambda: (
                f"Fit an arrester that stands {math.ceil(limit_v)} V for {lasts_s:g} s, or "
                "fails safely."
            )
        ],
        confirmed=confirmed,
    )


@rule(
    "surge.floating-neutral",
    over="boards",
    modes=[Mode.ISLAND],
    title="A surge arrester must bear the floating neutral while the bond is open",
    clauses=[
        "IEC 60364-4-44, 442.3 (from memory)",
        "BS 7671:2018, 442.3 (from memory)",
        "worked out: a neutral that floats can stand U_0 above earth",
    ],
)
def floating_neutral(study: Study, here: Here) -> Verdict | None:
    """U_c ≥ U_0 from neutral to PE; lines to PE: U_T ≥ √3 · U_0 as long as the bond is open

    Between the opening of the poles and the closing of the bond, and on return, nothing
    holds the neutral: one line on earth lifts it by U_0, and the others with it.
    """
    arrester = arrester_at(study, here.board)
    if arrester is None:
        return None
    gap_s = _without_bond_s(study.job)
    if gap_s == 0:
        return None
    u_0 = float(study.job.supply.nominal_voltage_v)
    u_c = arrester.neutral_u_c_v
    floats = f"bond open for up to {gap_s * 1000:g} ms" if gap_s < math.inf else "no bond at all"
    told = f"neutral to PE: U_c = {u_c:g} V; U_0 = {u_0:g} V"
    demands = [_bears(float(u_c), u_0, [floats, told])]
    times = BETWEEN_LINES.get(study.job.supply.form)
    if times is not None and arrester.connection == "lines to PE":
        demands.append(_lines_bear(arrester, times * u_0, gap_s))
    return tightest(demands)


def _bears(u_c: float, limit_v: float, because: list[str]) -> Verdict:
    """A continuous voltage of an arrester against one that may stay."""
    return at_least(
        u_c,
        limit_v,
        "V",
        spread=0.0,  # a rating, against a nominal voltage
        because=because,
        remedies=[lambda: f"Fit an arrester with U_c of {math.ceil(limit_v)} V or more to PE."],
        confirmed="memory",
    )


def _lines_bear(arrester: SurgeArrester, limit_v: float, gap_s: float) -> Verdict:
    """Lines to PE: for the time without bond, or for good where there is none."""
    told = f"line to PE: {limit_v:.0f} V"
    if gap_s < math.inf:
        return _stands(arrester, limit_v, gap_s, told, "memory")
    u_c = arrester.line_u_c_v
    return _bears(float(u_c), limit_v, [f"{told} for good; U_c = {u_c:g} V"])


def _without_bond_s(job: Job) -> float:
    """How long the neutral of a live island may be without a bond [s]; 0 where it never is.

    Infinite where the poles open it and the house has no bond.
    """
    if "N" not in job.switch.switched_poles:
        return 0.0
    gaps = []
    for bond in (job.switch.bond, job.inverter.bond):
        if bond is None or bond.at == "grid":
            continue  # it joins nothing of the island
        if bond.closed == "always":
            return 0.0
        gaps.append(max(float(bond.sequence.bond_closes_after_s), float(bond.sequence.gap_s)))
    return max(gaps, default=math.inf)
