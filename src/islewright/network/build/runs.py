"""Cables between places, and final circuits."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from islewright.findings import Question
from islewright.job.gap import Gap, Unknown
from islewright.job.kinds import LINES
from islewright.job.model import Cable, Circuit
from islewright.network.impedance import Pair, circuit_length_m, circuit_way, core_impedance
from islewright.network.parts import Inline, Stub
from islewright.network.places import bar_behind, canonical, earth_bar
from islewright.network.way import may_lie_together
from islewright.tables.rows import NotInTable

if TYPE_CHECKING:
    from islewright.network.build.house import House


def cables(house: House) -> None:
    """Cores of every cable, and the poles of the device at one of its ends."""
    for name, cable in house.job.cables.items():
        start = canonical(bar_behind(cable.from_, cable.behind))
        stop = canonical(cable.to)
        if house.parts.has(f"{stop}/in", "N"):
            stop = f"{stop}/in"
        line, earth = _cable_impedance(house, name, cable)
        for conductor in cable.cores:
            z = earth if conductor == "PE" else line
            _core(house, name, cable, conductor, (start, stop), z)


def _cable_impedance(house: House, name: str, cable: Cable) -> tuple[Pair, Pair]:
    """Line and PE; a joint stands in for a gap, which stains what hangs behind."""
    try:
        made = cable.material, cable.insulation
        line = core_impedance(*made, cable.size_mm2, cable.length_m)
        pe = cable.pe_mm2 if "PE" in cable.cores else None
        return line, line if pe is None else core_impedance(*made, pe, cable.length_m)
    except Unknown as gap:
        house.lacks(f"cable {name}", *gap.questions)
    except NotInTable as odd:
        house.lacks(f"cable {name}", Question(field=cable.path, ask=str(odd)))
    joint = Pair(complex(house.contact_ohm), complex(house.contact_ohm))
    return joint, joint


def _core(
    house: House, name: str, cable: Cable, conductor: str, ends: tuple[str, str], z: Pair
) -> None:
    parts = house.parts
    on = "N" if conductor == "PEN" else conductor
    begin, finish = (parts.node(earth_bar(e) if on == "PE" else e, on) for e in ends)
    if _has_device(cable) and (on in LINES or (conductor == "N" and _watches_neutral(cable))):
        inner = parts.node(f"cable {name}", on)
        if cable.device_at == "from":
            parts.contact(f"device {name}", on, begin, inner, house.contact_ohm)
            begin = inner
        else:
            parts.contact(f"device {name}", on, inner, finish, house.contact_ohm)
            finish = inner
    hot, cold = (value or complex(house.contact_ohm) for value in z)
    parts.core(f"cable {name} {conductor}", begin, finish, hot, cold)


def _has_device(cable: Cable) -> bool:
    """Whether a device may stand there: one that nobody knows is a closed contact too."""
    return cable.gap("device") is not None or cable.device is not None


def _watches_neutral(cable: Cable) -> bool:
    """Whether the device's residual part watches the neutral too; it may where nobody knows."""
    if cable.gap("device") is not None or cable.device is None:
        return True
    return cable.device.gap("residual") is not None or cable.device.residual is not None


def circuits(house: House) -> None:
    """Every circuit as a stub; in the core where a neutral is shared."""
    sharers = {
        name: circuit.neutral_with
        for name, circuit in house.job.circuits.items()
        if circuit.has("neutral_with")
    }
    stubs: dict[str, Stub] = {}
    for name, circuit in house.job.circuits.items():
        try:
            stubs[name] = _stub(house, name, circuit)
        except Unknown as gap:
            house.lacks(f"circuit {name}", *gap.questions)
        except NotInTable as odd:
            house.lacks(f"circuit {name}", Question(field=circuit.path, ask=str(odd)))
    for name, stub in stubs.items():
        if sharers.get(name, name) not in stubs:
            continue  # laid without its owner's neutral it would float; it draws at its bar
        if name in sharers or name in sharers.values():
            _inline(house, stub, sharers.get(name))
        else:
            house.parts.stubs.append(stub)
    _asked_in_vain_whose_neutral(house)
    # laid without its neutral, a sharer would float
    for name, owner in sharers.items():
        if owner is not None:
            house.lacks_too(f"circuit {name}", f"circuit {owner}")


