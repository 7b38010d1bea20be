"""Chapter: neutrals borrowed between circuits that an outage parts."""

from __future__ import annotations

from collections.abc import Iterator

from islewright.findings import Verdict, at_most
from islewright.job.model import Circuit
from islewright.network.places import MET, bar_behind
from islewright.network.solve import Solved
from islewright.network.state import ISLAND, ISLAND_GRID_BACK, Mode, State
from islewright.network.way import is_backed_up
from islewright.rules.demand import bounded_current_a, spread_of
from islewright.rules.disconnection import touch_limit_v
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study


@rule(
    "neutral.borrowed",
    over="circuits, fed or not",
    modes=[Mode.ISLAND],
    title="A neutral borrowed across the islanding switch must raise no dangerous voltage",
    clauses=[
        "IEC 60364-5-52:2009, 521.8 (from memory); IEC 60364-4-41, 411.3",
        "BS 7671:2018, 314.4 (from memory)",
    ],
)
def borrowed(study: Study, here: Here) -> Verdict | None:
    """U(neutral bar to earthing terminal), U(earthing terminal to true earth) ≤ U_L, poles open

    The load is taken as a resistance at I_b between its line and the bar of its neutral, in
    each state that parts the two: a bar that nothing else holds takes the voltage of the line,
    and a current that returns through the soil lifts every frame of the house.
    """
    circuit = study.job.circuits[here.name]
    other = _lent_by(study, circuit)
    if other is None or is_backed_up(study.job, other[0]) == is_backed_up(study.job, circuit.board):
        return None
    study.clean(here)
    amps = bounded_current_a(study.job, circuit)
    found = [
        (_raised_v(study, circuit, bar_behind(*other), line, amps, state), line, state.name)
        for state in _parting(study, circuit, other[0])
        for line in study.job.lines_of(circuit)
    ]
    (volts, met_v, drawn), line, name = max(found, key=lambda f: max(f[0][:2]))
    u_l = touch_limit_v(study, circuit)
    return at_most(
        max(volts, met_v),
        u_l,
        "V",
        spread=spread_of(study.profile, "load_power", max(volts, met_v)),
        because=[
            f"line {line} on {circuit.board}, neutral on {other[0]}; state: {name}",
            f"I_b = {amps:.2f} A, of which {drawn:.2f} A flow",
            f"U(N of {other[0]} to earthing terminal) = {volts:.1f} V, U_L = {u_l:g} V",
            f"U(earthing terminal to true earth) = {met_v:.1f} V",
        ],
        means="Whoever works on the dead part, or touches a frame, may touch that voltage.",
        remedies=[lambda: f"Move the neutral to the bar of {circuit.behind or circuit.board}."],
        confirmed="two pages",
    )


def _lent_by(study: Study, circuit: Circuit) -> tuple[str, str | None] | None:
    """Board and RCD group on which the neutral lies; None where it is the circuit's own."""
    if circuit.neutral_with is not None:
        lender = study.job.circuits[circuit.neutral_with]
        return lender.board, lender.behind
    at = circuit.neutral_at
    return (at, None) if at in study.job.boards else None


def _parting(study: Study, circuit: Circuit, other: str) -> Iterator[State]:
    """States in which the line is alive and the islanding switch stands open."""
    if not is_backed_up(study.job, circuit.board):
        yield ISLAND_GRID_BACK
        return
    yield ISLAND
    switch = study.job.boards[other].main_switch
    if switch is not None and "N" in switch.poles:
        name = f"island, main switch of {other} open"
        yield ISLAND.but(name, opened=frozenset({f"main switch {other}"}))


def _raised_v(
    study: Study, circuit: Circuit, lender: str, line: str, amps: float, state: State
) -> tuple[float, float, float]:
    """Neutral bar to the earthing terminal, and that to true earth [V]; the current [A]."""
    solved: Solved = study.net.solved(state)
    x = solved.x
    a = solved.at(bar_behind(circuit.board, circuit.behind), line)
    b = solved.at(lender, "N")
    if amps <= 0:
        return 0.0, 0.0, 0.0
    z = float(study.job.supply.nominal_voltage_v) / amps
    between = solved.per_ampere(a, b)
    drawn = complex((x[a] - x[b]) / (z + between[a] - between[b]))
    ground = solved.at(MET, "PE")
    bar, met = (x[n] - between[n] * drawn for n in (b, ground))
    return float(abs(bar - met)), float(abs(met)), abs(drawn)
