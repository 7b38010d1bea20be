"""One job in both worlds: the engine's network, and elements for a general solver."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from islewright.job import Job, read_job
from islewright.network.build import build
from islewright.network.solve import Network, Solved
from islewright.network.state import STATES, State
from islewright.tables.profile import profile
from tests.engines.elements import EARTH, Element
from tests.engines.netlist import elements_of
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting, elements_in

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("cottage", "terrace", "farmhouse", "flat", "workshop", "cabin", "bungalow")
#: houses with RCD groups on the backed-up board, onto which heaters are put
GROUPED = tuple(name for name in NAMES if name != "flat")
CASES = ("hot", "cold")
OURS = {state.name: state for state in STATES}


class House:
    """A job, the engine's network of it, and the elements read off it separately."""

    def __init__(self, path: Path) -> None:
        self.job: Job = read_job(path)
        self.network = Network(build(self.job, profile("IEC base")))
        self.hertz = float(self.job.supply.frequency_hz)
        self.u0 = float(self.job.supply.nominal_voltage_v)

    @classmethod
    def example(cls, name: str) -> House:
        return cls(EXAMPLES / name / f"{name}.yaml")

    @cached_property
    def elements(self) -> dict[str, list[Element]]:
        """All elements, hot and cold."""
        return {case: elements_of(self.job, hot=case == "hot") for case in CASES}

    def elements_in(self, setting: Setting, case: str) -> list[Element]:
        return elements_in(self.elements[case], setting)

    def solved(self, setting: Setting, case: str) -> Solved:
        """The engine's solution of the same setting; one with a mistake is not kept."""
        state = state_of(setting)
        if state.changes:
            return Solved(self.network.layout(case), state, setting.factor)
        return self.network.solved(state, case=case, factor=setting.factor)

    @property
    def bond(self) -> str:
        """Name of the neutral-earth bond's contact."""
        return "bond" if self.job.switch.bond is not None else "inverter bond"


def state_of(setting: Setting) -> State:
    """The engine's state for a setting; contacts that it opens itself stay open."""
    state = OURS[setting.state]
    return state.but(
        state.name,
        opened=state.opened | setting.opened,
        closed=setting.closed,
        changes=setting.changes,
    )


@dataclass(frozen=True, slots=True)
class Difference:
    """Largest deviations: voltages over U_0, currents over the largest of the case."""

    volts: float
    amps: float
    where: str
    largest_a: float


def compare(house: House, setting: Setting, case: str, loads: list[Element] = []) -> Difference:  # noqa: B006
    """Solve a healthy setting on both sides; every node and every current by name."""
    solved = house.solved(setting, case)
    elements = house.elements_in(setting, case)
    circuit = Circuit([*elements, *loads], house.hertz)
    volts = dict(zip(circuit.nodes, circuit.volts(), strict=True)) | {EARTH: 0j}
    x = solved.drive(injection(solved, loads)) if loads else solved.x
    same_names(solved, circuit.nodes, elements)
    by_node = {
        node: abs(solved.voltage(*node.rsplit(".", 1), x=x) - volts[node]) for node in circuit.nodes
    }
    theirs = {e.name: circuit.current(e, volts) for e in elements}
    ours = currents(solved, x)
    by_name = {name: abs(amps - theirs[name]) for name, amps in ours.items()}
    largest = max(map(abs, ours.values()))
    if not np.isfinite([*by_node.values(), *by_name.values()]).all():
        raise ArithmeticError(f"{setting}: not a number")
    node, name = max(by_node, key=by_node.get), max(by_name, key=by_name.get)
    return Difference(
        by_node[node] / house.u0, by_name[name] / max(largest, 1e-12), f"{node}; {name}", largest
    )


def injection(solved: Solved, loads: list[Element]) -> np.ndarray:
    """Load currents as the engine takes them: injected into its nodes [A]."""
    found = np.zeros(solved.layout.nodes, dtype=complex)
    for load in loads:
        found[solved.parts.index[load.a]] -= load.ampere
        found[solved.parts.index[load.b]] += load.ampere
    return found


def currents(solved: Solved, x: np.ndarray) -> dict[str, complex]:
    """Every current that the engine can name: closed branches, cores, electrodes [A]."""
    branches = solved.parts.branches
    found = {
        b.name: solved.current(b.name, x=x)
        for b, c in zip(branches, solved.closed, strict=True)
        if c
    }
    return found | {core.name: solved.core_current(core.name, x=x) for core in solved.parts.cores}


def same_names(solved: Solved, nodes: list[str], elements: list[Element]) -> None:
    """Both sides have the same nodes and elements; a circuit's own lie in the engine's stubs.

    Open contacts may leave a node without element; it is then only the engine's.
    """
    inner = {n for n in nodes if n.startswith("circuit ") and n not in solved.parts.index}
    assert set(nodes) - inner <= set(solved.parts.index)
    circuits = {s.circuit for s in solved.parts.stubs} | {i.circuit for i in solved.parts.inlines}
    assert {n.removeprefix("circuit ").rpartition("/")[0] for n in inner} <= circuits
    ours = {b.name for b, c in zip(solved.parts.branches, solved.closed, strict=True) if c}
    ours |= {core.name for core in solved.parts.cores}
    theirs = {e.name for e in elements if e.kind in ("ohm", "emf")}
    of_circuits = {n for n in theirs - ours if n.startswith(("circuit ", "device "))}
    assert ours == theirs - of_circuits
