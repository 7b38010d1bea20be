"""Chapter: the sum of all sources that feed one board, cable or circuit."""

from __future__ import annotations

from islewright.findings import Status, Verdict, at_most
from islewright.job.model import Circuit, Job
from islewright.network.places import canonical
from islewright.network.state import Mode
from islewright.network.way import is_backed_up
from islewright.rules.capacity import (
    CAPACITY,
    CAPACITY_BS,
    capacity,
    larger_cable,
    loaded_conductors,
    loaded_in,
    weakest,
)
from islewright.rules.demand import spread_of
from islewright.rules.forms import form_of
from islewright.rules.inflow import (
    fed_by_pv,
    pv_lines,
    sources_along,
    sum_told,
    worst_at,
    worst_in,
)
from islewright.rules.permitted import permitted
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

PARALLEL = "IEC 60364-5-55:2011, 551.7.2 (from memory)"
PARALLEL_BS = "BS 7671:2018+A2:2022, 551.7.2"
PRACTICE = "common practice, no source"


@rule(
    "sources.busbar",
    over="boards",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A board must carry what all its sources together can feed into it",
    clauses=[PARALLEL, PARALLEL_BS],
)
def busbar(study: Study, here: Here) -> Verdict:
    """I_n + k_source · Σ I_g ≤ k_busbar · I_nA

    I_n of the device upstream, I_g of each source of the house that feeds this board in this
    mode, I_nA of the board. Sources behind a device count with no more than its rating.
    """
    return form_of(study.profile, "sources.busbar_rule", _FORMS)(study, here)


def _sum(study: Study, here: Here) -> Verdict:
    factor = float(study.profile.number("sources.source_factor"))
    stated = study.profile.number("sources.busbar_factor")
    share = float(stated)
    i_na = float(study.job.boards[here.name].busbar_a)
    line, flow = worst_at(study, here.name, here.mode, factor)
    limit, spread = share * i_na, spread_of(study.profile, "maker", flow.made)
    times = "" if share == 1 else f"{share:g} · {i_na:g} A = {limit:.1f} A with "
    return at_most(
        flow.amps,
        limit,
        "A",
        spread=spread,
        because=[*sum_told(flow), f"on {line}; {times}I_nA = {i_na:g} A"],
        remedies=[
            lambda: f"Fit a board whose busbar carries {(flow.amps + spread) / share:.0f} A."
        ],
        means="With every source at its most, nothing protects this busbar."
        if flow.amps > limit
        else "",
        confirmed=stated.confirmed,
    )


#: how a rule set adds up what a board must carry, by the word of the profile
_FORMS = {"sum": _sum}


def ends_of(job: Job, cable: str) -> tuple[str, str]:
    """Both places of a cable."""
    return canonical(job.cables[cable].from_), canonical(job.cables[cable].to)


@rule(
    "sources.cable",
    over="cables",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A cable that several sources feed must carry what they can drive through it together",
    clauses=[PARALLEL, "IEC 60364-4-43:2008, 433.1 (from memory)", PARALLEL_BS, CAPACITY,
             CAPACITY_BS],
)  # fmt: skip
def cable(study: Study, here: Here) -> Verdict | None:
    """Σ min(I_n, Σ I_g) ≤ I_z, in the direction and on the line with most

    One source alone is judged by the chapter of overload.
    """
    ends = ends_of(study.job, here.name)
    if len(sources_along(study, here.name, ends, here.mode)) < 2:
        return None
    laid = study.job.cables[here.name]
    line, flow = worst_in(study, here.name, ends, here.mode)
    loaded = loaded_conductors(
        study.job, tuple(c for c in laid.cores if c.startswith("L")), laid.cores
    )
    i_z, told = capacity(laid, loaded)
    spread = spread_of(study.profile, "maker", flow.made) + (i_z.spread or 0.0)
    return at_most(
        flow.amps,
        float(i_z),
        "A",
        spread=spread,
        because=[*sum_told(flow), f"on {line}", *told],
        remedies=[lambda: larger_cable(laid, loaded, flow.amps + spread)],
        confirmed=weakest("memory", i_z.confirmed),
    )


