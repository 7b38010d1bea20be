"""Currents that are asked for: design current of a circuit, demand of a board.

No rule stands here; several chapters ask the same question and must get the same answer.
"""

from __future__ import annotations

import math
from functools import lru_cache

from islewright.job.gap import Unknown
from islewright.job.model import Cable, Circuit, Job, Load
from islewright.job.once import once_a_part
from islewright.network.alive import alive
from islewright.network.state import Mode
from islewright.network.way import cables_to, circuits_of, source_end
from islewright.tables.figure import Figure
from islewright.tables.profile import Profile

SOCKETS = ("sockets", "outdoor")


def loads_va(circuit: Circuit) -> float:
    """Apparent power of all loads of a circuit [VA].

    Raises
    ------
    Unknown : the loads, or the power of one, are not stated
    """
    return sum(load_va(circuit, load) for load in circuit.loads.values())


def load_va(circuit: Circuit, load: Load) -> float:
    """Apparent power of one load [VA]; a motor must state its power factor.

    Raises
    ------
    Unknown : power or power factor is not stated
    """
    if "power_factor" not in load.model_fields_set and circuit.use == "motor":
        raise Unknown(load.question("power_factor"))
    return float(load.power_w) / float(load.power_factor)


def load_current_a(job: Job, circuit: Circuit, va: float) -> float:
    """Line current of an apparent power on the circuit's lines [A]."""
    return va / (float(job.supply.nominal_voltage_v) * lines_share(job, circuit))


def lines_share(job: Job, circuit: Circuit) -> float:
    """How many times U_0 one line ampere carries: 1, √3 between two lines, 3 on three."""
    lines = job.lines_of(circuit)
    if len(lines) == 2:
        return 2.0 if job.supply.form == "split phase" else math.sqrt(3)
    return float(len(lines))


def lines_fed(job: Job, circuit: Circuit, mode: Mode) -> tuple[str, ...]:
    """Lines of a circuit that a mode feeds; in grid mode all of them.

    Raises
    ------
    Unknown : its lines, or which of them the island feeds, are not stated
    """
    return job.lines_of(circuit) if mode is Mode.GRID else _in_island(job, circuit)


@once_a_part
def _in_island(job: Job, circuit: Circuit) -> tuple[str, ...]:
    return alive(job, circuit, job.lines_of(circuit))


@once_a_part
def design_current_a(job: Job, circuit: Circuit) -> tuple[float, str]:
    """I_b of a circuit [A], and how it comes about.

    Sockets count with the rated current of their device: nobody knows what gets plugged in.

    Raises
    ------
    Unknown : use or load is not stated
    """
    if circuit.use in SOCKETS:
        return float(circuit.device.i_n_a), f"I_b = I_n = {circuit.device.i_n_a:g} A (sockets)"
    va = loads_va(circuit)
    amps = load_current_a(job, circuit, va)
    times = lines_share(job, circuit)
    u_0 = f"{job.supply.nominal_voltage_v:g} V"
    over = f"({times:.3g} · {u_0})" if times > 1 else u_0
    return amps, f"I_b = {va:.0f} VA / {over} = {amps:.1f} A"


def start_times(circuit: Circuit, load: Load) -> float:
    """How many times its current a load draws at its start; 1 where it has no start.

    A load that does not say has none, but a motor must say so.

    Raises
    ------
    Unknown : it is not known, or a motor does not say
    """
    if "starts_at_x" not in load.model_fields_set and circuit.use == "motor":
        raise Unknown(load.question("starts_at_x"))
    times = load.starts_at_x
    return 1.0 if times is None else float(times)


@once_a_part
def bounded_current_a(job: Job, circuit: Circuit) -> float:
    """I_b, or the rated current of the device as a bound where a load is not known [A].

    Loads that are known and draw more than that count with what they draw.
    """
    try:
        return design_current_a(job, circuit)[0]
    except Unknown:
        return max(float(circuit.device.i_n_a), _known_a(job, circuit))


def _known_a(job: Job, circuit: Circuit) -> float:
    """Line current of those loads of a circuit that are known [A]."""
    if circuit.gap("loads") is not None or circuit.gap("lines") is not None:
        return 0.0
    loads = circuit.loads.values()
    va = sum((x.figure("power_w") or 0.0) / (x.figure("power_factor") or 1.0) for x in loads)
    return load_current_a(job, circuit, va)


def line_demand_a(job: Job, boards: list[str]) -> dict[str, float]:
    """Demand of some boards on each line [A]: sum of I_b times each board's demand factor.

    Currents are summed without regard to angle, which is never too little.

    Raises
    ------
    Unknown : a demand factor is not stated
    """
    total = dict.fromkeys(job.phases, 0.0)
    for board in boards:
        factor = float(job.boards[board].demand_factor)
        for circuit in circuits_of(job, board).values():
            amps = factor * bounded_current_a(job, circuit)
            for line in job.lines_of(circuit):
                total[line] += amps
    return total


def boards_behind(job: Job, cable_name: str, mode: Mode) -> list[str]:
    """Boards whose current flows through a cable in a mode."""
    found = []
    for board in job.boards:
        way = cables_to(job, board, mode)
        if way is not None and cable_name in [name for name, _ in way]:
            found.append(board)
    return found


def protecting_device(job: Job, name: str, cable: Cable, mode: Mode) -> tuple[str, object]:
    """Name and device that protect a cable against overload in a mode, from the source's side.

    Returns
    -------
    its own device, else the nearest one towards the source, else the main fuse
    """
    if cable.device is not None:
        return name, cable.device
    for other, way in reversed(cables_to(job, source_end(job, cable, mode), mode) or ()):
        if way.device is not None:
            return other, way.device
    return ("main fuse", job.supply.main_fuse) if mode is Mode.GRID else ("", None)


def own_spread(profile: Profile, key: str, figure: Figure) -> float:
    """Uncertainty that is stated with a figure, else the profile's, in the figure's unit."""
    return figure.spread or spread_of(profile, key, figure)


def spread_of(profile: Profile, key: str, value: float) -> float:
    """Visible uncertainty of a figure by the profile's assumption, in the figure's unit."""
    return abs(value) * _share(profile, key)


@lru_cache(maxsize=256)
def _share(profile: Profile, key: str) -> float:
    return float(profile.number(f"spread.{key}")) / 100
