"""Job to elements: every conductor, pole, bond, electrode and source, once.

What cannot be built for want of a figure is left out and noted with its question; what
is assumed is noted too. Does not belong here: states (which poles are closed), arrays.
"""

from __future__ import annotations

import cmath
import math

from islewright.job.equipment import Bond
from islewright.job.gap import Unknown
from islewright.job.kinds import LINES
from islewright.job.model import Cable, Circuit, Job, Run
from islewright.network.parts import EARTH, Branch, Parts, Stub
from islewright.network.supply import SupplyImpedance, supply_impedance
from islewright.tables.conductor import (
    limit_temperature_c,
    reactance_ohm_per_km,
    resistance_ohm_per_km,
)
from islewright.tables.profile import Profile

SWITCH = "islanding switch"
GRID_SIDE = "islanding switch/grid"
HOUSE_SIDE = "islanding switch/house"
MET = "main earthing terminal"
INVERTER = "inverter"
#: resistance of a joint that the survey does not name, and of stand-ins for a gap [Ω]
ANGLE_DEG = {"L1": 0.0, "L2": -120.0, "L3": 120.0}


def build(job: Job, profile: Profile) -> Parts:
    """All elements of a job.

    Raises
    ------
    Unknown : a figure without which no state at all can be solved
    """
    parts = Parts(float(job.supply.frequency_hz), float(job.supply.nominal_voltage_v))
    house = _House(job, profile, parts)
    house.public_supply()
    house.earthing()
    for name, board in job.boards.items():
        house.board(name, board.main_switch, board.rcds)
    house.islanding_switch()
    house.inverter()
    for name, cable in job.cables.items():
        house.cable(name, cable)
    house.split_of_pen()
    house.spread_stains()
    for name, circuit in job.circuits.items():
        house.circuit(name, circuit)
    return parts


def canonical(place: str) -> str:
    """House and inverter terminals of the switch are one bar; so are the inverter's own."""
    return {
        "islanding switch/inverter": HOUSE_SIDE,
        "inverter/output": INVERTER,
    }.get(place, place)


def core_impedance(
    material: str, insulation: str | None, size_mm2: float, length_m: float
) -> tuple[complex, complex]:
    """Impedance of one core, hot (insulation's limit) and at 20 °C [Ω]; reactance is a constant."""
    hot = limit_temperature_c(insulation or "PVC")
    x = 1j * reactance_ohm_per_km(size_mm2)
    km = length_m / 1000
    return (
        complex((resistance_ohm_per_km(material, size_mm2, theta_c=hot) + x) * km),
        complex((resistance_ohm_per_km(material, size_mm2, theta_c=20) + x) * km),
    )


def circuit_way(circuit: Circuit, conductor: str) -> tuple[complex, complex]:
    """Impedance of one conductor of a circuit, device to far end [Ω], hot and cold.

    A ring is its two legs side by side, then its longest spur.

    Raises
    ------
    Unknown : a size, a length or the insulation is not stated
    """
    size = circuit.pe_mm2 if conductor == "PE" else circuit.size_mm2
    if size is None:
        return 0j, 0j
    material, insulation, ring = circuit.material, circuit.insulation, circuit.ring
    if ring is None:
        return core_impedance(material, insulation, size, circuit.length_m)
    legs = [
        core_impedance(material, insulation, size, leg)
        for leg in (ring.first_leg_m, ring.second_leg_m)
    ]
    z = [a * b / (a + b) if a + b else 0j for a, b in zip(*legs, strict=True)]
    if ring.has("spur_m"):
        spur_size = ring.spur_mm2 if ring.has("spur_mm2") and conductor != "PE" else size
        spur = core_impedance(material, insulation, spur_size, ring.spur_m)
        z = [total + part for total, part in zip(z, spur, strict=True)]
    return z[0], z[1]