@rule(
    "sources.final-circuit",
    over="circuits, dead lines too",
    modes=[Mode.GRID],
    title="A final circuit into which a source feeds must carry device and source together",
    clauses=[PARALLEL, PARALLEL_BS, CAPACITY, CAPACITY_BS],
)
def final_circuit(study: Study, here: Here) -> Verdict | None:
    """I_n + k_source · I_g ≤ I_z

    Two sources feed such a cable, one at each end, and no device sees the sum.
    """
    circuit = study.job.circuits[here.name]
    if circuit.source_a is None:
        return None
    factor = float(study.profile.number("sources.source_factor"))
    i_n, i_g = float(circuit.device.i_n_a), float(circuit.source_a)
    loaded = loaded_in(study.job, circuit)
    i_z, told = capacity(circuit, loaded)
    amps, times = i_n + factor * i_g, "" if factor == 1 else f"{factor:g} · "
    spread = spread_of(study.profile, "maker", i_g) + (i_z.spread or 0.0)
    return at_most(
        amps,
        float(i_z),
        "A",
        spread=spread,
        because=[f"I_n + I_g = {i_n:g} A + {times}{i_g:g} A = {amps:.1f} A", *told],
        remedies=[
            lambda: larger_cable(circuit, loaded, amps + spread),
            lambda: "Give the source a circuit of its own, straight from the board.",
        ],
        confirmed=weakest("memory", i_z.confirmed),
    )


def island_sources_w(study: Study) -> tuple[float, list[str]]:
    """Power of sources on the a.c. side that the island feeds too [W], and whose it is.

    Raises
    ------
    Unknown : a fact of one of them is not stated
    """
    job, found = study.job, list[tuple[str, float]]()
    pv = fed_by_pv(job)
    if pv is not None and is_backed_up(job, pv[0]):
        found.append(("PV array", pv[1]))
    found += [
        (f"source in {name}", _source_w(job, circuit))
        for name, circuit in job.circuits.items()
        if circuit.source_a is not None and is_backed_up(job, circuit.board)
    ]
    return sum(watts for _, watts in found), [f"{name}: {watts:.0f} W" for name, watts in found]


def _source_w(job: Job, circuit: Circuit) -> float:
    u_0 = float(job.supply.nominal_voltage_v)
    return float(circuit.source_a or 0) * u_0 * len(job.lines_of(circuit))


@rule(
    "sources.ac-pv",
    over="house",
    modes=[Mode.ISLAND],
    title="The inverter must be able to hold back the PV that feeds in on its a.c. side",
    clauses=["IEC 60364-5-55:2011, 551.7.1 (from memory)", "BS 7671:2018, 551.7.1 (from memory)",
             PRACTICE],
)  # fmt: skip
def ac_pv(study: Study, _here: Here) -> Verdict | None:
    """Σ P on the a.c. side of the island ≤ what the maker lets the inverter hold back

    In an island nobody else takes what PV gives: it must be held back, or the voltage rises.
    """
    watts, told = island_sources_w(study)
    if not told:
        return None
    limit = float(study.job.inverter.ac_coupled_w or 0)
    spread = spread_of(study.profile, "maker", watts)
    return at_most(
        watts,
        limit,
        "W",
        spread=spread,
        because=[*told, f"a.c.-coupled PV at most: {limit:.0f} W"],
        remedies=[
            lambda: f"Fit an inverter that holds back {watts + spread:.0f} W on its a.c. side.",
            lambda: "Move the PV to a board that is dead in an outage.",
        ],
        means="The island's voltage or frequency would run away, or the inverter stop."
        if watts > limit
        else "",
        confirmed="memory",
    )


