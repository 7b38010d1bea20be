"""The conductors of a job as a list of elements between named nodes; no arithmetic on them.

A node is (place, conductor), written `main board.L1`; true earth is the reference and has
the index -1. Admittances are cable cores, electrodes and capacitances; branches are all
that can open, drive or be asked for its current: poles, bonds, links, sources. A stub is
a final circuit with its own inner nodes, which the solver eliminates onto its board.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from islewright.findings import Question
from islewright.network.sheet import Assumption

EARTH = -1
#: leakage of every node to true earth that keeps floating parts regular [S]
NODE_LEAK_S = 1e-9
#: the least that any piece of a conductor has: less would only make figures lie far apart [Ω]
LEAST_CORE_OHM = 1e-6


@dataclass(slots=True)
class Core:
    """One conductor of a cable, an electrode, or any fixed impedance between two nodes.

    `z_hot`, `z_cold` [Ω]: at the insulation's limit, and at 20 °C. The supply's worst and
    best impedance take the same two places: worst goes with hot, best with cold.
    """

    name: str
    a: int
    b: int
    z_hot: complex
    z_cold: complex


@dataclass(slots=True)
class Capacity:
    """Capacitance [F] and conductance [S] between two nodes."""

    name: str
    a: int
    b: int
    farad: float
    siemens: float = 0.0


@dataclass(slots=True)
class Branch:
    """Something that opens, or drives: pole, bond, link, street load, source.

    `group` and `conductor` name it ("islanding switch", "N"); `kind` is "pole", "bond",
    "link", "street load", "grid" or "inverter". `z_hot`, `z_cold` [Ω] lie in series.
    The current counts from a to b: V_b = V_a + emf − z · i.
    """

    group: str
    conductor: str
    kind: str
    a: int
    b: int
    z_hot: complex
    z_cold: complex
    emf: complex = 0j

    @property
    def name(self) -> str:
        """Such as `islanding switch N`; the bond has no conductor."""
        return f"{self.group} {self.conductor}".strip()


@dataclass(slots=True)
class Stub:
    """A final circuit: conductors from attachment through contact and cable to the far end.

    `nodes` holds the attachment of each conductor; `z_hot`, `z_cold` the way from the
    device to the far end per conductor [Ω]; `farad` per conductor to PE, half at each
    end; `leak_farad` from each line to PE at the far end.
    """

    circuit: str
    conductors: tuple[str, ...]
    nodes: tuple[int, ...]
    contact_ohm: float
    z_hot: tuple[complex, ...]
    z_cold: tuple[complex, ...]
    farad: float
    leak_farad: float


@dataclass(slots=True)
class Feed:
    """Current [A] that a grid-following source drives into node `b`, taken out of node `a`.

    `group` says which states let it run: "inverter", "PV on the grid", "PV in the island".
    """

    group: str
    a: int
    b: int
    amps: complex


@dataclass(slots=True)
class Inline:
    """A final circuit whose conductors lie in the core because it shares a neutral.

    `near`, `far` hold the node of each conductor behind the device and at the far end.
    """

    circuit: str
    conductors: tuple[str, ...]
    near: tuple[int, ...]
    far: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """A wiring mistake or a fault as an edit to the elements, before they are solved.

    kind : "open" (core `name` broken), "join" (`a` and `b` joined through `ohm`), "swap"
        (conductors `a` and `b` of the cable or circuit `name` exchanged at its far end)
    """

    kind: str
    name: str = ""
    a: str = ""
    b: str = ""
    ohm: float = 1e-4


@dataclass(slots=True)
class Parts:
    """All elements of a job, and what could not be built."""

    frequency_hz: float
    u0_v: float
    nodes: list[str] = field(default_factory=list)
    index: dict[str, int] = field(default_factory=dict)
    cores: list[Core] = field(default_factory=list)
    capacities: list[Capacity] = field(default_factory=list)
    branches: list[Branch] = field(default_factory=list)
    stubs: list[Stub] = field(default_factory=list)
    feeds: list[Feed] = field(default_factory=list)
    inlines: list[Inline] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)
    #: circuit or place -> what is missing to build it
    missing: dict[str, tuple[Question, ...]] = field(default_factory=dict)

    def node(self, place: str, conductor: str) -> int:
        """Index of a node, made at its first mention."""
        name = f"{place}.{conductor}"
        found = self.index.get(name)
        if found is None:
            found = self.index[name] = len(self.nodes)
            self.nodes.append(name)
        return found

    def has(self, place: str, conductor: str) -> bool:
        """Whether the node exists."""
        return f"{place}.{conductor}" in self.index

    def core(self, name: str, a: int, b: int, z_hot: complex, z_cold: complex) -> None:
        """Add a fixed impedance, a joint's at least."""
        hot, cold = (z if abs(z) > LEAST_CORE_OHM else LEAST_CORE_OHM for z in (z_hot, z_cold))
        self.cores.append(Core(name, a, b, complex(hot), complex(cold)))

    def contact(
        self, group: str, conductor: str, a: int, b: int, ohm: float, *, kind: str = "pole"
    ) -> None:
        """Add a pole, bond or link."""
        self.branches.append(Branch(group, conductor, kind, a, b, complex(ohm), complex(ohm)))

    def capacity(self, name: str, a: int, b: int, farad: float) -> None:
        """Add a capacitance."""
        self.capacities.append(Capacity(name, a, b, farad))

    def assume(self, what: str, value: str, why: str) -> None:
        """Note a figure that the job does not state."""
        told = Assumption(what=what, value=value, why=why)
        if told not in self.assumptions:
            self.assumptions.append(told)

    def places(self) -> Iterable[str]:
        """Every place that has a node, in order of mention."""
        return dict.fromkeys(name.rpartition(".")[0] for name in self.nodes)
