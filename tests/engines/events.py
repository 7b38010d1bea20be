"""An earth fault in the island followed step by step in time, with devices of its own.

Every 30 µs the inverter turns its EMF down by what its poles carry; every millisecond each
device goes on towards its opening at the current that it sees now. The inverter stops when
its time is up and may start again. The limit is electronic: what flows before it has settled,
within the first millisecond, opens no device. Currents per EMF come from OpenDSS, the gates
of the devices stand here.

Belongs here: time. Does not belong here: what the engine's race says (the test).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from tests.engines.faults import JOINT_OHM, Fault
from tests.engines.house import House
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting

ISLAND = Setting(state="island, on the battery")
#: steps of the first tenth of a second, and after it [s]
FINE_S, COARSE_S, FINE_UNTIL_S = 1e-3, 1e-2, 0.1
#: steps of the inverter's control in each step of the devices
CONTROLS = 32
#: pause before an inverter that restarts gives voltage again [s]
PAUSE_S = 1.0
#: between the limit within which a device surely holds and that at which it surely opens at
#: once, in times I_n (IEC 60898-1, Table 7)
AT_ONCE = {"B": (3, 5), "C": (5, 10), "D": (10, 20)}
#: longest times of a residual device at 1, 2 and 5 times I_dn, and the shortest of the delayed
#: kind (IEC 61008-1, Table 1)
GENERAL = ((5, 0.0, 0.04), (2, 0.0, 0.15), (1, 0.0, 0.3))
DELAYED = ((5, 0.05, 0.15), (2, 0.06, 0.2), (1, 0.13, 0.5))
NEVER = (math.inf, math.inf)


@dataclass(frozen=True, slots=True)
class Watcher:
    """A device in the way of the fault: whose elements it is, and its gates."""

    role: str
    name: str
    elements: tuple[str, ...]
    curve: str = ""
    rated_a: float = 0.0
    delayed: bool = False

    def window_s(self, amps: float) -> tuple[float, float]:
        """Earliest and latest opening at a steady current [s]."""
        return self.residual_s(amps) if self.role == "RCD" else self.breaker_s(amps)

    def residual_s(self, amps: float) -> tuple[float, float]:
        times = amps / self.rated_a
        if times <= 0.5:
            return NEVER
        rows = DELAYED if self.delayed else GENERAL
        found = next(((lo, hi) for gate, lo, hi in rows if times >= gate), None)
        return found or (rows[-1][1], math.inf)

    def breaker_s(self, amps: float) -> tuple[float, float]:
        times, (holds, at_once) = amps / self.rated_a, AT_ONCE[self.curve]
        large = self.rated_a > 32
        latest = [(1.45, 7200.0 if self.rated_a > 63 else 3600.0), (2.55, 120.0 if large else 60.0)]
        latest += [(at_once, 0.1)]
        earliest = [(1.13, math.inf), (2.55, 1.0), (holds, 0.1)]
        return (
            next((s for gate, s in earliest if times <= gate), 0.0),
            next((s for gate, s in reversed(latest) if times >= gate), math.inf),
        )


@dataclass(frozen=True, slots=True)
class Event:
    """What ended a run: when, who, the inverter's starts, the last currents it gave."""

    at_s: float
    who: str
    starts: int
    amps: float