@rule(
    "sources.battery-full",
    over="house",
    modes=[Mode.ISLAND],
    title="With a full battery and nothing switched on, the PV of an island must give less",
    clauses=["IEC 60364-5-55:2011, 551.7.1 (from memory)", "BS 7671:2018, 551.7.1 (from memory)",
             PRACTICE],
)  # fmt: skip
def battery_full(study: Study, _here: Here) -> Verdict | None:
    """PV on the a.c. side → it gives less as the island's frequency rises

    What the battery takes while it is not full is told beside; full, it takes nothing.
    """
    job = study.job
    watts, told = island_sources_w(study)
    if not told:
        return None
    battery = job.battery
    takes = float(battery.largest_current_a) * float(battery.nominal_v) if battery else 0.0
    array = None if "PV array" not in told[0] else job.pv
    follows = array is not None and array.when_too_much == "gives less" and len(told) == 1
    return Verdict(
        status=Status.MET if follows else Status.NOT_MET,
        because=[
            *told,
            f"a battery that is not full takes {takes:.0f} W, a full one nothing",
            "as the frequency rises the PV gives less"
            if follows
            else f"nothing holds back {watts:.0f} W",
        ],
        remedies=[
            lambda: "Fit a PV inverter that gives less as the frequency rises, and set it to.",
            lambda: "Move the PV to a board that is dead in an outage.",
        ],
        confirmed="memory",
    )


@rule(
    "sources.unbalance",
    over="house",
    modes=[Mode.GRID],
    title="Single-phase sources must not feed more into one line than the network admits",
    clauses=["IEC 60364-5-55:2011, 551.7.1 (from memory)", "BS 7671:2018, 551.7.1 (from memory)",
             "the network operator's conditions"],
)  # fmt: skip
def unbalance(study: Study, _here: Here) -> Verdict | None:
    """Σ S of single-phase sources on one line ≤ limit of the operator or the rule set

    What feeds one line alone shifts the voltages of the whole street.
    """
    lines, told = _single_phase_va(study)
    if not told:
        return None
    allowed = permitted(study, "sources.unbalance", "unbalance_va")
    if allowed is None:
        return None
    line = max(lines, key=lines.__getitem__)
    spread = spread_of(study.profile, "maker", lines[line])
    return at_most(
        lines[line],
        allowed.limit,
        "VA",
        spread=spread,
        because=[*told, f"on {line}: {lines[line]:.0f} VA",
                 f"{allowed.by} {allowed.limit:.0f} VA"],
        remedies=[
            lambda: f"Ask the operator to admit {lines[line] + spread:.0f} VA on one line.",
            lambda: "Fit a source that feeds all lines alike." if len(lines) > 1 else None,
        ],
        confirmed=allowed.confirmed,
    )  # fmt: skip


def _single_phase_va(study: Study) -> tuple[dict[str, float], list[str]]:
    """Power of single-phase sources on each line [VA], and its terms."""
    job, told = study.job, list[str]()
    lines = dict.fromkeys(job.phases, 0.0)

    def add(line: str, va: float, name: str) -> None:
        lines[line] += va
        told.append(f"{name} on {line}: {va:.0f} VA")

    if len(lines) == 1 or job.inverter.output.startswith("single-phase"):
        stated = len(lines) > 1 and job.inverter.output == "single-phase"
        line = job.placement.inverter.line[0] if stated else job.phases[0]
        add(line, float(job.inverter.rated_va), "inverter")
    pv = fed_by_pv(job)
    if pv is not None and len(pv_lines(job)) == 1:
        add(pv_lines(job)[0], pv[1], "PV array")
    for name, circuit in job.circuits.items():
        if circuit.source_a is not None and len(job.lines_of(circuit)) == 1:
            add(job.lines_of(circuit)[0], _source_w(job, circuit), f"source in {name}")
    return lines, told
