"""Chapter: what the islanding switch and the main switches must carry and stand."""

from __future__ import annotations

import math
from functools import partial

from islewright.findings import Question, Verdict, at_most
from islewright.job.device import Device
from islewright.job.gap import Unknown
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, canonical
from islewright.network.state import Mode
from islewright.network.way import cables_to
from islewright.rules.demand import spread_of
from islewright.rules.energy import largest_fault_current_a
from islewright.rules.inflow import POLES, Inflow, sum_told, worst_at, worst_in
from islewright.rules.prospective import source_fault_a
from islewright.rules.registry import Here, attempt, every, rule
from islewright.rules.study import Study
from islewright.tables.conductor import resistance_ohm_per_km

RATED = "IEC 60364-5-53:2019, 536 (from memory)"
RATED_BS = "BS 7671:2018, 536 (from memory)"


def _carries(study: Study, line: str, flow: Inflow, rated: float, remedy: str) -> Verdict:
    """What sources and devices let through against a rated current."""
    spread = spread_of(study.profile, "maker", flow.made)
    return at_most(
        flow.amps,
        rated,
        "A",
        spread=spread,
        because=[*sum_told(flow), f"on {line}; rated current {rated:g} A"],
        remedies=[
            lambda: remedy.format(math.ceil(flow.amps + spread)),
            lambda: f"Fit a device of {rated:g} A or less before it, if that carries the demand.",
        ],
        confirmed="memory",
    )


@rule(
    "switch.current",
    over="house",
    modes=[Mode.GRID],
    title="The poles of the islanding switch must carry what the devices before them let through",
    clauses=[RATED, RATED_BS],
)
def poles_current(study: Study, _here: Here) -> Verdict:
    """min(I_n upstream, Σ I of the sources) ≤ I_n of the poles, in both directions

    From the grid into the house, and from the house's own sources out to the grid.
    """
    line, flow = worst_in(study, POLES, (GRID_SIDE, HOUSE_SIDE), Mode.GRID)
    rated = float(study.job.switch.rated_current_a)
    return _carries(study, line, flow, rated, "Fit an islanding switch of at least {} A.")


@rule(
    "switch.pass-through",
    over="house",
    modes=[Mode.GRID, Mode.ISLAND],
    title="The house terminals of the islanding switch must carry all sources together",
    clauses=["IEC 60364-5-55:2011, 551.7.2 (from memory)", "BS 7671:2018+A2:2022, 551.7.2"],
)
def pass_through(study: Study, here: Here) -> Verdict:
    """I_n upstream + Σ I_g ≤ pass-through current of the enclosure

    Grid and inverter feed the house side at once, through terminals that only one of them fuses.
    """
    line, flow = worst_at(study, HOUSE_SIDE, here.mode, 1.0)
    rated = float(study.job.switch.pass_through_a)
    return _carries(study, line, flow, rated, "Fit an islanding switch that passes {} A.")


@rule(
    "switch.withstand",
    over="house",
    modes=[Mode.GRID],
    title="The islanding switch must stand the largest short circuit, behind the fuse it asks for",
    clauses=["IEC 60364-4-43:2008, 434.5; IEC 60364-5-53:2019, 536 (from memory)",
             "BS 7671:2018, 434.5, 536 (from memory)"],
)  # fmt: skip
def withstand(study: Study, _here: Here) -> Verdict:
    """I_k,max ≤ I_cw, and I_n of the fuse before it ≤ the largest that the maker admits

    I_k,max: what the supply gives at the grid terminals with cold cables, the angle between
    both impedances taken as 90°, and what inverter and PV give added as figures.
    """
    return every([attempt(partial(_stands, study)), attempt(partial(_behind_fuse, study))])


def _stands(study: Study) -> Verdict:
    i_k, told = _largest_a(study)
    i_cw = float(study.job.switch.short_time_a)
    spread = spread_of(study.profile, "declared", i_k)
    return at_most(
        i_k,
        i_cw,
        "A",
        spread=spread,
        because=lambda: [*told, f"I_cw = {i_cw:.0f} A"],
        remedies=[
            lambda: f"Fit an islanding switch that stands {i_k + spread:.0f} A.",
            lambda: "Ask the maker for a fuse behind which it stands this current.",
        ],
        means="A short circuit may weld its contacts or burst it." if i_k > i_cw else "",
        confirmed="memory",
    )


def _largest_a(study: Study) -> tuple[float, list[str]]:
    """Largest prospective current at the grid terminals [A], and how it comes about."""
    job, supply = study.job, study.job.supply
    at_origin = largest_fault_current_a(job)
    z = float(study.profile.number("loop.c_max")) * float(supply.nominal_voltage_v) / at_origin
    back = 2 if len(job.phases) == 1 else 1
    ohm = back * sum(
        resistance_ohm_per_km(c.material, c.size_mm2, theta_c=20) * float(c.length_m) / 1000
        for _, c in cables_to(job, GRID_SIDE, Mode.GRID) or ()
    )
    grid = at_origin * z / math.hypot(z, ohm)
    own, told = source_fault_a(job)
    return grid + own, [
        f"at the origin {at_origin:.0f} A: Z = {z:.4f} Ω; cables {ohm:.4f} Ω",
        f"from the supply {at_origin:.0f} A · Z / √(Z² + R²) = {grid:.0f} A",
        *told,
        f"I_k,max = {grid:.0f} A + {own:.4g} A of the house's own = {grid + own:.0f} A",
    ]


def _behind_fuse(study: Study) -> Verdict:
    """The smallest fuse on the way from the supply; a breaker lets more through and counts not."""
    job, sheet = study.job, study.job.switch
    way = [c.device for _, c in cables_to(job, GRID_SIDE, Mode.GRID) or ()]
    fuses = [d for d in [job.supply.main_fuse, *way] if isinstance(d, Device) and d.curve == "gG"]
    if not fuses:
        asked = sheet.question("upstream_fuse_a")
        ask = "No fuse stands before it: which breaker may, and up to which short circuit?"
        raise Unknown(Question(field=asked.field, ask=ask, how=asked.how, whom=asked.whom))
    least, most = min(fuses, key=lambda fuse: float(fuse.i_n_a)), float(sheet.upstream_fuse_a)
    return at_most(
        float(least.i_n_a),
        most,
        "A",
        spread=0.0,
        because=[f"smallest fuse before it {least.name}; the maker admits up to {most:g} A"],
        remedies=[lambda: f"Fit a fuse of {most:g} A or less before it, if that carries the load."],
        confirmed="memory",
    )


@rule(
    "switch.board-main",
    over="boards",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A board's main switch must carry what the devices before it let through",
    clauses=[RATED, RATED_BS],
)
def board_main(study: Study, here: Here) -> Verdict | None:
    """min(I_n upstream, Σ I of the sources) ≤ I_n of the main switch, in both directions

    In island mode the current comes from the other side, past another device.
    """
    switch = study.job.boards[here.name].main_switch
    if switch is None:
        return None
    name, feeder = (cables_to(study.job, here.name, here.mode) or [])[-1]
    ends = canonical(feeder.from_), canonical(feeder.to)
    line, flow = worst_in(study, name, ends, here.mode)
    rated = float(switch.rated_current_a)
    return _carries(study, line, flow, rated, "Fit a main switch of at least {} A.")
