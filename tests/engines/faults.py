"""Every fault of a house on both sides: as a joint of 0.1 mΩ, and bolted by merged nodes.

A joint is an element that can be moved in OpenDSS's circuit, 2 ms a fault; merging two
nodes needs a new circuit each time. The list of faults is made from the job, not taken
from the engine.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from islewright.network.fault import Faults, Ports
from islewright.network.fault_plan import FaultName
from tests.engines.elements import EARTH, FLOAT_OHM, Element
from tests.engines.house import House, currents, same_names
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting

#: ohms of a fault's joint, on both sides
JOINT_OHM = 1e-4
TERMINAL = "main earthing terminal.PE"


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault by name, its pairs of nodes, and the node of the exposed part ("" for none)."""

    name: FaultName
    pairs: tuple[tuple[str, str], ...]
    exposed: str


def faults_of(elements: list[Element], job) -> list[Fault]:
    """Every fault at both ends of every circuit and cable; a broken core has none."""
    by_name = {e.name: e for e in elements}
    found = []
    for name, circuit in job.circuits.items():
        owner = circuit.neutral_with or name
        if f"circuit {name} {circuit.lines[0]}" not in by_name:
            continue  # a gap: the circuit is not in the network
        for end in ("near", "far"):
            cores = [c for c in circuit.cores if c != "PE" or circuit.earth_mm2 is not None]
            nodes = {c: f"circuit {owner if c == 'N' else name}/{end}.{c}" for c in cores}
            found += _at(f"circuit {name}", end, nodes)
    for name, cable in job.cables.items():
        for end in ("near", "far"):
            nodes = {}
            for core in cable.cores:
                if element := by_name.get(f"cable {name} {core}"):
                    at = element.a if end == "near" else element.b
                    nodes["N" if core == "PEN" else core] = at
            found += _at(f"cable {name}", end, {"PE": TERMINAL} | nodes)
    return found


def _at(place: str, end: str, nodes: dict[str, str]) -> list[Fault]:
    lines = [c for c in nodes if c.startswith("L")]
    kinds = [(line, other) for other in ("PE", "N") if other in nodes for line in lines]
    kinds += combinations(lines, 2)
    if len(lines) == 3:
        kinds.append(tuple(lines))
    return [
        Fault(
            FaultName(place, end, "-".join(kind)),
            tuple((nodes[c], nodes[kind[-1]]) for c in kind[:-1]),
            nodes.get("PE", ""),
        )
        for kind in kinds
    ]


class OurFaults:
    """The engine's answer to every fault of a setting, each through `ohm`."""

    def __init__(self, house: House, setting: Setting, case: str, ohm: float) -> None:
        self.solved = house.solved(setting, case)
        self.batches = []
        for count in (1, 2):
            ports = Ports(self.solved.layout, count)
            # the joint lies in series with what the circuit itself has before the fault
            ports.local = ports.local + ohm * np.eye(count)
            self.batches.append(Faults(self.solved, ports))

    def names(self) -> set[FaultName]:
        return {name for batch in self.batches for name in batch.ports.names}

    def answer(
        self, fault: Fault, scale: np.ndarray | None = None
    ) -> tuple[np.ndarray, np.ndarray, complex]:
        """Port currents, the whole core's solution, the exposed part's voltage."""
        batch = self.batches[len(fault.pairs) - 1]
        row = batch.ports.position[fault.name]
        factors = None if scale is None else scale[None, :]
        x = batch.unknowns(np.array([row]), factors)[:, 0]
        share = batch.by_emf[row] if scale is None else batch.by_emf[row] * scale
        port = share.sum(axis=1)
        weights, nodes = batch.ports.pe_weights[row], batch.ports.nodes[row]
        return port, x, complex(weights @ x[nodes] + batch.ports.pe_local[row] @ port)


@dataclass(slots=True)
class Worst:
    """Largest deviations over many faults, and the fault that has them."""

    volts: float = 0.0
    amps: float = 0.0
    where: str = ""
    count: int = 0

    def take(self, volts: float, amps: float, where: object) -> None:
        assert np.isfinite([volts, amps]).all()
        if volts > self.volts or amps > self.amps:
            self.where = str(where)
        self.volts, self.amps = max(self.volts, volts), max(self.amps, amps)
        self.count += 1


