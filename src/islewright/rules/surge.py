"""Chapter: surge arresters."""

from __future__ import annotations

import heapq
import math
from functools import partial

from islewright.findings import Status, Verdict, at_least, at_most
from islewright.job.arrester import SurgeArrester
from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.job.once import once_a_job
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, INVERTER, canonical
from islewright.network.state import Mode
from islewright.network.way import guards_upstream
from islewright.rules.demand import own_spread
from islewright.rules.entering import tightest
from islewright.rules.registry import Here, every, rule
from islewright.rules.study import Study

ARRESTERS = "IEC 60364-5-53:2019, 534.4"
ARRESTERS_BS = "BS 7671:2018, 534.4"

#: voltage between lines, in U_0, which a line reaches where nothing holds the star point
BETWEEN_LINES = {"three phases": math.sqrt(3), "split phase": 2.0}


def arrester_at(study: Study, board: str) -> SurgeArrester | None:
    """The arrester of a board; None where it has none."""
    return study.job.boards[board].surge_arrester


@rule(
    "surge.leads",
    over="boards, fed or not",
    modes=[Mode.GRID],
    title="The leads of a surge arrester must be short",
    clauses=[f"{ARRESTERS}.8 (from memory)", f"{ARRESTERS_BS}.8 (from memory)"],
)
def leads(study: Study, here: Here) -> Verdict | None:
    """lead of the line + lead to the earth bar ≤ 0.5 m

    Each metre of lead adds about a kilovolt to what the arrester lets through.
    """
    arrester = arrester_at(study, here.board)
    if arrester is None:
        return None
    limit = study.profile.number("surge.lead_total")
    length = arrester.leads_m
    return at_most(
        float(length),
        limit,
        "m",
        spread=own_spread(study.profile, "length", length),
        because=lambda: [f"both leads together: {length:g} m"],
        remedies=[
            lambda: f"Move the arrester so that both leads together are {limit:g} m at most."
        ],
        confirmed=limit.confirmed,
    )


@rule(
    "surge.continuous",
    over="boards, fed or not",
    modes=[Mode.GRID],
    title="A surge arrester must bear the voltage that is always there",
    clauses=[f"{ARRESTERS}.3 (from memory)", f"{ARRESTERS_BS}.3 (from memory)"],
)
def continuous(study: Study, here: Here) -> Verdict | None:
    """U_c ≥ 1.1 · U_0 of a line; U_c ≥ U_0 from neutral to PE

    Above its U_c an arrester conducts all the time, heats up and is destroyed. On an IT supply
    a first fault, which may stay, lifts the other lines to the voltage between lines.
    """
    arrester = arrester_at(study, here.board)
    if arrester is None:
        return None
    u_0 = float(study.job.supply.nominal_voltage_v)
    factor = study.profile.number("surge.continuous_factor")
    line, neutral = arrester.line_u_c_v, arrester.neutral_u_c_v
    times = _times_u_0(study.job, arrester)
    asked, of = factor * times * u_0, "" if times == 1 else f"{times:.3g} · "
    told = f"{factor:g} · {of}U_0 = {factor:g} · {of}{u_0:g} V"
    demands = [
        (line, asked, f"line: U_c = {line:g} V; {told}"),
        (neutral, u_0, f"neutral: U_c = {neutral:g} V; U_0 = {u_0:g} V"),
    ]
    return tightest(
        [
            at_least(
                float(u_c),
                limit,
                "V",
                spread=0.0,  # a rating, against a nominal voltage
                because=[told],
                remedies=[lambda: f"Fit an arrester with U_c of {asked:.0f} V or more."],
                confirmed=factor.confirmed,
            )
            for u_c, limit, told in demands
        ]
    )


def _times_u_0(job: Job, arrester: SurgeArrester) -> float:
    """What a line may have for good over its arrester [U_0]."""
    if job.supply.system_earthing != "IT" or arrester.connection != "lines to PE":
        return 1.0
    return BETWEEN_LINES.get(job.supply.form, 1.0)


