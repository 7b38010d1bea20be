"""Facts of a job in the words of a drawing; a gap becomes "not known".

Belongs here: one fact, or a few that stand in one text. Does not belong here: what hangs
where (`survey`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, TypeVar

from islewright.job.gap import Unknown
from islewright.job.loops import told_of

if TYPE_CHECKING:
    from islewright.job.device import Device, Residual
    from islewright.job.model import Cable, Circuit, Job

T = TypeVar("T")
D = TypeVar("D")
NOT_KNOWN = "not known"


def known(read: Callable[[], T], otherwise: D) -> T | D:
    """What `read` gives, or `otherwise` where it touches a gap."""
    try:
        return read()
    except Unknown:
        return otherwise


def figure(value: float) -> str:
    """A figure as it is written on a drawing: no more than three digits that matter."""
    return f"{value:.4g}" if value >= 100 else f"{value:.3g}"


def _kilo(value: float, unit: str) -> str:
    return f"{figure(value / 1000)} k{unit}" if value >= 1000 else f"{figure(value)} {unit}"


def supply_words(job: Job) -> tuple[str, ...]:
    """Voltage, frequency and system; the measured loop, else the declared one."""
    supply = job.supply
    u_0 = supply.nominal_voltage_v
    linked = {"three phases": 3**0.5, "split phase": 2.0}.get(supply.form)
    volts = figure(u_0) if linked is None else f"{figure(u_0)}/{_round_volts(u_0 * linked)}"
    system = known(lambda: supply.system_earthing, "system earthing not known")
    loops, _ = told_of(supply, "line_neutral_ohm")  # the reading first
    loop = f"{figure(loops[0].value)} Ω" if loops else NOT_KNOWN
    return (f"{volts} V, {figure(supply.frequency_hz)} Hz, {system}", f"loop L-N {loop}")


def _round_volts(volts: float) -> str:
    """Nominal voltages end on a ten: 398 V is called 400 V."""
    return figure(round(volts / 10) * 10)


def electrode_words(job: Job) -> str:
    """The house's own electrode; empty where there is none."""

    def words() -> str:
        electrode = job.earthing.electrode
        if electrode is None:
            return ""
        return known(
            lambda: f"electrode {figure(electrode.resistance_ohm)} Ω", "electrode, Ω not known"
        )

    return known(words, "electrode not known")


def inverter_words(job: Job) -> tuple[str, ...]:
    """Power; form of its output and line; the most that it gives into a fault."""
    inverter = job.inverter
    power = known(lambda: _kilo(inverter.rated_va, "VA"), "power not known")
    line = known(lambda: " on " + " ".join(job.placement.inverter.line), "")
    output = known(lambda: inverter.output, "output not known")
    line = "" if output == "three-phase with neutral" or not job.phases[1:] else line
    fault = inverter_fault_words(job)
    return (f"Inverter {power}", f"{output}{line}", fault)


def inverter_fault_words(job: Job) -> str:
    """The most that a pole gives into an earth fault, or that nobody has said."""

    def words() -> str:
        fault = job.inverter.fault_current
        amps = f"at most {figure(fault.to_earth_a)} A a pole into a fault"
        return known(lambda: f"{amps}, for {figure(fault.for_s)} s", amps)

    return known(words, "fault current not known")


def battery_words(job: Job) -> str:
    """Battery and its usable capacity; empty where there is none."""

    def words() -> str:
        battery = job.battery
        if battery is None:
            return ""
        return known(lambda: f"Battery {_kilo(battery.usable_wh, 'Wh')}", "Battery, not known")

    return known(words, "Battery not known")


def pv_words(job: Job) -> str:
    """PV array, its power and coupling; empty where there is none."""

    def words() -> str:
        pv = job.pv
        if pv is None:
            return ""
        power = known(lambda: _kilo(pv.power_w, "W"), "not known")
        coupling = known(lambda: "" if pv.coupling == "d.c." else ", a.c. coupled", "")
        return f"PV {power}{coupling}"

    return known(words, "PV not known")


def pv_board(job: Job) -> str:
    """The board in which PV with an inverter of its own feeds in; empty for PV on the d.c. side."""

    def words() -> str:
        if job.pv is None or job.pv.coupling == "d.c.":
            return ""
        placed = job.placement.pv
        return "" if placed is None else placed.connected_to or ""

    return known(words, "")


def cores_words(cores: Iterable[str], size_mm2: float, pe_mm2: float | None) -> str:
    """Cores and cross-section: 3 × 2.5, or 2 × 2.5 + 1.5 where the earth is smaller."""
    cores = tuple(cores)
    size = figure(size_mm2)
    if "PE" in cores and pe_mm2 is not None and pe_mm2 != size_mm2:
        return f"{len(cores) - 1} × {size} + {figure(pe_mm2)}"
    return f"{len(cores)} × {size}"


def laid_words(part: Cable | Circuit) -> str:
    """Cores of a cable in words; each gap leaves out what hangs on it."""

    def words() -> str:
        size = part.size_mm2
        pe = known(lambda: part.pe_mm2, size)
        return known(lambda: cores_words(part.cores, size, pe), figure(size))

    return known(words, "?")


def lines_words(lines: Iterable[str]) -> str:
    """L2, or L1 L3 for two, or L1–L3 for all three."""
    lines = tuple(lines)
    return f"{lines[0]}–{lines[-1]}" if len(lines) > 2 else " ".join(lines)


def residual_words(residual: Residual) -> str:
    """30 mA, type A, with S where delayed."""
    trips = known(lambda: f"{figure(residual.trips_at_a * 1000)} mA", "mA not known")
    kind = known(lambda: f"type {residual.type}", "type not known")
    delay = known(lambda: " S" if residual.delay == "S" else "", "")
    return f"{trips}{delay}, {kind}"


def device_words(read: Callable[[], Device | None]) -> tuple[str, bool]:
    """Name of a device and whether it is a circuit-breaker rather than a fuse."""

    def words() -> tuple[str, bool]:
        device = read()
        if device is None:
            return "", True
        curve = known(lambda: device.curve, None)
        return known(lambda: device.name, "?"), curve != "gG"

    return known(words, ("?", True))


def lines_and_neutral(poles: Iterable[str]) -> str:
    """Poles in words: L1–L3, N."""
    poles = tuple(poles)
    lines = [p for p in poles if p.startswith("L")]
    rest = [p for p in poles if not p.startswith("L")]
    return ", ".join(([lines_words(lines)] if lines else []) + rest)
