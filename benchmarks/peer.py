"""The best general solver that runs here, on the same house: OpenDSS, and the engine beside it.

The peer's netlist is written from the job by the tests' own reading of `docs/network.md`. Its
faster way is taken: its matrix is factorised once, an idle current source lies across each
pair of conductors, one ampere is sent through one after the other, and the fault's current
follows from the voltages. Moving a fault about as an element takes it thirty times as long.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import opendssdirect as dss
from measure import in_turn_s

from islewright.network.build import build
from islewright.network.fault import Faults, Ports
from islewright.network.solve import Network
from islewright.network.state import GRID as OURS
from islewright.tables.profile import profile
from tests.engines.elements import Element
from tests.engines.faults import Fault, faults_of
from tests.engines.house import House
from tests.engines.netlist import elements_of
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting, elements_in

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]

GRID = Setting(state="grid")
PROBE = "probe"


@dataclass(frozen=True)
class Ratio:
    """Time per fault of the peer and of the engine [s], and how many faults there were."""

    peer_s: float
    ours_s: float
    faults: int

    @property
    def ratio(self) -> float:
        """How many times as long the peer takes."""
        return self.peer_s / self.ours_s


class Peer:
    """A house in OpenDSS with a probe across each pair of conductors that a fault joins."""

    def __init__(self, elements: list[Element], hertz: float, faults: list[Fault]) -> None:
        self.faults = faults
        probes = [
            Element(f"{PROBE} {pair}", b, a, kind="amp", ampere=0j)
            for fault in faults
            for pair, (a, b) in enumerate(fault.pairs)
        ]
        self._first = len(elements)
        self._circuit = Circuit([*elements, *probes], hertz)
        self._healthy = self._circuit.volts()

    def amps(self) -> list[float]:
        """Largest current of each bolted fault [A]."""
        at, healthy, found, probe = self._circuit.index, self._healthy, [], self._first
        for fault in self.faults:
            columns = []
            for _ in fault.pairs:
                columns.append(self._with_one_ampere(probe) - healthy)
                probe += 1
            ends = [(at[a], at[b]) for a, b in fault.pairs]
            z = np.array([[column[b] - column[a] for column in columns] for a, b in ends])
            open_volts = np.array([healthy[b] - healthy[a] for a, b in ends])
            port = np.linalg.solve(z, open_volts)
            found.append(float(max(*np.abs(port), abs(port.sum()))))
        return found

    def _with_one_ampere(self, probe: int) -> Complex:
        """Voltages with one ampere through one probe; nothing is factorised again."""
        dss.Isource.Name(f"e{probe}")
        dss.Isource.Amps(1.0)
        volts = self._circuit.volts()
        dss.Isource.Amps(0.0)
        return volts


def factorised(runs: int) -> Ratio:
    """State solved on both sides; then the current of every fault."""
    house, faults = _house()
    peer = Peer(house.elements_in(GRID, "hot"), house.hertz, faults)
    solved = house.solved(GRID, "hot")
    ports = [Ports(solved.layout, count) for count in (1, 2)]
    _hold_equal(peer.amps(), faults, [Faults(solved, each) for each in ports])
    peer_s, ours_s = in_turn_s(
        peer.amps, lambda: [Faults(solved, each).amps for each in ports], runs=runs
    )
    return Ratio(peer_s / len(faults), ours_s / len(faults), len(faults))


def all_in(runs: int) -> Ratio:
    """From the job that was read to the current of every fault, netlist and elements included."""
    house, faults = _house()

    def peer() -> list[float]:
        elements = elements_in(elements_of(house.job, hot=True), GRID)
        return Peer(elements, house.hertz, faults).amps()

    def ours() -> None:
        network = Network(build(house.job, profile("IEC base")))
        solved = network.solved(OURS, case="hot")
        for count in (1, 2):
            _ = Faults(solved, Ports(solved.layout, count)).amps

    peer_s, ours_s = in_turn_s(peer, ours, runs=runs)
    return Ratio(peer_s / len(faults), ours_s / len(faults), len(faults))


def _house() -> tuple[House, list[Fault]]:
    house = House.example("farmhouse")
    return house, faults_of(house.elements_in(GRID, "hot"), house.job)


def _hold_equal(theirs: list[float], faults: list[Fault], ours: list[Faults]) -> None:
    """Both have the same faults and the same currents.

    Raises
    ------
    ValueError : they do not; then their times say nothing
    """
    mine = {n: a for batch in ours for n, a in zip(batch.ports.names, batch.amps, strict=True)}
    if len(mine) != len(faults):
        raise ValueError(f"{len(mine)} faults here, {len(faults)} there")
    for fault, amps in zip(faults, theirs, strict=True):
        if not abs(mine[fault.name] - amps) <= 1e-6 * amps:
            raise ValueError(f"{fault.name}: {mine[fault.name]} A here, {amps} A there")
