"""OpenDSS and the engine on the same house: time per fault, current alone or every voltage.

The peer's netlist is written from the job by the tests' own reading of `docs/network.md`. Its
faster way is taken: its matrix is factorised once for each state, an idle current source lies
across each pair of conductors, one ampere is sent through one after the other, and the fault
follows from the voltages. Moving a fault about as an element takes it thirty times as long.
From one state to the next it keeps its circuit and opens or closes what differs; hot and cold
conductors are circuits of their own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import opendssdirect as dss
from measure import in_turn_s
from work import every_voltage

from islewright.network.build import build
from islewright.network.fault import Faults, Ports
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND
from islewright.tables.profile import profile
from tests.engines.elements import Element
from tests.engines.faults import Fault, faults_of
from tests.engines.house import CASES, House
from tests.engines.netlist import elements_of
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting, elements_in

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from islewright.job.model import Job

    Complex = NDArray[np.complex128]
    Answer = tuple[list[float], list[Complex]]

#: the two states that govern, in ours and in the peer's words
STATES = (GRID, ISLAND)
PROBE = "probe"
#: all faults of a solved state take us too short a time to be taken once
AGAIN = 20


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
    """A house in OpenDSS with a probe across each pair of conductors that a fault joins.

    Parameters
    ----------
    elements : of all states that will be asked for, each once
    faults : the same in every state
    """

    def __init__(self, elements: list[Element], hertz: float, faults: list[Fault]) -> None:
        self.faults = faults
        self._first = len(elements)
        self.circuit = Circuit([*elements, *probes_of(faults)], hertz)

    def answer(self, *, volts: bool) -> Answer:
        """Largest current of each bolted fault [A]; where asked, every node's voltage too [V]."""
        at, healthy, probe = self.circuit.index, self.circuit.volts(), self._first
        amps, found = [], []
        for fault in self.faults:
            columns = []
            for _ in fault.pairs:
                columns.append(self._with_one_ampere(probe) - healthy)
                probe += 1
            ends = [(at[a], at[b]) for a, b in fault.pairs]
            z = np.array([[column[b] - column[a] for column in columns] for a, b in ends])
            port = np.linalg.solve(z, np.array([healthy[b] - healthy[a] for a, b in ends]))
            amps.append(largest(port))
            if volts:
                found.append(healthy - port @ np.array(columns))
        return amps, found

    def _with_one_ampere(self, probe: int) -> Complex:
        """Voltages with one ampere through one probe; nothing is factorised again."""
        dss.Isource.Name(f"e{probe}")
        dss.Isource.Amps(1.0)
        volts = self.circuit.volts()
        dss.Isource.Amps(0.0)
        return volts


def probes_of(faults: list[Fault]) -> list[Element]:
    """An idle current source across each pair of conductors that a fault joins."""
    return [
        Element(f"{PROBE} {number} {pair}", b, a, kind="amp", ampere=0j)
        for number, fault in enumerate(faults)
        for pair, (a, b) in enumerate(fault.pairs)
    ]


def largest(port: Complex) -> float:
    """Largest conductor current of a fault from its port currents [A]."""
    return float(max(*np.abs(port), abs(port.sum())))


def factorised(runs: int, *, volts: bool = False, again: int = AGAIN) -> Ratio:
    """Grid state, hot, solved on both sides; then every fault, ours `again` times in its turn."""
    house = House.example("farmhouse")
    elements = house.elements_in(Setting(state=GRID.name), "hot")
    faults = faults_of(elements, house.job)
    peer = Peer(elements, house.hertz, faults)
    solved = house.solved(Setting(state=GRID.name), "hot")
    ports = [Ports(solved.layout, count) for count in (1, 2)]

    def ours() -> list[Faults]:
        batches = [Faults(solved, each) for each in ports]
        for batch in batches:
            _ = every_voltage(batch) if volts else batch.amps
        return batches

    hold_equal(peer, peer.answer(volts=volts), ours(), volts=volts)

    def ours_again() -> None:
        for _ in range(again):
            ours()

    peer_s, ours_s = in_turn_s(lambda: peer.answer(volts=volts), ours_again, runs=runs)
    return Ratio(peer_s / len(faults), ours_s / again / len(faults), len(faults))


def all_in(runs: int, *, volts: bool = False) -> Ratio:
    """From the job that was read to every fault of grid and island, hot and cold."""
    house = House.example("farmhouse")
    job, hertz = house.job, house.hertz
    for (peer, theirs), mine in zip(
        their_cases(job, hertz, volts=volts), our_cases(job, volts=volts), strict=True
    ):
        count = len(peer.faults)
        hold_equal(peer, theirs, mine, volts=volts)

    def theirs_again() -> None:
        for _ in their_cases(job, hertz, volts=volts):
            pass

    def ours_again() -> None:
        for _ in our_cases(job, volts=volts):
            pass

    peer_s, ours_s = in_turn_s(theirs_again, ours_again, runs=runs)
    whole = count * len(CASES) * len(STATES)
    return Ratio(peer_s / whole, ours_s / whole, whole)


def their_cases(job: Job, hertz: float, *, volts: bool) -> Iterator[tuple[Peer, Answer]]:
    """The peer and its answer in each of the four cases, one after the other."""
    for case in CASES:
        every = elements_of(job, hot=case == "hot")
        in_state = [elements_in(every, Setting(state=state.name)) for state in STATES]
        together = list({e.name: e for elements in in_state for e in elements}.values())
        peer = Peer(together, hertz, faults_of(in_state[0], job))
        for conducting in in_state:
            peer.circuit.stand({e.name for e in conducting})
            yield peer, peer.answer(volts=volts)


def our_cases(job: Job, *, volts: bool) -> Iterator[list[Faults]]:
    """The engine's faults in each of the four cases, one after the other."""
    network = Network(build(job, profile("IEC base")))
    for case in CASES:
        ports = [Ports(network.layout(case), count) for count in (1, 2)]
        for state in STATES:
            batches = [Faults(network.solved(state, case=case), each) for each in ports]
            for batch in batches:
                _ = every_voltage(batch) if volts else batch.amps
            yield batches


def hold_equal(peer: Peer, theirs: Answer, ours: list[Faults], *, volts: bool) -> None:
    """Both have the same faults, and agree within 1e-6 of the largest current and of 230 V.

    Raises
    ------
    ValueError : they do not; then their times say nothing
    """
    mine = {n: a for batch in ours for n, a in zip(batch.ports.names, batch.amps, strict=True)}
    if {fault.name for fault in peer.faults} != set(mine):
        raise ValueError(f"{len(mine)} faults here, {len(peer.faults)} there")
    most = max(theirs[0])
    for fault, amps in zip(peer.faults, theirs[0], strict=True):
        if not abs(mine[fault.name] - amps) <= 1e-6 * most:
            raise ValueError(f"{fault.name}: {mine[fault.name]} A here, {amps} A there")
    if not volts:
        return
    columns = {}
    for batch in ours:
        names, found = every_voltage(batch)
        where = {name: i for i, name in enumerate(names)}
        order = np.array([where[node] for node in peer.circuit.nodes])
        columns |= dict(zip(batch.ports.names, found[order].T, strict=True))
    for fault, found in zip(peer.faults, theirs[1], strict=True):
        off = np.abs(columns[fault.name] - found).max()
        if not off <= 1e-6 * 230:
            raise ValueError(f"{fault.name}: {off} V apart")
