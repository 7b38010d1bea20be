"""The elements of a job, read off the job and `docs/network.md` alone.

A second reading of the same page: nothing here looks at the engine's elements or matrices.
The supply lies in `incomer`, the positions of the states in `positions`.
"""

from __future__ import annotations

import cmath
import math

from islewright.job import Unknown
from islewright.job.kinds import AS_LINE
from tests.engines.elements import EARTH, Element, assumed, core_ohm
from tests.engines.incomer import incomer

SWITCH = "islanding switch"
TERMINAL = "main earthing terminal"
SAME_BAR = {"islanding switch/inverter": "islanding switch/house", "inverter/output": "inverter"}


def elements_of(job, *, hot: bool) -> list[Element]:
    """Every element of a job with every contact closed and every source running."""
    house = _House(job, hot=hot)
    return [
        *incomer(job, hot=hot),
        *house.earth(),
        *house.boards(),
        *house.switch(),
        *house.inverter(),
        *house.pv(),
        *(e for name, cable in job.cables.items() for e in house.cable(name, cable)),
        *house.split(),
        *(e for name in job.circuits for e in house.circuit_or_gap(name)),
    ]


def phasor(job, line: str) -> complex:
    """EMF of a line [V]."""
    u0 = float(job.supply.nominal_voltage_v)
    if job.supply.form == "split phase":
        return complex({"L1": u0, "L2": -u0}[line])
    return cmath.rect(u0, {"L1": 0, "L2": -2, "L3": 2}[line] * math.pi / 3)


