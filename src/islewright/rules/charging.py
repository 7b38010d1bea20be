"""Chapter: vehicle charging (IEC 60364-7-722), in grid mode and as an island."""

from __future__ import annotations

from functools import partial

from islewright.findings import Status, Verdict, at_most
from islewright.job.charging import Charging
from islewright.job.device import Residual
from islewright.job.gap import Unknown
from islewright.job.model import Circuit
from islewright.network.race import guards_at
from islewright.network.state import Mode
from islewright.network.watched import watchers
from islewright.network.way import Guard, is_backed_up
from islewright.rules.demand import spread_of
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study

EV = "IEC 60364-7-722:2018"
INSIDE = "RCD inside the charging point"


@rule(
    "charging.own-rcd",
    over="circuits, fed or not",
    modes=[Mode.GRID],
    title="Every charging point must have a circuit and a 30 mA RCD of its own",
    clauses=[f"{EV}, 722.311, 722.531.3.1 (from memory)", "BS 7671:2018+A1:2020, 722.531.3.1"],
)
def own_rcd(study: Study, here: Here) -> Verdict | None:
    """I_Δn ≤ 30 mA, and one point alone behind it

    The RCD may stand on the board or inside the charging point. Other loads on the same
    circuit, or a second point behind the same RCD, go dark with it and hide its fault.
    """
    circuit = study.job.circuits[here.name]
    if circuit.use != "charger":
        return None
    demands = [attempt(partial(_sensitive, study, here)), attempt(partial(_alone, circuit))]
    return every(demands)


def _alone(circuit: Circuit) -> Verdict:
    """One point on the circuit and no other load."""
    points, others = float(circuit.charging.points), len(circuit.loads) - 1
    because = [f"charging points on the circuit: {points:g}", f"other loads: {max(others, 0)}"]
    if points == 1 and others <= 0:
        return Verdict(status=Status.MET, because=because, confirmed="memory")
    return Verdict(
        status=Status.NOT_MET,
        because=because,
        remedies=[lambda: "Lay a circuit of its own to each charging point."],
        confirmed="memory",
    )


def _sensitive(study: Study, here: Here) -> Verdict:
    """The most sensitive RCD that serves this circuit alone, or the one inside the point."""
    circuit = study.job.circuits[here.name]
    limit = float(study.profile.number("charging.rcd_rating"))
    ways = [
        attempt(partial(_rating, guard.name, guard, None, limit)) for guard in _own(study, here)
    ]
    ways.append(attempt(partial(_inside, circuit.charging, limit)))
    return first_way(ways)


def _own(study: Study, here: Here) -> list[Guard]:
    """RCDs that watch this circuit and no other; one that may watch another has to be asked."""
    job = study.job
    alone = {
        w.guard.branch: tuple(job.circuits[name].question("behind") for name in w.maybe)
        for w in watchers(job, Mode.GRID).values()
        if w.circuits == (here.name,)
    }
    guards = guards_at(job, "circuit", here.name, Mode.GRID)[0]
    return [
        guard._replace(asks=(*guard.asks, *alone[guard.branch]))
        for guard in guards
        if guard.role == "RCD" and guard.branch in alone
    ]


def _inside(charging: Charging, limit: float) -> Verdict:
    if charging.residual is None:
        return Verdict(
            status=Status.NOT_MET,
            because=["the charging point has no RCD inside, and none on the board is its own"],
            remedies=[lambda: f"Fit an RCBO of {limit * 1000:g} mA for this circuit alone."],
            confirmed="memory",
        )
    return _rating(INSIDE, None, charging.residual, limit)


def _rating(name: str, guard: Guard | None, inside: Residual | None, limit: float) -> Verdict:
    if guard is not None:
        guard.must_be_known()
    rcd = inside if guard is None else guard.residual
    assert rcd is not None  # noqa: S101 - one of the two is given
    i_dn = float(rcd.trips_at_a)
    return at_most(
        i_dn,
        limit,
        "A",
        spread=0.0,  # a rating on the plate, against a rating
        because=lambda: [f"I_Δn = {i_dn * 1000:g} mA ({name})"],
        remedies=[lambda: f"Fit an RCD of {limit * 1000:g} mA in place of {name}."],
        confirmed="memory",
    )


@rule(
    "charging.dc-detection",
    over="circuits, fed or not",
    modes=[Mode.GRID],
    title="A charging point must have an RCD of type B, or detect 6 mA d.c. beside a type A",
    clauses=[f"{EV}, 722.531.3.101 (from memory)", "BS 7671:2018+A1:2020, 722.531.3.101"],
)
def dc_detection(study: Study, here: Here) -> Verdict | None:
    """Type B, or type A or F with 6 mA d.c. detection (IEC 62955) → d.c. is cut off

    A vehicle's charger can send smooth d.c. into a fault, which leaves a type A blind. The
    detector opens before it does.
    """
    circuit = study.job.circuits[here.name]
    if circuit.use != "charger":
        return None
    ways = [
        attempt(partial(_by_type, study, guard.name, guard, circuit)) for guard in _own(study, here)
    ]
    ways.append(attempt(partial(_by_type, study, INSIDE, None, circuit)))
    return first_way(ways)