class _House:
    """The builder's state: job, profile, and the parts so far."""

    def __init__(self, job: Job, profile: Profile, parts: Parts) -> None:
        self.job, self.parts = job, parts
        self.contact_ohm = float(profile.number("network.contact"))
        self.profile = profile
        self.live = (*job.phases, "N")

    # --- sources ------------------------------------------------------------------

    def public_supply(self) -> None:
        """Transformer, a piece of the street, the service up to the origin."""
        job, parts, profile = self.job, self.parts, self.profile
        try:
            worst = supply_impedance(job, profile, parts, worst=True)
            best = supply_impedance(job, profile, parts, worst=False)
        except Unknown as gap:
            parts.missing["supply"] = gap.questions
            loop = complex(profile.number("network.stand_in_loop"))
            worst = best = SupplyImpedance(loop, loop, loop, loop.real)
        near = float(profile.number("network.street_share"))
        star = parts.node("transformer", "N")
        for line in job.phases:
            street = parts.node("street", line)
            parts.branches.append(
                Branch("public supply", line, "grid", star, street,
                       worst.z_l * near, best.z_l * near, self.emf(line))
            )  # fmt: skip
            service = parts.node("service", line)
            rest = 1 - near
            parts.core(f"service {line}", street, service, worst.z_l * rest, best.z_l * rest)
            parts.contact("main fuse", line, service, parts.node("supply", line), self.contact_ohm)
        back = [("N", worst.z_n, best.z_n)]
        if job.supply.system_earthing == "TN-S":
            back.append(("PE", worst.z_pe, best.z_pe))
        for conductor, z_worst, z_best in back:
            street = parts.node("street", conductor)
            origin = parts.node("supply", conductor)
            parts.core(f"street {conductor}", star, street, z_worst * near, z_best * near)
            parts.core(
                f"service {conductor}", street, origin, z_worst * (1 - near), z_best * (1 - near)
            )
        self._street_earths(star, worst.r_b, best.r_b)

    def _street_earths(self, star: int, worst_r_b: float, best_r_b: float) -> None:
        parts, supply = self.parts, self.job.supply
        if supply.system_earthing != "IT":
            parts.core("transformer electrode", star, EARTH, worst_r_b, best_r_b)
        street = supply.street if supply.has("street") else None
        if supply.system_earthing == "TN-C-S":
            ohm = float(self.profile.number("network.pen_electrodes"))
            if street is not None and street.has("pen_electrodes_ohm"):
                ohm = float(street.pen_electrodes_ohm)
            else:
                parts.assume("electrodes of the PEN along the street", f"{ohm:g} Ω", "not stated")
            parts.core("PEN electrodes", parts.node("street", "N"), EARTH, ohm, ohm)
        load = float(self.profile.number("network.street_load"))
        for line in self.job.phases:
            parts.contact(
                "street load", line, parts.node("street", line), parts.node("street", "N"), load,
                kind="street load",
            )  # fmt: skip

    def emf(self, line: str) -> complex:
        """Nominal EMF of a line of the public supply [V]."""
        u0 = self.parts.u0_v
        if self.job.supply.form == "split phase":
            return u0 if line == "L1" else -u0
        return cmath.rect(u0, math.radians(ANGLE_DEG[line]))

    def inverter(self) -> None:
        """The inverter: EMFs behind its impedance, filter capacitances, its own bond."""
        job, parts = self.job, self.parts
        sheet = job.inverter
        lines = self._inverter_lines()
        z = self._inverter_impedance()
        neutral = parts.node(INVERTER, "N")
        pe = parts.node(INVERTER, "PE")
        bridged = sheet.output == "single-phase on bridged lines"
        for line in lines:
            terminal = parts.node(INVERTER, line)
            if bridged and line != lines[0]:
                first = parts.node(INVERTER, lines[0])
                parts.contact("bridge", line, first, terminal, self.contact_ohm, kind="link")
                continue
            emf = self.emf(line) if len(lines) > 1 and not bridged else complex(parts.u0_v)
            parts.branches.append(
                Branch(INVERTER, line, "inverter", neutral, terminal, z, z, emf)
            )
        if sheet.gap("filter_f") is not None:
            parts.missing["filter"] = (sheet.question("filter_f"),)
        elif sheet.filter_f is not None:
            for conductor in (*lines, "N"):
                node = parts.node(INVERTER, conductor)
                parts.capacity(f"filter {conductor}", node, pe, float(sheet.filter_f))
        if sheet.gap("bond") is not None:
            parts.missing["bond"] = (sheet.question("bond"),)
        elif sheet.bond is not None:
            self._bond(sheet.bond, INVERTER, INVERTER)

    def _inverter_lines(self) -> tuple[str, ...]:
        job = self.job
        if job.inverter.output == "single-phase":
            placed = job.placement.inverter
            if len(job.phases) == 1:
                return job.phases
            if placed.gap("line") is not None:
                self.parts.missing["inverter"] = (placed.question("line"),)
                return ("L1",)
            return placed.line
        return job.phases

    def _inverter_impedance(self) -> float:
        """Impedance of one phase below its limit [Ω]."""
        sheet = self.job.inverter
        if sheet.has("impedance_ohm"):
            return float(sheet.impedance_ohm)
        share = float(self.profile.number("network.inverter_impedance_share"))
        u0 = self.parts.u0_v
        try:
            phases = max(1, len(self._inverter_lines()))
            base = u0 * u0 / (float(sheet.rated_va) / phases)
        except Unknown:
            base = u0 * u0 / 5000
        self.parts.assume(
            "inverter's impedance below its limit",
            f"{share:g} of U_0² / S",
            "the maker's sheet does not state it",
        )
        return share * base

    # --- earth ------------------------------------------------------------------------

    def earthing(self) -> None:
        """Earthing terminal, electrode, parallel earths, and the link to the board."""
        parts, earthing = self.parts, self.job.earthing
        met = parts.node(MET, "PE")
        try:
            if earthing.electrode is not None:
                electrode = earthing.electrode
                z = self._run("earthing conductor", electrode, "conductor")
                rod = parts.node("electrode", "PE")
                parts.core("earthing conductor", met, rod, *z)
                ohm = complex(electrode.resistance_ohm)
                parts.core("electrode", rod, EARTH, ohm, ohm)
        except Unknown as gap:
            parts.missing["electrode"] = gap.questions
        if earthing.has("parallel_earths"):
            for name, value in (earthing.parallel_earths or {}).items():
                parts.core(f"parallel earth {name}", met, EARTH, complex(value), complex(value))
        try:
            at = earthing.main_earthing_terminal
            parts.core("earthing terminal link", met, parts.node(canonical(at), "PE"),
                       *self._run("link", earthing, "link"))  # fmt: skip
        except Unknown as gap:
            parts.missing[MET] = gap.questions

    def _run(self, what: str, owner: object, field: str) -> tuple[complex, complex]:
        """Impedance of an earthing or bonding conductor; a joint where none is described."""
        if owner.has(field):  # type: ignore[attr-defined]
            run: Run = getattr(owner, field)
            return core_impedance(run.material, None, run.size_mm2, run.length_m)
        self.parts.assume(what, f"{self.contact_ohm * 1000:g} mΩ", "not described; taken as a joint")
        return complex(self.contact_ohm), complex(self.contact_ohm)

    def split_of_pen(self) -> None:
        """Where the PEN ends, N and PE are joined; TN-S and TT have no such place."""
        parts, supply = self.parts, self.job.supply
        if supply.system_earthing == "TN-C-S":
            try:
                at = canonical(supply.pen_splits_at)
            except Unknown as gap:
                parts.missing["supply"] = (*parts.missing.get("supply", ()), *gap.questions)
                return
            neutral = f"{at}/in" if parts.has(f"{at}/in", "N") else at
            parts.contact("PEN split", "", parts.node(neutral, "N"), parts.node(at, "PE"),
                          self.contact_ohm, kind="link")  # fmt: skip
        pe_leaves = any(c.from_ == "supply" and "PE" in c.cores for c in self.job.cables.values())
        if supply.system_earthing == "TN-S" and not pe_leaves:
            parts.contact("supply PE", "", parts.node("supply", "PE"), parts.node(MET, "PE"),
                          self.contact_ohm, kind="link")  # fmt: skip

    # --- boards and switch ------------------------------------------------------------

    def board(self, name: str, main_switch: object, rcds: dict[str, object]) -> None:
        """Busbars, the switch before them, the groups behind them."""
        parts = self.parts
        for conductor in (*self.live, "PE"):
            parts.node(name, conductor)
        if main_switch is not None and not _is_gap(main_switch):
            poles: tuple[str, ...] = main_switch.poles  # type: ignore[attr-defined]
            for conductor in self.live:
                kind = "pole" if conductor in poles else "link"
                parts.contact(f"main switch {name}", conductor, parts.node(f"{name}/in", conductor),
                              parts.node(name, conductor), self.contact_ohm, kind=kind)  # fmt: skip
        for rcd in rcds:
            for conductor in self.live:
                parts.contact(f"RCD {name}/{rcd}", conductor, parts.node(name, conductor),
                              parts.node(f"{name}/{rcd}", conductor), self.contact_ohm)  # fmt: skip

    def islanding_switch(self) -> None:
        """Poles between grid and house terminals, what runs through, bypass and bond."""
        job, parts = self.job, self.parts
        sheet = job.switch
        ohm = float(sheet.contact_ohm) if sheet.has("contact_ohm") else self.contact_ohm
        parts.node(SWITCH, "PE")
        for conductor in self.live:
            ends = parts.node(GRID_SIDE, conductor), parts.node(HOUSE_SIDE, conductor)
            kind = "pole" if conductor in sheet.switched_poles else "link"
            parts.contact(SWITCH, conductor, *ends, max(ohm, 1e-4), kind=kind)
            if sheet.has("bypass_poles") and conductor in (sheet.bypass_poles or ()):
                parts.contact("bypass", conductor, *ends, max(ohm, 1e-4))
        if sheet.gap("bond") is not None:
            parts.missing["bond"] = (sheet.question("bond"),)
        elif sheet.bond is not None:
            try:
                at = {"grid": GRID_SIDE}.get(sheet.bond.at, HOUSE_SIDE)
                self._bond(sheet.bond, at, SWITCH)
            except Unknown as gap:
                parts.missing["bond"] = gap.questions

    def _bond(self, bond: Bond, neutral_at: str, earth_at: str) -> None:
        ohm = float(bond.contact_ohm) if bond.has("contact_ohm") else self.contact_ohm
        if bond.has("size_mm2") and bond.has("length_m"):
            ohm += core_impedance("copper", None, bond.size_mm2, bond.length_m)[1].real
        group = "bond" if earth_at == SWITCH else "inverter bond"
        kind = "bond" if bond.closed == "in island mode" else "link"
        self.parts.contact(
            group, "", self.parts.node(neutral_at, "N"), self.parts.node(earth_at, "PE"),
            max(ohm, 1e-4), kind=kind,
        )  # fmt: skip

    # --- cables and circuits ------------------------------------------------------------

    def bar_behind(self, board: str, behind: str | None) -> str:
        """Place of the bar that a cable or circuit hangs on."""
        return f"{board}/{behind}" if behind else board

    def end(self, place: str, *, arriving: bool) -> str:
        """Place at which a cable ends; what arrives at a board meets its main switch first."""
        place = canonical(place)
        if arriving and self.parts.has(f"{place}/in", "N"):
            return f"{place}/in"
        return place

    def cable(self, name: str, cable: Cable) -> None:
        """Cores of a cable and the poles of the device at one of its ends."""
        start = self.end(self.bar_behind(cable.from_, cable.behind), arriving=False)
        stop = self.end(cable.to, arriving=True)
        try:
            line = core_impedance(cable.material, cable.insulation, cable.size_mm2, cable.length_m)
            earth = line
            if "PE" in cable.cores:
                pe = cable.pe_mm2
                earth = core_impedance(cable.material, cable.insulation, pe or cable.size_mm2, cable.length_m)
        except Unknown as gap:
            self.parts.missing[f"cable {name}"] = gap.questions
            line = earth = (complex(self.contact_ohm), complex(self.contact_ohm))
        for conductor in cable.cores:
            self._one_core(name, cable, conductor, start, stop, earth if conductor == "PE" else line)

    def _one_core(  # noqa: PLR0913
        self, name: str, cable: Cable, conductor: str, start: str, stop: str,
        z: tuple[complex, complex],
    ) -> None:  # fmt: skip
        parts = self.parts
        on = "N" if conductor == "PEN" else conductor
        begin, finish = self._terminal(start, on), self._terminal(stop, on)
        if cable.device is not None and conductor in LINES:
            inner = parts.node(f"cable {name}", on)
            if cable.device_at == "from":
                parts.contact(f"device {name}", on, begin, inner, self.contact_ohm)
                begin = inner
            else:
                parts.contact(f"device {name}", on, inner, finish, self.contact_ohm)
                finish = inner
        parts.core(f"cable {name} {conductor}", begin, finish, *z)

    def _terminal(self, place: str, conductor: str) -> int:
        """PE does not pass through groups and switches: it lies on the board's bar."""
        if conductor == "PE":
            place = SWITCH if place in (GRID_SIDE, HOUSE_SIDE) else place.partition("/")[0]
        return self.parts.node(place, conductor)

    def circuit(self, name: str, circuit: Circuit) -> None:
        """A final circuit as a stub, or in the core where it shares a neutral."""
        try:
            stub = self._stub(name, circuit)
        except Unknown as gap:
            self.parts.missing[f"circuit {name}"] = gap.questions
            return
        hosts = {c.neutral_with for c in self.job.circuits.values() if c.has("neutral_with")}
        if name in hosts or circuit.has("neutral_with"):
            self._inline(stub, circuit)
        else:
            self.parts.stubs.append(stub)

    def _inline(self, stub: Stub, circuit: Circuit) -> None:
        """Lay a circuit in the core; the neutral of a sharer is the other circuit's."""
        parts, name = self.parts, stub.circuit
        shared = circuit.neutral_with if circuit.has("neutral_with") else None
        near, far = [], []
        for i, conductor in enumerate(stub.conductors):
            owner = shared if conductor == "N" and shared else name
            near.append(parts.node(f"circuit {owner}/near", conductor))
            far.append(parts.node(f"circuit {owner}/far", conductor))
            if owner == name:
                kind = "pole" if conductor in LINES else "link"
                parts.contact(f"device {name}", conductor, stub.nodes[i], near[-1],
                              stub.contact_ohm, kind=kind)  # fmt: skip
                parts.core(f"circuit {name} {conductor}", near[-1], far[-1],
                           stub.z_hot[i] or 1e-6, stub.z_cold[i] or 1e-6)  # fmt: skip
        if "PE" in stub.conductors:
            at = stub.conductors.index("PE")
            for i, conductor in enumerate(stub.conductors):
                if i != at:
                    parts.capacity(f"circuit {name} {conductor}", near[i], near[at], stub.farad / 2)
                    extra = stub.leak_farad if conductor in LINES else 0.0
                    parts.capacity(f"circuit {name} {conductor}", far[i], far[at],
                                   stub.farad / 2 + extra)  # fmt: skip
        parts.inlines.append(Inline(name, stub.conductors, tuple(near), tuple(far)))

    def _stub(self, name: str, circuit: Circuit) -> Stub:
        job, parts = self.job, self.parts
        lines = job.lines_of(circuit)
        bar = self.bar_behind(circuit.board, circuit.behind)
        conductors = circuit.cores if not circuit.gap("cores") else (*lines, "N", "PE")
        if circuit.earth_mm2 is None:
            conductors = tuple(c for c in conductors if c != "PE")
        place = {"PE": circuit.board, "N": circuit.neutral_at or bar}
        nodes = tuple(parts.node(self._bar(place.get(c, bar), circuit.board), c) for c in conductors)
        ways = {c: circuit_way(circuit, c) for c in conductors}
        length = circuit.ring.first_leg_m + circuit.ring.second_leg_m if circuit.ring else circuit.length_m
        per_m = float(self.profile.number("network.capacitance_per_metre"))
        leak = sum(float(x.leakage_a) for x in self._loads(circuit) if x.has("leakage_a"))
        omega = 2 * math.pi * parts.frequency_hz
        return Stub(
            circuit=name,
            conductors=conductors,
            nodes=nodes,
            contact_ohm=self.contact_ohm,
            z_hot=tuple(w[0] for w in ways.values()),
            z_cold=tuple(w[1] for w in ways.values()),
            farad=per_m * float(length),
            leak_farad=leak / (omega * parts.u0_v),
        )

    def _bar(self, name: str, board: str) -> str:
        """A bar is named by board, or by RCD of the circuit's own board."""
        return f"{board}/{name}" if name in self.job.boards[board].rcds else name

    @staticmethod
    def _loads(circuit: Circuit) -> list[object]:
        return list(circuit.loads.values()) if circuit.has("loads") else []

    # --- gaps -------------------------------------------------------------------------

    def spread_stains(self) -> None:
        """A cable with a gap leaves everything that hangs behind it undecided."""
        missing = self.parts.missing
        for _ in self.job.cables:
            for name, cable in self.job.cables.items():
                why = (*missing.get(f"cable {name}", ()), *missing.get(f"place {cable.from_}", ()))
                if why:
                    at = f"place {canonical(cable.to)}"
                    missing[at] = tuple(dict.fromkeys((*missing.get(at, ()), *why)))
            if missing.get(f"place {GRID_SIDE}"):
                missing.setdefault(f"place {HOUSE_SIDE}", missing[f"place {GRID_SIDE}"])


def _is_gap(value: object) -> bool:
    from islewright.job.gap import Gap

    return isinstance(value, Gap)
