"""Chapter: what neutrals carry; no device watches them."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable
from itertools import accumulate

from islewright.findings import Question, Verdict, at_most
from islewright.job.device import Device
from islewright.job.gap import Unknown
from islewright.job.model import Cable, Circuit, Job
from islewright.network.alive import lies_dead
from islewright.network.joints import neutral_of
from islewright.network.loads import lagging
from islewright.network.state import GRID, ISLAND, Mode
from islewright.network.way import cables_to, circuits_of
from islewright.rules.capacity import (
    CAPACITY,
    CAPACITY_BS,
    capacity,
    larger_cable,
    loaded_in,
    weakest,
)
from islewright.rules.demand import (
    SOCKETS,
    boards_behind,
    design_current_a,
    lines_fed,
    loads_va,
    protecting_device,
    spread_of,
)
from islewright.rules.drop import neutral_current_a, sharing
from islewright.rules.harmonics import third_share
from islewright.rules.registry import Here, every, rule
from islewright.rules.rotation import BRIDGED
from islewright.rules.study import Study


@rule(
    "neutral.current",
    over="boards",
    modes=[Mode.ISLAND],
    title="The neutral of the island must not carry more than its feeder may",
    clauses=[
        "IEC 60364-4-43:2008, 431.2.1, 431.2.3 (from memory)",
        "BS 7671:2018, 431.2.1, 431.2.3 (from memory)",
    ],
)
def neutral_current(study: Study, here: Here) -> Verdict | None:
    """√(|Σ I_line · e^jφ|² + (Σ 3 h_3 · I_b)²) ≤ I_n of the feeder

    Lines fed in phase add up in the neutral, and so does every third harmonic; no device
    watches it. A cable ahead that feeds other boards too carries what all of them return.
    """
    feeder = neutral_of(study.job, here.board, Mode.ISLAND)
    if len(study.job.phases) == 1:
        return None
    if feeder is None:
        raise Unknown(
            Question(field="cables", ask="Which device stands before this board's feeder?")
        )
    study.clean(here)
    own, *ahead = reversed(cables_to(study.job, here.board, Mode.ISLAND) or ())
    shared = [
        cable for cable in ahead if {"N", "PEN"} & {*cable[1].cores} and _shared(study, cable[0])
    ]
    return every(
        [_carried(study, own[0], feeder), *(_carried(study, *_ahead(study, c)) for c in shared)]
    )


def _shared(study: Study, cable: str) -> bool:
    """Whether several boards of the island return through a cable."""
    return len(boards_behind(study.job, cable, Mode.ISLAND)) > 1


def _ahead(study: Study, way: tuple[str, Cable]) -> tuple[str, tuple[str, float]]:
    """A cable ahead of a board, and what protects it: name and rated current [A]."""
    name, cable = way
    by, device = protecting_device(study.job, name, cable, Mode.ISLAND)
    if not isinstance(device, Device):
        raise Unknown(cable.question("device"))
    return name, (by, float(device.i_n_a))


def _carried(study: Study, cable: str, feeder: tuple[str, float]) -> Verdict:
    """What the neutral of one cable carries, against the rating that protects it."""
    name, limit = feeder
    third = _third_harmonic_a(study, cable)
    first, lines = neutral_current_a(study, cable)
    total = math.hypot(first, third)
    spread = spread_of(study.profile, "load_power", total)
    return at_most(
        total,
        limit,
        "A",
        spread=spread,
        because=[
            *(f"I_{line} = {amps:.1f} A at {round(angle)}°" for line, amps, angle in lines),
            f"I_N,1 = {first:.1f} A, I_N,3 = {third:.1f} A, I_N = {total:.1f} A in {cable}",
            f"I_n = {limit:.1f} A ({name})",
        ],
        remedies=[lambda: _relieve(study, total + spread - limit, cable)],
        confirmed="memory",
    )


def _relieve(study: Study, excess_a: float, where: str) -> str:
    """Lines in phase, or one line alone, leave nothing to balance."""
    if study.job.inverter.output.startswith("single-phase"):
        return f"Take load off: {excess_a:.1f} A less in the neutral of {where}."
    return f"Move load to other lines: {excess_a:.1f} A less in the neutral of {where}."


def _third_harmonic_a(study: Study, cable: str) -> float:
    """Third harmonics of all circuits behind a cable, which add up in its neutral [A]."""
    job, total = study.job, 0.0
    for board in boards_behind(job, cable, Mode.ISLAND):
        mine = circuits_of(job, board)
        total += float(job.boards[board].demand_factor) * _thirds_a(study, mine, Mode.ISLAND)
    return total


def _thirds_a(study: Study, names: Iterable[str], mode: Mode) -> float:
    """Third harmonics of some circuits at I_b; they are in phase on all lines and add up [A].

    A line that the mode leaves dead has none.

    Raises
    ------
    Unknown : a load is not known; here more of it is not always worse, so no bound will do
    """
    job = study.job
    total = 0.0
    questions: list[Question] = []
    for circuit in (job.circuits[name] for name in names):
        if mode is Mode.ISLAND and lies_dead(job, circuit):
            continue
        try:
            i_b = design_current_a(job, circuit)[0]
            loads_va(circuit)  # of sockets too: a power that is not known turns the current
            total += i_b * third_share(job, circuit) * len(lines_fed(job, circuit, mode))
        except Unknown as gap:
            questions += gap.questions
    if questions:
        raise Unknown(*questions)
    return total


@rule(
    "neutral.shared-current",
    over="circuits, dead lines too",
    modes=[Mode.GRID, Mode.ISLAND],
    title="A neutral that circuits or lines share must carry all that they return through it",
    clauses=[
        "IEC 60364-5-52:2009, 521.8.2, 523.6 (from memory)",
        CAPACITY,
        "BS 7671:2018, 521.8.2, 523.6 (from memory)",
        CAPACITY_BS,
    ],
)
def shared_current(study: Study, here: Here) -> Verdict | None:
    """√(|Σ I_b · e^jφ|² + (Σ 3 h_3 · I_b)²) ≤ I_z of the shared core

    Told at the circuit whose core it is, and of several lines that an island feeds in phase.
    Each circuit draws I_b or nothing, whichever leaves more; no device watches the sum.
    """
    job = study.job
    owner = job.circuits[here.name]
    others = sharing(job).get(here.name, ())
    if owner.neutral_with is not None or not (others or _in_phase(job, owner, here.mode)):
        return None
    names = [here.name, *others]
    study.clean(here)
    third = _thirds_a(study, names, here.mode)
    returned = [drawn for name in names for drawn in _returned(study, name, here.mode)]
    first = most_together_a([amps for _, amps in returned])
    total = math.hypot(first, third)
    i_z, told = capacity(owner, loaded_in(job, owner))
    sockets = all(job.circuits[name].use in SOCKETS for name in names)
    spread = 0.0 if sockets else spread_of(study.profile, "load_power", total)
    return at_most(
        total,
        float(i_z),
        "A",
        spread=spread + (i_z.spread or 0.0),
        because=[
            *(
                f"{told_by} = {abs(amps):.1f} A at {round(_degrees(amps))}°"
                for told_by, amps in returned
            ),
            f"I_N,1 = {first:.1f} A, I_N,3 = {third:.1f} A, I_N = {total:.1f} A",
            *told,
        ],
        remedies=[
            lambda: f"Give {others[0]} a neutral of its own." if others else None,
            lambda: larger_cable(owner, loaded_in(job, owner), total + spread),
        ],
        means="No device protects this neutral against overload." if total > i_z else "",
        confirmed=weakest(i_z.confirmed, "memory"),
    )


def _in_phase(job: Job, circuit: Circuit, mode: Mode) -> bool:
    """Whether an island feeds several lines of a circuit in phase, with one neutral back."""
    if mode is not Mode.ISLAND or job.inverter.output != BRIDGED:
        return False
    cores = circuit.cores if circuit.gap("cores") is None else ("N",)
    return len(job.lines_of(circuit)) > 1 and "N" in cores


def _returned(study: Study, name: str, mode: Mode) -> list[tuple[str, complex]]:
    """What each line of a circuit returns through the neutral at I_b: whose, and phasor [A]."""
    circuit = study.job.circuits[name]
    if mode is Mode.ISLAND and lies_dead(study.job, circuit):
        return []
    i_b = design_current_a(study.job, circuit)[0]
    solved = study.net.solved(GRID if mode is Mode.GRID else ISLAND)
    found = []
    for line in lines_fed(study.job, circuit, mode):
        volts = solved.voltage(circuit.board, line)
        unit = volts / abs(volts) if abs(volts) else 1.0
        found.append((f"I_b of {name} on {line}", i_b * lagging(circuit) * unit))
    return found


def most_together_a(currents: list[complex]) -> float:
    """Largest sum of any of some phasors [A]; those that would relieve it are left out.

    The largest sum takes all phasors within some half turn, so neighbours by angle are enough.

    >>> round(most_together_a([16, -16, 8j]), 1)
    17.9
    """
    turning = sorted(currents, key=cmath.phase)
    starts = [turning[k:] + turning[:k] for k in range(len(turning))]
    return max((abs(total) for run in starts for total in accumulate(run)), default=0.0)


def _degrees(amps: complex) -> float:
    return math.degrees(cmath.phase(amps))
