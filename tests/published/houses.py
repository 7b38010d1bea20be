"""Printed values that the product reaches by building a house and solving it.

Each formula writes a job file with the printed inputs, reads it, and asks network or rules.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

from islewright.network.loads import LoadFlow
from islewright.network.parts import Change
from islewright.network.solve import Network
from islewright.network.state import GRID, GRID_FEEDING
from islewright.rules.demand import design_current_a
from tests.network.probe import loop_ohm
from tests.network.small import ONE_PHASE_PEN, THREE_PHASES, job_of, parts_of

BOARD = "island board"
HEATER = "size: 2.5 mm2, length: 20 m, use: heating, loads: {heater: 2.3 kW}"
ROOT_3 = 3**0.5


def _house(words, *exchanged):
    with TemporaryDirectory() as folder:
        job = job_of(Path(folder), words, *exchanged)
    return job, Network(parts_of(job))


def _neutral_broken(line_voltage_v, **ohms):
    """Loads from line to neutral behind a neutral that is open before them."""
    _, net = _house(THREE_PHASES | {"volts": f"{line_voltage_v / ROOT_3:.6f}"})
    loads = [
        Change("join", f"load {line}", f"{BOARD}.{line.upper()}", f"{BOARD}.N", ohm)
        for line, ohm in ohms.items()
    ]
    changes = (Change("open", "cable house side N"), *loads)
    return net.solved(GRID.but("neutral broken", changes=changes))


def broken_neutral_a(*, line_voltage_v, l1, l2):
    """Current through two loads that lie in series between two lines."""
    return abs(_neutral_broken(line_voltage_v, l1=l1, l2=l2).current("load l1"))


def broken_neutral_v(*, line_voltage_v, l1, l2, at):
    """Voltage of one of them."""
    solved = _neutral_broken(line_voltage_v, l1=l1, l2=l2)
    return abs(solved.voltage(BOARD, at, to=(BOARD, "N")))


def star_point_v(*, line_voltage_v, l1, l2, l3):
    """Voltage of the star point of three loads behind a broken neutral."""
    return abs(_neutral_broken(line_voltage_v, l1=l1, l2=l2, l3=l3).voltage(BOARD, "N"))


def loop_at_far_end(*, external_ohm, line_mm2, earth_mm2, length_m):
    """External loop and what the network's own loop grows by along a cold circuit."""
    laid = f"size: {line_mm2} mm2, earth: {earth_mm2} mm2, length: {length_m} m, use: heating, "
    _, net = _house(ONE_PHASE_PEN, (HEATER, f"{laid}loads: {{heater: 2.3 kW}}"))
    near, far = (loop_ohm(net, GRID, "circuit heater", "L1-PE", end=e) for e in ("near", "far"))
    return external_ohm + abs(far - near)


def drop_along(*, power_w, voltage_v, length_m, size_mm2):
    """Voltage drop of a loaded circuit from its bar to its far end, hot."""
    laid = f"size: {size_mm2} mm2, length: {length_m} m, use: heating, "
    words = ONE_PHASE_PEN | {"volts": str(voltage_v)}
    job, net = _house(words, (HEATER, f"{laid}loads: {{heater: {power_w} W}}"))
    amps = design_current_a(job, job.circuits["heater"])[0]
    flow = LoadFlow(job, net.solved(GRID), {"heater": amps})
    return flow.drop_v("heater", f"{BOARD}/R1")[0]


def fed_current(*, power_va, voltage_v):
    """Current in the cable of an inverter that feeds its rated power into the grid."""
    words = ONE_PHASE_PEN | {"volts": str(voltage_v)}
    rated = ("rated power: 4.6 kVA", f"rated power: {power_va} VA")
    _, net = _house(words, rated)
    return abs(net.solved(GRID_FEEDING).core_current("cable inverter cable L1"))


def design_current(*, power_w, power_factor, u0_v, lines):
    """I_b of a load as the rules take it."""
    load = f"loads: {{heater: {{power: {power_w} W, power factor: {power_factor}}}}}"
    one = "lines: L1, cores: L1 N PE, device: B16 6 kA class 3, size: 2.5"
    more = (one, one.replace("L1", " ".join(("L1", "L2", "L3")[: int(lines)])))
    words = THREE_PHASES | {"volts": str(u0_v)}
    job, _ = _house(words, more, ("loads: {heater: 2.3 kW}", load))
    return design_current_a(job, job.circuits["heater"])[0]


FORMULAS = {
    formula.__name__: formula
    for formula in (
        broken_neutral_a,
        broken_neutral_v,
        design_current,
        drop_along,
        fed_current,
        loop_at_far_end,
        star_point_v,
    )
}