@rule(
    "surge.place",
    over="boards",
    modes=[Mode.GRID],
    title="A surge arrester must stand before every RCD, or behind delayed ones alone",
    clauses=[f"{ARRESTERS}.2, 534.4.7 (from memory)", f"{ARRESTERS_BS}.2, 534.4.7 (from memory)"],
)
def place(study: Study, here: Here) -> Verdict | None:
    """RCD before the arrester → delay = S

    A surge runs to earth through the RCD and opens it, or welds it. A type S RCD is made to
    let a surge pass. On a TT supply each line to PE needs such an RCD before it: an arrester
    that fails is an earth fault there, over an electrode that opens no fuse.
    """
    arrester = arrester_at(study, here.board)
    if arrester is None:
        return None
    delay = study.profile.row("surge.rcd_before")
    wanted = study.profile.text("surge.rcd_before")
    guards = [g for g in guards_upstream(study.job, here.board, here.mode) if g.role == "RCD"]
    for guard in guards:
        guard.must_be_known()
    rcds = [(guard.name, guard.residual) for guard in guards if guard.residual is not None]
    if arrester.behind is not None:
        rcds.append((arrester.behind, study.job.boards[here.board].rcds[arrester.behind]))
    if not rcds and study.job.supply.system_earthing == "TT":
        odd = _failing_in_tt(arrester)
        if odd is not None:
            return odd
    wrong = [name for name, residual in rcds if residual.delay != wanted]
    told = [f"{name}: delay {residual.delay}" for name, residual in rcds]
    return Verdict(
        status=Status.NOT_MET if wrong else Status.MET,
        because=told or ["no RCD stands before it"],
        means="A surge may open the RCD, or damage it." if wrong else "",
        remedies=[lambda: f"Move the arrester to the supply's side of {', '.join(wrong)}."]
        if wrong
        else [],
        confirmed=delay.confirmed,
    )


def _failing_in_tt(arrester: SurgeArrester) -> Verdict | None:
    """Lines to PE on a TT supply, with no RCD before them; None where the lines go to N."""
    if arrester.connection == "lines to neutral":
        return None
    return Verdict(
        status=Status.NOT_MET,
        because=["TT supply; connection: lines to PE", "no RCD stands before it"],
        means="An arrester that fails makes the frames live, and no fuse opens.",
        remedies=[
            lambda: "Fit one that joins lines to neutral, with one path from there to PE.",
            lambda: "Put it behind a delayed RCD (S).",
        ],
        confirmed="memory",
    )


@rule(
    "surge.distance",
    over="house",
    modes=[Mode.GRID],
    title="A house with surge arresters must have one near every board and the inverter",
    clauses=[f"{ARRESTERS}.9 (from memory)", f"{ARRESTERS_BS}.9 (from memory)"],
)
def distance(study: Study, _here: Here) -> Verdict | None:
    """length of cable to the nearest arrester ≤ 10 m

    On a longer cable the voltage swings up again, to twice what the arrester leaves.
    """
    job = study.job
    has = {name: board.has("surge_arrester") for name, board in job.boards.items()}
    asked = [b.question("surge_arrester") for b in job.boards.values() if b.gap("surge_arrester")]
    if not any(has.values()):
        if asked:
            raise Unknown(*asked)
        return None
    limit = study.profile.number("surge.distance")
    starts = tuple(name for name, there in has.items() if there)
    demands = []
    for there in (*job.boards, INVERTER):
        cables, far = _nearest(job, starts, there)
        lengths = [job.cables[name].length_m for name in cables]
        spread = sum(own_spread(study.profile, "length", length) for length in lengths)
        demands.append(
            at_most(
                far,
                limit,
                "m",
                spread=spread,
                because=[f"{there}: {far:g} m of cable to the nearest"],
                remedies=[partial(_fit_there, there)],
                confirmed=limit.confirmed,
            )
        )
    found = every([tightest(demands)])
    if asked and found.status is not Status.MET:
        raise Unknown(*asked)
    return found


def _fit_there(there: str) -> str:
    return f"Fit a surge arrester at the {there} too."


@once_a_job
def _nearest(job: Job, starts: tuple[str, ...], there: str) -> tuple[tuple[str, ...], float]:
    """Cables to the nearest of some boards, and their length in all [m]; inf where none leads.

    Raises
    ------
    Unknown : the length of a cable is not stated
    """
    links: dict[str, list[tuple[str, str, float]]] = {GRID_SIDE: [], HOUSE_SIDE: []}
    for name, cable in job.cables.items():
        a, b = canonical(cable.from_), canonical(cable.to)
        links.setdefault(a, []).append((name, b, float(cable.length_m)))
        links.setdefault(b, []).append((name, a, float(cable.length_m)))
    links[GRID_SIDE].append(("", HOUSE_SIDE, 0.0))
    links[HOUSE_SIDE].append(("", GRID_SIDE, 0.0))
    queue: list[tuple[float, str, tuple[str, ...]]] = [(0.0, start, ()) for start in starts]
    seen: set[str] = set()
    while queue:
        far, at, cables = heapq.heappop(queue)
        if at == there:
            return tuple(filter(None, cables)), far
        if at in seen:
            continue
        seen.add(at)
        for name, other, length in links.get(at, ()):
            heapq.heappush(queue, (far + length, other, (*cables, name)))
    return (), math.inf