def _by_type(study: Study, name: str, guard: Guard | None, circuit: Circuit) -> Verdict:
    """One RCD of the point, by its type and the detection beside it."""
    if guard is not None:
        guard.must_be_known()
    rcd = circuit.charging.residual if guard is None else guard.residual
    if rcd is None:
        return Verdict(
            status=Status.NOT_MET,
            because=lambda: [f"{name}: there is none"],
            remedies=[lambda: "Fit an RCBO of 30 mA type B for this circuit alone."],
        )
    kind = rcd.type
    limit = float(study.profile.number("charging.rcd_rating"))
    if kind == "B" and float(rcd.trips_at_a) > limit:
        told = f"{name}: type B, {rcd.trips_at_a * 1000:g} mA, which lets more d.c. pass"
        return Verdict(
            status=Status.NOT_MET,
            because=[told],
            remedies=[lambda: f"Fit an RCD of {limit * 1000:g} mA type B in place of {name}."],
            confirmed="memory",
        )
    if kind == "B":
        return Verdict(status=Status.MET, because=lambda: [f"{name}: type B"], confirmed="memory")
    found = circuit.charging.dc_detection
    because = [f"{name}: type {kind}", f"d.c. detection: {found}"]
    if kind in ("A", "F") and found == "6 mA d.c.":
        return Verdict(status=Status.MET, because=because, confirmed="memory")
    return Verdict(
        status=Status.NOT_MET,
        because=because,
        means="Smooth d.c. from the vehicle may leave the RCD blind.",
        remedies=[lambda: f"Fit an RCD of type B in place of {name}."],
        confirmed="memory",
    )


@rule(
    "charging.open-pen",
    over="circuits, fed or not",
    modes=[Mode.GRID, Mode.ISLAND],
    title="With the PEN open in the street, a vehicle on charge must not become live",
    clauses=[
        f"{EV}, 722.312.2.1 (no PEN in its circuit; nothing on an open one; from memory)",
        "BS 7671:2018+A1:2020, 722.411.4.1",
    ],
)
def open_pen(study: Study, here: Here) -> Verdict | None:
    """The point opens PE too, else an earth of its own, else U_MET with the PEN open ≤ U_limit

    The earthing terminal stays joined to the street's PEN in island mode too: neighbours' load
    lifts it, and the vehicle stands on the soil. An island's own voltages do not show that, so
    a point that watches them sees nothing while the island feeds it; without supply it is open.
    """
    circuit = study.job.circuits[here.name]
    if circuit.use != "charger" or study.job.supply.system_earthing != "TN-C-S":
        return None
    if not study.profile.applies("charging.open_pen_voltage"):
        return None
    limit = float(study.profile.number("charging.open_pen_voltage"))
    measure = circuit.charging.open_pen
    blind = here.mode is Mode.ISLAND and is_backed_up(study.job, circuit.board)
    because = [f"against an open PEN: {measure}"]
    if measure == "own electrode" or (
        measure.startswith("opens") and not (blind and measure == "opens, watches the voltages")
    ):
        return Verdict(status=Status.MET, because=because, confirmed="page")
    return _by_rise(study, here, limit, because)


def _all_stated(study: Study, mode: Mode) -> None:
    """Stop where something is not stated that lifts or holds the earthing terminal.

    Raises
    ------
    Unknown : neighbours' load, a load or a board's demand, the electrode or the supply
    """
    job = study.job
    _ = job.supply.street.neighbours_load_w
    missing = study.net.parts.missing
    asks = [question for key in ("electrode", "supply") for question in missing.get(key, ())]
    if mode is Mode.GRID:  # the island's own loads return to the inverter
        for board in job.boards.values():
            _ = board.demand_factor
        asks += [question for gap in study.unknown_loads.values() for question in gap.questions]
    if asks:
        raise Unknown(*dict.fromkeys(asks))


def _by_rise(study: Study, here: Here, limit: float, because: list[str]) -> Verdict:
    """The earthing terminal with the PEN open, as solved; nothing is told of it where unsolved."""
    _all_stated(study, here.mode)
    found = [r for r in study.rises if r.mode == here.mode.value and r.case.startswith("PEN open")]
    if not found:
        return Verdict(status=Status.UNDECIDED, because=[*because, "the network is not solved"])
    worst = max(found, key=lambda rise: rise.met_v)
    return at_most(
        worst.met_v,
        limit,
        "V",
        spread=spread_of(study.profile, "electrode_reading", worst.met_v),
        because=[*because, f"{worst.case}: U_MET = {worst.met_v:.0f} V ({worst.because})"],
        means="Who touches the vehicle then stands between it and the soil.",
        remedies=[
            lambda: "Fit a charging point that finds an open PEN with a probe and opens PE too.",
            lambda: (
                "Give the charging point an electrode of its own, apart from the PEN, and an RCD."
            ),
        ],
        confirmed="page",
    )