class _House:
    def __init__(self, job, *, hot: bool) -> None:
        self.job, self.hot = job, hot
        self.contact = max(assumed("network.contact"), 1e-4)
        self.live = [*job.phases, "N"]

    def core(self, cable, size: float, length: float) -> complex:
        return core_ohm(cable.material, size, length, hot=self.hot, insulation=cable.insulation)

    def run(self, owner, field: str) -> complex:
        """A conductor of its own, else a joint."""
        if not owner.has(field):
            return complex(self.contact)
        run = getattr(owner, field)
        return core_ohm(run.material, run.size_mm2, run.length_m, hot=self.hot)

    def closed(self, name: str, a: str, b: str, ohm: float | None = None, role="contact"):
        value = self.contact if ohm is None else max(float(ohm), 1e-4)
        return Element(name, a, b, ohm=complex(value), role=role)

    def bar(self, place: str, conductor: str, *, arriving: bool = False) -> str:
        """Node of a place: PE lies on the board's own bar, what arrives before the switch."""
        place = SAME_BAR.get(place, place)
        if conductor == "PE":
            return f"{place.split('/', maxsplit=1)[0]}.PE"
        board = self.job.boards.get(place)
        if arriving and board is not None and board.main_switch is not None:
            place += "/in"
        return f"{place}.{conductor}"

    def earth(self):
        earthing = self.job.earthing
        met = f"{TERMINAL}.PE"
        board = self.bar(earthing.main_earthing_terminal, "PE")
        yield Element("earthing terminal link", met, board, ohm=self.run(earthing, "link"))
        rod = earthing.electrode
        if rod is not None:
            z = self.run(rod, "conductor")
            yield Element("earthing conductor", met, "electrode.PE", ohm=z)
            yield Element("electrode", "electrode.PE", EARTH, ohm=complex(rod.resistance_ohm))
        for name, ohm in (
            (earthing.parallel_earths or {}) if earthing.has("parallel_earths") else {}
        ).items():
            yield Element(f"parallel earth {name}", met, EARTH, ohm=complex(ohm))

    def split(self):
        """The joint of N and PE where the PEN ends; the joint of the supply's PE in TN-S."""
        supply = self.job.supply
        if supply.system_earthing == "TN-C-S":
            at = supply.pen_splits_at
            n, pe = self.bar(at, "N", arriving=True), self.bar(at, "PE")
            yield self.closed("PEN split", n, pe)
        by_cable = any("PE" in c.cores for c in self.job.cables.values() if c.from_ == "supply")
        if supply.system_earthing == "TN-S" and not by_cable:
            yield self.closed("supply PE", "supply.PE", f"{TERMINAL}.PE")

    def boards(self):
        for name, board in self.job.boards.items():
            for c in self.live:
                if board.main_switch is not None:
                    yield self.closed(f"main switch {name} {c}", f"{name}/in.{c}", f"{name}.{c}")
                for rcd in board.rcds:
                    yield self.closed(f"RCD {name}/{rcd} {c}", f"{name}.{c}", f"{name}/{rcd}.{c}")

    def switch(self):
        sheet = self.job.switch
        ohm = float(sheet.contact_ohm) if sheet.has("contact_ohm") and sheet.contact_ohm else None
        bypass = (sheet.bypass_poles or ()) if sheet.has("bypass_poles") else ()
        for c in self.live:
            a, b = f"{SWITCH}/grid.{c}", f"{SWITCH}/house.{c}"
            moves = c in sheet.switched_poles
            yield self.closed(f"{SWITCH} {c}", a, b, ohm, "switch" if moves else "contact")
            if c in bypass:
                yield self.closed(f"bypass {c}", a, b, ohm, "bypass")
        if sheet.bond is not None:
            side = "grid" if sheet.bond.at == "grid" else "house"
            yield self.bond("bond", sheet.bond, f"{SWITCH}/{side}.N", f"{SWITCH}.PE")

    def bond(self, name: str, bond, n: str, pe: str) -> Element:
        ohm = float(bond.contact_ohm) if bond.contact_ohm else self.contact
        if bond.has("size_mm2") and bond.has("length_m"):
            ohm += core_ohm("copper", bond.size_mm2, bond.length_m, hot=False).real
        return self.closed(
            name, n, pe, ohm, "bond" if bond.closed == "in island mode" else "contact"
        )

    def inverter(self):
        sheet, u0 = self.job.inverter, float(self.job.supply.nominal_voltage_v)
        lines = tuple(self.job.phases)
        if sheet.output == "single-phase" and len(lines) > 1:
            lines = tuple(self.job.placement.inverter.line)
        if sheet.has("impedance_ohm") and sheet.impedance_ohm:
            z = complex(sheet.impedance_ohm)
        else:
            z = (
                assumed("network.inverter_impedance_share")
                * u0**2
                / (float(sheet.rated_va) / len(lines))
            )
        bridged = sheet.output == "single-phase on bridged lines"
        alone = len(lines) == 1 or bridged
        for c in lines:
            node = f"inverter.{c}"
            if bridged and c != lines[0]:
                yield self.closed(f"bridge {c}", f"inverter.{lines[0]}", node, role="inverter")
            else:
                volt = complex(u0) if alone else phasor(self.job, c)
                yield Element(
                    f"inverter {c}",
                    "inverter.N",
                    node,
                    "emf",
                    complex(z),
                    volt=volt,
                    role="inverter",
                )
            if not bridged:
                rated = float(sheet.rated_va) / len(lines) / phasor(self.job, c).conjugate()
                yield Element(f"fed {c}", "inverter.N", node, "amp", ampere=rated, role="fed")
        if sheet.filter_f:
            for c in (*lines, "N"):
                yield Element(
                    f"filter {c}",
                    f"inverter.{c}",
                    "inverter.PE",
                    "farad",
                    farad=float(sheet.filter_f),
                )
        if sheet.bond is not None:
            yield self.bond("inverter bond", sheet.bond, "inverter.N", "inverter.PE")

    def pv(self):
        """Current of PV with an inverter of its own, into the lines of its board."""
        job = self.job
        sheet, u0 = job.pv, float(job.supply.nominal_voltage_v)
        if sheet is None or sheet.coupling != "a.c.":
            return
        board = job.placement.pv.connected_to
        for c in job.phases:
            share = float(sheet.power_w) / len(job.phases)
            ends = f"{board}.N", f"{board}.{c}", "amp"
            grid = share / phasor(job, c).conjugate()
            yield Element(f"PV grid {c}", *ends, ampere=grid, role="PV on the grid")
            # the island's EMFs stand at the supply's angles, unless one EMF drives all it feeds
            output, own = job.inverter.output, job.placement.inverter
            if output == "single-phase" and len(job.phases) > 1 and c not in own.line:
                continue
            amps = share / u0 if output.startswith("single-phase") else grid
            yield Element(f"PV island {c}", *ends, ampere=amps, role="PV in the island")

    def cable(self, name: str, cable):
        begin = f"{cable.from_}/{cable.behind}" if cable.behind else cable.from_
        for core in cable.cores:
            c = "N" if core == "PEN" else core
            a, b = self.bar(begin, c), self.bar(cable.to, c, arriving=True)
            if cable.device is not None and c.startswith("L"):
                inner = f"cable {name}.{c}"
                if cable.device_at == "from":
                    yield self.closed(f"device {name} {c}", a, inner)
                    a = inner
                else:
                    yield self.closed(f"device {name} {c}", inner, b)
                    b = inner
            size = cable.size_mm2
            if core == "PE" and cable.earth_mm2 not in (None, AS_LINE):
                size = cable.earth_mm2
            yield Element(f"cable {name} {core}", a, b, ohm=self.core(cable, size, cable.length_m))

    def circuit_or_gap(self, name: str) -> list[Element]:
        """A circuit with a gap is left out whole."""
        try:
            return list(self.circuit(name, self.job.circuits[name]))
        except Unknown:
            return []

    def circuit(self, name: str, circuit):
        bar = f"{circuit.board}/{circuit.behind}" if circuit.behind else circuit.board
        guest = circuit.neutral_with
        cores = [c for c in circuit.cores if c != "PE" or circuit.earth_mm2 is not None]
        own = {c: guest if c == "N" and guest else name for c in cores}
        for c in cores:
            if own[c] != name:
                continue
            near, far = f"circuit {name}/near.{c}", f"circuit {name}/far.{c}"
            at = self.bar(bar, c)
            if c == "N" and circuit.neutral_at:
                other = circuit.neutral_at
                if other in self.job.boards[circuit.board].rcds:
                    other = f"{circuit.board}/{other}"
                at = f"{other}.N"
            yield self.closed(f"device {name} {c}", at, near)
            yield Element(f"circuit {name} {c}", near, far, ohm=self.way(circuit, c))
        if "PE" not in cores:
            return
        ring = circuit.ring
        length = float(ring.first_leg_m + ring.second_leg_m if ring else circuit.length_m)
        half = assumed("network.capacitance_per_metre") * length / 2
        omega = 2 * math.pi * float(self.job.supply.frequency_hz)
        amps = sum(
            float(x.leakage_a) for x in circuit.loads.values() if x.has("leakage_a") and x.leakage_a
        )
        leak = amps / omega / float(self.job.supply.nominal_voltage_v)
        for c in cores:
            if c == "PE":
                continue
            for end, more in (("near", 0.0), ("far", leak if c != "N" else 0.0)):
                yield Element(
                    f"capacitance {name} {c} {end}", f"circuit {own[c]}/{end}.{c}",
                    f"circuit {name}/{end}.PE", "farad", farad=half + more,
                )  # fmt: skip

    def way(self, circuit, c: str) -> complex:
        size = spur = circuit.size_mm2
        if circuit.ring and circuit.ring.spur_mm2:
            spur = circuit.ring.spur_mm2
        if c == "PE":
            size = spur = size if circuit.earth_mm2 == AS_LINE else circuit.earth_mm2
        ring = circuit.ring
        if ring is None:
            return self.core(circuit, size, circuit.length_m)
        one, two = (self.core(circuit, size, leg) for leg in (ring.first_leg_m, ring.second_leg_m))
        z = 1 / (1 / one + 1 / two)
        if ring.spur_m:
            z += self.core(circuit, spur, ring.spur_m)
        return z
