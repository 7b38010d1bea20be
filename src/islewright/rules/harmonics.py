"""Third harmonics: which share loads have, and what they take off a cable (5-52, Annex E).

No rule stands here; overload and the neutral ask the same loads.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from islewright.job.model import Cable, Circuit, Job
from islewright.job.once import once_a_job, once_a_part
from islewright.network.alive import lies_dead
from islewright.network.state import Mode
from islewright.network.way import circuits_of
from islewright.rules.demand import boards_behind, bounded_current_a, load_va
from islewright.tables.cable import harmonic_factor
from islewright.tables.figure import Figure

if TYPE_CHECKING:
    from islewright.rules.capacity import Carried

LINES = 3


class Harmonic(NamedTuple):
    """Current of the busiest line, and the third harmonic of the lines, their mean [A]."""

    line_a: float
    third_a: float

    @property
    def share(self) -> float:
        """Third harmonic over the line current [%]."""
        return 100 * self.third_a / self.line_a if self.line_a else 0.0

    @property
    def neutral_a(self) -> float:
        """Third harmonics of three lines, which add up in the neutral [A]."""
        return LINES * self.third_a

    @property
    def factor(self) -> Figure:
        """What the cable's capacity is multiplied by."""
        return harmonic_factor(self.share)[0]

    @property
    def governs(self) -> str:
        """Which current the cable is sized by: "line" or "neutral"."""
        return harmonic_factor(self.share)[1]


NOTHING = Harmonic(0.0, 0.0)


@once_a_part
def third_share(_job: Job, circuit: Circuit) -> float:
    """Third harmonic of a circuit's loads together, over their fundamental.

    Raises
    ------
    Unknown : the loads, or a harmonic, or with a harmonic a power, are not stated
    """
    loads = circuit.loads.values()
    shares = [(x.third_harmonic or 0.0) / 100 for x in loads]
    if not any(shares):
        return 0.0
    powers = [load_va(circuit, load) for load in loads]
    whole = sum(powers)
    return sum(va * h for va, h in zip(powers, shares, strict=True)) / whole if whole else 0.0


@once_a_part
def circuit_harmonic(job: Job, circuit: Circuit) -> Harmonic:
    """Third harmonic of a circuit on three lines with a neutral at I_b; else nothing."""
    cores = circuit.cores if circuit.gap("cores") is None else ("N",)
    if len(job.phases) < LINES or len(job.lines_of(circuit)) < LINES or "N" not in cores:
        return NOTHING
    share = third_share(job, circuit)
    i_b = bounded_current_a(job, circuit) if share else 0.0
    return Harmonic(i_b, share * i_b)


def cable_harmonic(job: Job, name: str, cable: Cable, mode: Mode) -> Harmonic:
    """Third harmonic of the demand behind a cable of three lines and neutral; else nothing."""
    lines = [core for core in cable.cores if core.startswith("L")]
    if len(lines) < LINES or not {"N", "PEN"} & set(cable.cores):
        return NOTHING
    behind = boards_behind(job, name, mode)
    if not any(_has_thirds(job, board, mode) for board in behind):
        return NOTHING
    boards = [_board_harmonics(job, board, mode) for board in behind]
    busiest = max(sum(board[line].line_a for board in boards) for line in lines)
    thirds = sum(board[line].third_a for board in boards for line in lines)
    return Harmonic(busiest, thirds / LINES)


@once_a_job
def _has_thirds(job: Job, board: str, mode: Mode) -> bool:
    return any(third_share(job, circuit) for circuit in _alive_on(job, board, mode))


def _alive_on(job: Job, board: str, mode: Mode) -> list[Circuit]:
    """Circuits of a board but those on lines that the island leaves dead."""
    circuits = circuits_of(job, board).values()
    return [each for each in circuits if mode is Mode.GRID or not lies_dead(job, each)]


@once_a_job
def _board_harmonics(job: Job, board: str, mode: Mode) -> dict[str, Harmonic]:
    """Demand of a board on each line, and the third harmonic in it.

    A load that is not known and has none is left out: it would only make the share smaller.
    """
    factor = float(job.boards[board].demand_factor)
    line_a, third_a = dict.fromkeys(job.phases, 0.0), dict.fromkeys(job.phases, 0.0)
    for circuit in _alive_on(job, board, mode):
        share = third_share(job, circuit)
        i_b = factor * (bounded_current_a(job, circuit) if share else _known_a(job, circuit))
        for line in job.lines_of(circuit):
            line_a[line] += i_b
            third_a[line] += share * i_b
    return {line: Harmonic(line_a[line], third_a[line]) for line in job.phases}


def _known_a(job: Job, circuit: Circuit) -> float:
    if all(load.has("power_w") for load in circuit.loads.values()):
        return bounded_current_a(job, circuit)
    return 0.0


def with_harmonic(carried: Carried, harmonic: Harmonic) -> Carried:
    """I_z with what the third harmonic takes off it, and its arithmetic."""
    if not harmonic.third_a:
        return carried
    i_z, told = carried
    k = harmonic.factor
    if float(k) == 1.0:
        return carried
    less = float(k) * float(i_z)
    line = f"k_h3 · I_z = {k:g} · {float(i_z):.1f} A = {less:.1f} A (third harmonic "
    sure = "memory" if "memory" in (k.confirmed, i_z.confirmed) else i_z.confirmed
    spread = None if i_z.spread is None else float(k) * i_z.spread
    figure = Figure(less, source=i_z.source, confirmed=sure, spread=spread)
    return figure, [*told, f"{line}{harmonic.share:.0f} %)"]