class Course:
    """One earth fault at the end of a circuit of the island, ready to be run many times."""

    def __init__(self, house: House, fault: Fault, watchers: list[Watcher]) -> None:
        self.house, self.watchers = house, watchers
        elements = house.elements_in(ISLAND, "hot")
        by_name = {e.name: e for e in elements}
        circuit = Circuit(elements, house.hertz)
        sources = [e for e in elements if e.kind == "emf"]
        assert all(e.role == "inverter" for e in sources)
        self.poles = np.zeros((len(sources), len(sources)), dtype=complex)
        self.seen = np.zeros((len(watchers), len(sources)), dtype=complex)
        self.fault = np.zeros(len(sources), dtype=complex)
        (a, b) = fault.pairs[0]
        for s, alone in enumerate(sources):
            circuit.scale({e.name: float(e is alone) for e in sources})
            volts = dict(zip(circuit.nodes, circuit.with_joints([(a, b)], JOINT_OHM), strict=True))
            volts["earth"] = 0j
            self.fault[s] = (volts[a] - volts[b]) / JOINT_OHM
            self.poles[:, s] = [circuit.current(e, volts) for e in sources]
            for w, watcher in enumerate(watchers):
                self.seen[w, s] = sum(circuit.current(by_name[n], volts) for n in watcher.elements)
        sheet = house.job.inverter
        self.limit_a = float(sheet.fault_current.to_earth_a)
        self.together = sheet.limits == "all together"

    def turned_down(self, emf: np.ndarray) -> np.ndarray:
        """EMFs after one step of the inverter's limit."""
        flow = np.abs(self.poles @ emf)
        if self.together:
            flow = np.full_like(flow, flow.max())
        return np.minimum(1.0, emf * np.sqrt(self.limit_a / np.maximum(flow, 1e-9)))

    def run(self, chance: list[float], stops_s: float, *, restarts: bool, until_s: float) -> Event:
        """Follow the fault; `chance` 0 to 1 places each device in its window, fast to slow."""
        t, since, starts, amps = 0.0, 0.0, 1, 0.0
        emf, gone = np.ones(len(self.poles)), np.zeros(len(self.watchers))
        while t < until_s:
            step = FINE_S if since < FINE_UNTIL_S else COARSE_S
            for _ in range(CONTROLS if since < FINE_UNTIL_S else 1):
                emf = self.turned_down(emf)
            amps = abs(self.fault @ emf)
            gone += [
                step / _time(w, abs(i), q)
                for w, i, q in zip(self.watchers, self.seen @ emf, chance, strict=True)
            ]
            t, since = t + step, since + step
            if gone.max() >= 1:
                return Event(t, self.watchers[int(gone.argmax())].name, starts, amps)
            if since >= stops_s:
                if not restarts:
                    return Event(t, "inverter", starts, amps)
                t, since, starts = t + PAUSE_S, 0.0, starts + 1
                emf, gone = np.ones(len(self.poles)), np.zeros(len(self.watchers))
        return Event(t, "nobody", starts, amps)


def _time(watcher: Watcher, amps: float, chance: float) -> float:
    """Time to open at a steady current, at one place of the device's window [s]."""
    earliest, latest = watcher.window_s(amps)
    if chance == 0 or math.isinf(earliest):
        return max(earliest, FINE_S)
    return max(earliest + chance * (latest - earliest), FINE_S)


def watchers_of(house: House, name: str) -> list[Watcher]:
    """Devices from a circuit of the backed-up board back to the inverter, by the job alone."""
    job = house.job
    circuit = job.circuits[name]
    live = [c for c in circuit.cores if c != "PE"]
    own = tuple(f"device {name} {c}" for c in live)
    found = [_breaker(circuit.device, f"device {name} {circuit.lines[0]}")]
    if circuit.device.residual is not None:
        found.append(_residual("its own RCBO", circuit.device.residual, own))
    if circuit.behind:
        part = job.boards[circuit.board].rcds[circuit.behind]
        at = f"RCD {circuit.board}/{circuit.behind}"
        every = tuple(f"{at} {c}" for c in (*job.phases, "N"))
        found.append(_residual(circuit.behind, part, every))
    for cable_name in ("house side", "inverter cable"):
        cable = job.cables[cable_name]
        if cable.device is not None:
            found.append(_breaker(cable.device, f"device {cable_name} {circuit.lines[0]}"))
    return found


def _breaker(device, element: str) -> Watcher:
    name = f"{device.curve}{float(device.i_n_a):g}"
    return Watcher("device", name, (element,), str(device.curve), float(device.i_n_a))


def _residual(name: str, part, elements: tuple[str, ...]) -> Watcher:
    delayed = part.delay == "S"
    return Watcher("RCD", name, elements, "", float(part.trips_at_a), delayed)