def compare_faults(house: House, setting: Setting, case: str, *, every: int = 1) -> Worst:
    """Every fault (or each n-th) through a joint: all voltages and currents of both sides."""
    elements = house.elements_in(setting, case)
    faults = faults_of(elements, house.job)
    ours = OurFaults(house, setting, case, JOINT_OHM)
    assert ours.names() == {fault.name for fault in faults}
    circuit = Circuit(elements, house.hertz)
    same_names(ours.solved, circuit.nodes, elements)
    worst = Worst()
    for fault in faults[::every]:
        compare_one(house, circuit, ours, fault, worst)
    return worst


def compare_one(
    house: House, circuit: Circuit, ours: OurFaults, fault: Fault, worst: Worst,
    scale: np.ndarray | None = None,
) -> None:  # fmt: skip
    """One fault: fault current, core voltages, exposed part, every branch and core current."""
    pairs = [pair for pair in fault.pairs if set(pair) <= set(circuit.index)]
    assert len(pairs) == len(fault.pairs)
    volts = dict(zip(circuit.nodes, circuit.with_joints(pairs, JOINT_OHM), strict=True))
    volts[EARTH] = 0j
    port, x, exposed = ours.answer(fault, scale)
    joint = np.array([(volts[a] - volts[b]) / JOINT_OHM for a, b in pairs])
    largest = np.abs(joint).max()
    index = ours.solved.parts.index
    off = np.max([abs(x[index[n]] - volts[n]) for n in circuit.nodes if n in index])
    if fault.exposed:
        off = np.maximum(off, abs(exposed - volts[fault.exposed]))
    mine = currents(ours.solved, x)
    theirs = {e.name: circuit.current(e, volts) for e in circuit.elements if e.name in mine}
    largest = max(largest, *(abs(v) for v in mine.values()))
    amps = np.max([*np.abs(port - joint), *(abs(mine[n] - theirs[n]) for n in mine)])
    worst.take(off / house.u0, amps / largest, fault.name)


def compare_bolted(house: House, setting: Setting, case: str, *, every: int = 1) -> Worst:
    """Every fault (or each n-th) without any impedance: merged nodes against the engine."""
    elements = house.elements_in(setting, case)
    ours = OurFaults(house, setting, case, 0.0)
    worst = Worst()
    for fault in faults_of(elements, house.job)[::every]:
        into = dict(fault.pairs)
        merged = [replace(e, a=into.get(e.a, e.a), b=into.get(e.b, e.b)) for e in elements]
        merged += [Element(f"leak of {a}", b, EARTH, ohm=FLOAT_OHM) for a, b in fault.pairs]
        circuit = Circuit(merged, house.hertz)
        volts = dict(zip(circuit.nodes, circuit.volts(), strict=True)) | {EARTH: 0j}
        volts |= {a: volts[b] for a, b in fault.pairs}
        port, x, exposed = ours.answer(fault)
        theirs = [_arriving(circuit, elements, merged, volts, a) for a, _ in fault.pairs]
        index = ours.solved.parts.index
        off = np.max([abs(x[i] - volts[n]) for n, i in index.items() if n in volts])
        if fault.exposed:
            off = np.maximum(off, abs(exposed - volts[fault.exposed]))
        # on a dead board nothing flows into the fault; the largest current is elsewhere
        largest = max(abs(circuit.current(e, volts)) for e in merged)
        amps = np.abs(port - np.array(theirs)).max() / largest
        worst.take(off / house.u0, amps, fault.name)
    return worst


def _arriving(circuit, elements, merged, volts, node: str) -> complex:
    """Current that flows into a merged node over the elements that it had of its own [A]."""
    total = -volts[node] / FLOAT_OHM
    for before, after in zip(elements, merged, strict=False):
        if node in (before.a, before.b):
            flow = circuit.current(after, volts)
            total += flow if before.b == node else -flow
    return total