def _asked_in_vain_whose_neutral(house: House) -> None:
    """Note for every circuit of a group that its neutral may be another one's too."""
    asking = [c for c in house.job.circuits.values() if c.gap("neutral_with") is not None]
    for name, circuit in house.job.circuits.items() if asking else ():
        for other in asking:
            if may_lie_together(circuit, other):
                house.lacks(f"circuit {name}", other.question("neutral_with"))


def _stub(house: House, name: str, circuit: Circuit) -> Stub:
    job, parts = house.job, house.parts
    lines = job.lines_of(circuit)
    conductors = (*lines, "N", "PE") if circuit.gap("cores") is Gap.LEFT_OUT else circuit.cores
    if circuit.earth_mm2 is None:
        conductors = tuple(c for c in conductors if c != "PE")
    bar = bar_behind(circuit.board, circuit.behind)
    neutral = _named_bar(house, circuit) if circuit.neutral_at is not None else bar
    bars = {"PE": circuit.board, "N": neutral}
    line = circuit_way(circuit, "L")
    earth = circuit_way(circuit, "PE") if "PE" in conductors else line
    ways = [earth if c == "PE" else line for c in conductors]
    per_m = float(house.profile.number("network.capacitance_per_metre"))
    return Stub(
        circuit=name,
        conductors=conductors,
        nodes=tuple([parts.node(bars.get(c, bar), c) for c in conductors]),
        contact_ohm=house.contact_ohm,
        z_hot=tuple([way.hot for way in ways]),
        z_cold=tuple([way.cold for way in ways]),
        farad=per_m * circuit_length_m(circuit),
        leak_farad=_leakage_a(circuit) / (2 * math.pi * parts.frequency_hz * parts.u0_v),
    )


def _named_bar(house: House, circuit: Circuit) -> str:
    """A bar is named by its board, or by an RCD of the circuit's own board."""
    name = str(circuit.neutral_at)
    return f"{circuit.board}/{name}" if name in house.job.boards[circuit.board].rcds else name


def _leakage_a(circuit: Circuit) -> float:
    """Standing leakage of the loads, those that state one [A]."""
    loads = circuit.loads.values() if circuit.has("loads") else ()
    return sum(load.figure("leakage_a") or 0.0 for load in loads)


def _inline(house: House, stub: Stub, shared: str | None) -> None:
    """Lay a circuit in the core; the neutral of a sharer is the other circuit's."""
    parts, name = house.parts, stub.circuit
    near, far = [], []
    for i, conductor in enumerate(stub.conductors):
        owner = shared if conductor == "N" and shared else name
        near.append(parts.node(f"circuit {owner}/near", conductor))
        far.append(parts.node(f"circuit {owner}/far", conductor))
        if owner == name:
            kind = "pole" if conductor in LINES else "link"
            ends = stub.nodes[i], near[-1]
            parts.contact(f"device {name}", conductor, *ends, stub.contact_ohm, kind=kind)
            z = (value or complex(stub.contact_ohm) for value in (stub.z_hot[i], stub.z_cold[i]))
            parts.core(f"circuit {name} {conductor}", near[-1], far[-1], *z)
    if "PE" in stub.conductors:
        at = stub.conductors.index("PE")
        for i, conductor in enumerate(stub.conductors):
            if i != at:
                leak = stub.leak_farad if conductor in LINES else 0.0
                what = f"circuit {name} {conductor}"
                parts.capacity(what, near[i], near[at], stub.farad / 2)
                parts.capacity(what, far[i], far[at], stub.farad / 2 + leak)
    parts.inlines.append(Inline(name, stub.conductors, tuple(near), tuple(far)))
