"""Chapter: the band of the supply voltage, and how far own sources lift it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from islewright.findings import Question, Status, Verdict, at_least, at_most
from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.network.build.joined import joined_lines
from islewright.network.places import INVERTER
from islewright.network.state import BYPASS, GRID, GRID_FEEDING, ISLAND, ISLAND_PV, Mode
from islewright.network.way import is_backed_up
from islewright.rules.demand import design_current_a, lines_fed, spread_of
from islewright.rules.drop import drop_limit_percent, drop_spread_share, drop_v
from islewright.rules.inflow import fed_by_pv, pv_lines
from islewright.rules.once import once_a_study
from islewright.rules.permitted import permitted
from islewright.rules.registry import Here, every, rule
from islewright.rules.rotation import BRIDGED
from islewright.rules.runner import places_over
from islewright.rules.study import Study

if TYPE_CHECKING:
    from islewright.network.solve import Complex, Solved

BAND = "IEC 60038, 230/400 V"
BAND_BS = "ESQCR 2002, regulation 27"
DROP = "IEC 60364-5-52:2009, 525, Table G.52.1 (informative)"
DROP_BS = "BS 7671:2018, 525, Appendix 4, Table 4Ab (informative)"


@rule(
    "voltage.supply-band",
    over="house",
    modes=[Mode.GRID],
    title="The supply voltage must stay within the band of the network",
    clauses=[BAND, BAND_BS],
)
def supply_band(study: Study, _here: Here) -> Verdict:
    """U_0 · (1 − tolerance down) ≤ U_lowest, U_highest ≤ U_0 · (1 + tolerance up)

    What lies outside the band at the origin no cable in the house can mend.
    """
    u_0, read = float(study.job.supply.nominal_voltage_v), study.job.supply.voltage
    down = study.profile.number("supply.tolerance_down")
    up = study.profile.number("supply.tolerance_up")
    lowest, highest = float(read.lowest_v), float(read.highest_v)
    least, most = u_0 * (1 - down / 100), u_0 * (1 + up / 100)
    ask = "Ask the operator to bring the supply back into its band."
    return every(
        [
            at_least(
                lowest, least, "V",
                spread=spread_of(study.profile, "voltage_reading", lowest),
                because=lambda: [f"U_lowest = {lowest:g} V",
                         f"{u_0:g} V · (1 − {float(down):g} %) = {least:.1f} V"],
                remedies=[lambda: ask],
                confirmed=down.confirmed,
            ),
            at_most(
                highest, most, "V",
                spread=spread_of(study.profile, "voltage_reading", highest),
                because=lambda: [f"U_highest = {highest:g} V",
                         f"{u_0:g} V · (1 + {float(up):g} %) = {most:.1f} V"],
                remedies=[lambda: ask],
                confirmed=up.confirmed,
            ),
        ]
    )  # fmt: skip


@once_a_study
def lowest_at_load(study: Study) -> tuple[float, str, float, tuple[tuple[Question, ...], ...]]:
    """Least margin of any load's voltage above its limit, at the lowest supply voltage.

    Returns
    -------
    voltage [V] of the load with the least margin, its circuit, its limit [V], and the gaps of
    the circuits of which nothing can be said
    """
    job, gaps = study.job, list[tuple[Question, ...]]()
    u_0 = float(job.supply.nominal_voltage_v)
    lowest = float(job.supply.voltage.lowest_v)
    down = float(study.profile.number("supply.tolerance_down"))
    found = []
    for here in places_over(job, "circuits", Mode.GRID):
        name, circuit = here.name, job.circuits[here.name]
        try:
            study.clean(here)
            volts, nominal = drop_v(study, here, design_current_a(job, circuit)[0])
            limit = u_0 * (1 - (down + drop_limit_percent(study, circuit.use)) / 100)
            found.append((lowest - volts * u_0 / nominal - limit, name, limit))
        except Unknown as gap:
            gaps.append(gap.questions)
    if not found:
        none = Question(field="circuits", ask="What has the house?")
        raise Unknown(*(gaps[0] if gaps else [none]))
    margin, name, limit = min(found)
    return limit + margin, name, limit, tuple(gaps)


@rule(
    "voltage.at-load",
    over="house",
    modes=[Mode.GRID],
    title="At the lowest supply voltage every load must still have its least voltage",
    clauses=[f"{BAND}; {DROP}", f"{BAND_BS}; {DROP_BS}"],
)
def at_load(study: Study, _here: Here) -> Verdict:
    """U_lowest − U_drop ≥ U_0 · (1 − tolerance down − limit of the drop), at the worst load

    A circuit of which load or length is not known keeps the others from passing.
    """
    volts, name, limit, gaps = lowest_at_load(study)
    lowest = float(study.job.supply.voltage.lowest_v)
    share = drop_spread_share(study)
    spread = spread_of(study.profile, "voltage_reading", lowest) + abs(lowest - volts) * share
    verdict = at_least(
        volts,
        limit,
        "V",
        spread=spread,
        because=lambda: [
            f"worst at {name}: drop {lowest - volts:.2f} V",
            f"{lowest:g} V − {lowest - volts:.2f} V = {volts:.1f} V",
            f"band and drop together leave {limit:.1f} V",
        ],
        remedies=[
            lambda: f"Lay a larger cable to {name}.",
            lambda: "Ask the operator to bring the supply back into its band.",
        ],
        confirmed="page",
    )
    if gaps and verdict.status is not Status.NOT_MET:
        asked = tuple(dict.fromkeys(q for questions in gaps for q in questions))
        told = (*verdict.because, f"of {len(gaps)} circuits nothing can be said")
        return Verdict(status=Status.UNDECIDED, because=told, questions=asked)
    return verdict


@rule(
    "voltage.bypass-drop",
    over="house",
    modes=[Mode.GRID],
    title="In the bypass the backed-up circuits must still have their voltage",
    clauses=[DROP, DROP_BS],
)
def bypass_drop(study: Study, _here: Here) -> Verdict | None:
    """(U_supply − U_far) / U_0 ≤ limit, at the worst backed-up circuit, bypass closed

    The bypass has poles of its own: a line that it lacks leaves its circuits dead. Of one
    that lacks the neutral `neutral.bypass` speaks.
    """
    job = study.job
    if job.switch.bypass_poles is None or not study.loaded(BYPASS).held:
        return None
    found = []
    for here in places_over(job, "circuits", Mode.GRID):
        name, circuit = here.name, job.circuits[here.name]
        if is_backed_up(job, circuit.board):
            study.clean(here)
            flow, amps = study.loaded(BYPASS), design_current_a(job, circuit)[0]
            more = amps * (1 - float(job.boards[circuit.board].demand_factor))
            lines = lines_fed(job, circuit, Mode.GRID)
            volts, nominal = flow.drop_v(name, "supply", lines=lines, more_amps=more)
            limit = drop_limit_percent(study, circuit.use)
            found.append((volts / nominal * 100 - limit, name, limit))
    if not found:
        return None
    beyond, name, limit = max(found)
    share = drop_spread_share(study)
    return at_most(
        limit + beyond,
        limit,
        "%",
        spread=abs(limit + beyond) * share,
        because=[f"worst at {name}: {limit + beyond:.2f} %",
                 f"bypass poles: {' '.join(job.switch.bypass_poles)}"],
        remedies=[
            lambda: f"Lay a larger cable to {name}.",
            lambda: "Fit a bypass with a pole for every line and the neutral.",
        ],
        confirmed="two pages",
        state=BYPASS.name,
    )  # fmt: skip


@rule(
    "voltage.rise",
    over="house",
    modes=[Mode.GRID, Mode.ISLAND],
    title="The house's own sources must not lift the voltage too far",
    clauses=["IEC 60364-8-82:2022 (from memory; no figure)",
             "BS 7671:2018, 551.7.1 (from memory; no figure)", "the network operator's conditions"],
)  # fmt: skip
def rise(study: Study, here: Here) -> Verdict | None:
    """(U_source − U_reference) / U_0 ≤ limit, nothing else drawing or feeding

    In grid mode from the origin to the inverter's terminals, or to the board of PV on the
    a.c. side, both at full power; an inverter on bridged lines on any one of them. In island
    mode from the inverter's terminals to that board.
    """
    job = study.job
    pv = fed_by_pv(job)
    if here.mode is Mode.ISLAND and (pv is None or not is_backed_up(job, pv[0])):
        return None
    allowed = permitted(study, "volt.rise", "rise")
    if allowed is None:
        return None
    places = ([INVERTER] if here.mode is Mode.GRID else []) + ([pv[0]] if pv else [])
    for place in [*places, INVERTER]:
        study.clean(Here("board", place, here.mode, place))
    if pv is not None:
        pv_lines(job)  # which must be known
    volts, place, line, told = _lifted(study, here.mode, places)
    u_0 = float(job.supply.nominal_voltage_v)
    percent = volts / u_0 * 100
    share = sum(float(study.profile.number(f"spread.{k}")) for k in ("length", "maker")) / 100
    return at_most(
        percent,
        allowed.limit,
        "%",
        spread=abs(percent) * share,
        because=[
            *told,
            f"worst at {place} on {line}: {volts:.2f} V / {u_0:g} V = {percent:.2f} %",
            f"{allowed.by} {allowed.limit:g} %",
        ],
        remedies=[
            lambda: f"Lay larger cables from the origin to {place}.",
            lambda: f"Ask the operator to admit a rise of {percent * (1 + share):.1f} %.",
        ],
        means="The sources will switch off on a sunny day." if percent > allowed.limit else "",
        confirmed=allowed.confirmed,
        state=(GRID_FEEDING if here.mode is Mode.GRID else ISLAND_PV).name,
    )


def _lifted(study: Study, mode: Mode, places: list[str]) -> tuple[float, str, str, list[str]]:
    """Most that a place is lifted above its reference [V], where, on which line, and by what."""
    solved = study.net.solved(GRID if mode is Mode.GRID else ISLAND)
    groups = ("inverter", "PV on the grid") if mode is Mode.GRID else ("PV in the island",)
    reference = "supply" if mode is Mode.GRID else INVERTER
    x = solved.x.copy()
    feeds = [feed for feed in study.net.parts.feeds if feed.group in groups]
    for feed in feeds:
        x += solved.per_ampere(feed.b, feed.a) * feed.amps

    def volts(place: str, line: str, x: Complex) -> float:
        return abs(solved.voltage(place, line, to=(place, "N"), x=x))

    found = [
        (volts(place, line, y) - volts(reference, line, y), place, line)
        for place in places
        for line in joined_lines(study.job, place, island=mode is Mode.ISLAND)
        for y in (x + more for more in _on_one_line(study, solved, mode))
    ]
    if not found:
        ask = f"Which cable brings a line and the neutral to {places[0]}?"
        raise Unknown(Question(field="cables", ask=ask))
    worst, place, line = max(found)
    return worst, place, line, _fed(study.job, mode)


def _on_one_line(study: Study, solved: Solved, mode: Mode) -> list[Complex]:
    """What an inverter on bridged lines adds in grid mode, on each line that it may feed alone."""
    job, none = study.job, 0 * solved.x
    if mode is not Mode.GRID or job.inverter.output != BRIDGED:
        return [none]
    amps = float(job.inverter.rated_va) / float(job.supply.nominal_voltage_v)
    found, neutral = [none], solved.at(INVERTER, "N")
    for line in joined_lines(job, INVERTER, island=False):
        volts = solved.voltage("supply", line, to=("supply", "N"))
        column = solved.per_ampere(solved.at(INVERTER, line), neutral)
        found.append(column * amps * volts / abs(volts))
    return found


def _fed(job: Job, mode: Mode) -> list[str]:
    """What feeds at full power, in words."""
    pv = fed_by_pv(job)
    told = [f"PV array feeds {pv[1]:.0f} W at {pv[0]}"] if pv else []
    if mode is Mode.GRID:
        told.insert(0, f"inverter feeds {float(job.inverter.rated_va):.0f} VA")
    return told
