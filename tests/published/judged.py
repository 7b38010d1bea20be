"""Printed values that stand as the limit of a finding, or that a small house under fault gives.

Each formula writes a house with the printed inputs, reads it, and asks rules or network.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

from islewright.network.parts import Change
from islewright.network.solve import Network
from islewright.network.state import GRID
from islewright.rules.drop import drop_limit_percent
from islewright.rules.start_dip import largest_start
from islewright.rules.study import study
from islewright.tables import conductor, device, limits
from islewright.tables import profile as country
from tests.network.small import ONE_PHASE, THREE_PHASES, job_of, parts_of
from tests.rules.houses import finding_at, studied

BOARD = "island board"


def _limit(house, rule, place, edits, rules=None):
    """Limit of the finding that a rule makes of a house with some edits."""
    with TemporaryDirectory() as folder:
        found = finding_at(studied(house, edits, Path(folder), rules), rule, place, "grid mode")
    assert found is not None
    return found.limit


def _small(words, *exchanged):
    with TemporaryDirectory() as folder:
        return job_of(Path(folder), words, *exchanged)


def supply_lowest_v(*, profile, u0_v):
    """Lower end of the supply's band."""
    read = {"supply.voltage.lowest": "1 V", "supply.voltage.highest": f"{u0_v} V"}
    edits = {"job.profile": profile, "supply.nominal voltage": f"{u0_v} V", **read}
    return _limit("tt", "voltage.supply-band", "house", edits)


def supply_highest_v(*, profile, u0_v):
    """Upper end of the supply's band."""
    read = {"supply.voltage.lowest": f"{u0_v} V", "supply.voltage.highest": "900 V"}
    edits = {"job.profile": profile, "supply.nominal voltage": f"{u0_v} V", **read}
    return _limit("tt", "voltage.supply-band", "house", edits)


def drop_limit_v(*, use, volts):
    """Largest voltage drop on the nominal voltage between the conductors of a circuit."""
    return drop_limit_percent(study(_small(ONE_PHASE)), use) / 100 * volts


def load_least_v(*, percent, u0_v):
    """Least voltage at a load under a rule set with one limit of the drop, the supply at U_0."""
    rules = {"supply.tolerance_down": "0"}
    rules |= dict.fromkeys(("volt.drop_lighting", "volt.drop_other"), f"{percent}")
    edits = {"supply.nominal voltage": f"{u0_v} V", "supply.voltage.lowest": f"{u0_v} V"}
    return _limit("tt", "voltage.at-load", "house", edits, rules)


def leakage_limit_ma(*, i_dn_ma):
    """What may leak for good behind an RCD."""
    edits = {"boards.backed-up board.RCDs.R2.trips at": f"{i_dn_ma} mA"}
    return 1000 * _limit("tt", "residual.leakage", "R2, backed-up board", edits)


def arrester_least_v(*, u0_v):
    """Least U_c of a surge arrester from line to neutral."""
    edits = {
        "supply.nominal voltage": f"{u0_v} V",
        "boards.main board.surge arrester.U_c": "60 V",
    }
    return _limit("tn-s", "surge.continuous", "board main board", edits)


def main_bonding_mm2(*, earthing_mm2):
    """First size of copper for the main bonding beside an earthing conductor (BS 7671)."""
    edits = {"job.profile": "GB", "earthing.link.size": f"{earthing_mm2} mm2"}
    edits["earthing.main bonding.water.size"] = "4 mm2"
    least = _limit("tn-s", "earthing.bonding", "house", edits)
    return next(size for size in conductor.sizes("Cu") if size >= least)


def capacity_per_rated(*, i_n_a):
    """What a cable must carry for each ampere of its gG fuse: I_2 / (1.45 · I_n)."""
    share = country("IEC base").number("overload.i2_share")
    return device.fuse_conventional_a(i_n_a) / share / i_n_a


def bonded_ohm(*, curve, i_n_a, within_s):
    """R ≤ U_L / I_a between parts that can be touched at once."""
    return limits.touch_voltage_v() / device.mcb_opening_current_a(curve, i_n_a, within_s)


def rcd_sure_ma(*, i_dn_ma, kind, within_s):
    """Residual current at which an RCD has surely opened in a time."""
    return 1000 * device.rcd_opening_current_a(i_dn_ma / 1000, kind, within_s)


def start_current(*, power_w, power_factor, u0_v, times):
    """Line current of a three-phase motor at its start."""
    motor = f"power: {power_w} W, power factor: {power_factor}, starts at: {times} x"
    one = "lines: L1, cores: L1 N PE, device: B16 6 kA class 3, size: 2.5"
    more = one.replace("lines: L1", "lines: L1 L2 L3").replace("cores: L1", "cores: L1 L2 L3")
    job = _small(
        THREE_PHASES | {"volts": str(u0_v)},
        (one, more),
        ("loads: {heater: 2.3 kW}", f"loads: {{motor: {{{motor}}}}}"),
    )
    start = largest_start(job, job.circuits["heater"])
    assert start is not None
    return start[1]


def tt_fault(*, source_ohm, electrode_ohm, u0_v, quantity):
    """Line on the earthing terminal of a TT house: current, or voltage of the terminal to earth."""
    loop = source_ohm + electrode_ohm + 0.001
    job = _small(
        ONE_PHASE | {"volts": str(u0_v), "earth_loop": f", line-earth loop: {loop} ohm"},
        ("transformer electrode: 1 ohm", f"transformer electrode: {source_ohm} ohm"),
        ("electrode: {resistance: 20 ohm}", f"electrode: {{resistance: {electrode_ohm} ohm}}"),
        ("line-neutral loop: 0.4 ohm", "line-neutral loop: 0.001 ohm"),
    )
    to_earth = Change("join", "fault", "main board.L1", "main board.PE", 1e-4)
    solved = Network(parts_of(job)).solved(GRID.but("line on the frame", changes=(to_earth,)))
    if quantity == "current":
        return abs(solved.current("fault"))
    return abs(solved.voltage("main board", "PE"))


FORMULAS = {
    formula.__name__: formula
    for formula in (
        arrester_least_v,
        bonded_ohm,
        capacity_per_rated,
        drop_limit_v,
        leakage_limit_ma,
        load_least_v,
        main_bonding_mm2,
        rcd_sure_ma,
        start_current,
        supply_highest_v,
        supply_lowest_v,
        tt_fault,
    )
}
