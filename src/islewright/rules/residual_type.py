"""Chapter: types of residual current devices, by the d.c. that can flow through them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from islewright.findings import Question, Status, Verdict, at_most
from islewright.job.device import Residual
from islewright.job.gap import Unknown
from islewright.job.model import Circuit, Job
from islewright.network.state import Mode
from islewright.network.watched import Watcher, on_dc_way, pv_way, watchers
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here, every, rule, undecided
from islewright.rules.study import Study
from islewright.tables.rcd_type import bears_dc_a, sees_wave, type_for_wave, wave_adds_dc_a

PULSED, DETECTED, SMOOTH = "pulsed", "up to 6 mA d.c.", "smooth d.c."
#: what the maker's word on smooth d.c. makes of a fault behind a transformerless inverter
_BY_WORD = {"declared none": PULSED, "up to 6 mA": DETECTED, "possible": SMOOTH}
#: uses whose loads change from day to day
_OPEN_USES = ("sockets", "outdoor", "bathroom")


class Source(NamedTuple):
    """Something whose fault current an RCD must see: who, in which form, and what to ask."""

    who: str
    wave: str
    asks: tuple[Question, ...] = ()


@rule(
    "residual.type",
    over="RCDs",
    modes=[Mode.GRID, Mode.ISLAND],
    title="The type of an RCD must fit the d.c. that a fault can send through it",
    clauses=[
        "IEC 60364-5-53:2019, 531.3.3 (from memory)",
        "IEC 60364-7-712, 712.531.3.101",
        "IEC 60364-7-722, 722.531.3.101 (from memory)",
        "BS 7671:2018+A2:2022, 531.3.3 (from memory)",
    ],
)
def rcd_type(study: Study, here: Here) -> Verdict:
    """Type ≥ the least type of each fault current behind it, AC < A < F < B; Σ I_dc ≤ its share

    Sources of up to 6 mA each add behind one type A, and a type B behind it lets more d.c.
    pass than it bears. A fault behind the inverter returns by its cable: only RCDs between
    the inverter and the joint of neutral and earth see that d.c., no final circuit's.
    """
    watcher = watchers(study.job, here.mode)[here.name]
    watcher.guard.must_be_known()
    rcd = watcher.guard.residual
    assert rcd is not None  # noqa: S101 - a guard of this role that asks nothing has it
    sources = _sources(study, here.name, here.mode)
    demands = [
        *_sum_of_dc(rcd, sources),
        _form(rcd, sources),
        *_blinded(study, watcher, here.mode),
    ]
    if rcd.type == "AC":
        demands.append(_type_ac(study, watcher))
    return every(demands)


def _form(rcd: Residual, sources: tuple[Source, ...]) -> Verdict:
    """Whether the device sees every form of fault current behind it."""
    known = [source for source in sources if not source.asks]
    asks = tuple(q for source in sources if not _harmless(rcd, source) for q in source.asks)
    blind = [source for source in known if not sees_wave(rcd.type, source.wave)]
    because = [f"type {rcd.type}"]
    if blind:
        least = max((type_for_wave(s.wave) for s in blind), key=["A", "F", "B"].index)
        return Verdict(
            status=Status.NOT_MET,
            because=[*because, *(f"{s.who}: {s.wave}, {type_for_wave(s.wave)}" for s in blind)],
            means="Such a fault may leave this RCD blind, also to every other one behind it.",
            remedies=[lambda: f"Fit an RCD of type {least} in its place."],
            confirmed="memory",
        )
    if asks and rcd.type != "B":
        return undecided(Unknown(*dict.fromkeys(asks)))
    told = dict.fromkeys(f"{s.wave}: type {type_for_wave(s.wave)} is enough" for s in known)
    if rcd.type == "B":
        told = {"type B sees every form": None}
    return Verdict(status=Status.MET, because=[*because, *told], confirmed="memory")


def _harmless(rcd: Residual, source: Source) -> bool:
    """Whether a device bears a known form of current, whoever asks whether it lies behind it."""
    wave = source.wave
    return bool(wave) and sees_wave(rcd.type, wave) and not wave_adds_dc_a(wave)


def _sum_of_dc(rcd: Residual, sources: tuple[Source, ...]) -> Iterator[Verdict]:
    """Smooth d.c. that the detectors behind one device let pass together, against its share."""
    adds = [
        (source.who, wave_adds_dc_a(source.wave))
        for source in sources
        if not source.asks and wave_adds_dc_a(source.wave) > 0
    ]
    bears = bears_dc_a(rcd.type)
    if math.isinf(bears) or not adds or any(math.isinf(amps) for _, amps in adds):
        return  # `_form` tells these
    total = sum(amps for _, amps in adds)
    sum_told = " + ".join(f"{amps * 1000:g}" for _, amps in adds)
    yield at_most(
        total,
        float(bears),
        "A",
        spread=0.0,  # what detectors may let pass at most, against what the standard promises
        because=[
            *(f"{who}: up to {amps * 1000:g} mA" for who, amps in adds),
            *([f"Σ I_dc = {sum_told} = {total * 1000:g} mA"] if len(adds) > 1 else []),
            f"type {rcd.type} bears {bears * 1000:g} mA",
        ],
        remedies=[
            lambda: f"Put all but one of {', '.join(who for who, _ in adds)} behind other RCDs.",
            lambda: "Fit an RCD of type B in its place.",
        ],
        confirmed=bears.confirmed,
    )


def _blinded(study: Study, watcher: Watcher, mode: Mode) -> Iterator[Verdict]:
    """A type B behind this one lets pass more d.c. than this one bears."""
    if watcher.guard.residual is None or watcher.guard.residual.type == "B":
        return
    for behind in watchers(study.job, mode).values():
        if watcher.place in behind.before:
            behind.guard.must_be_known()
            held = behind.guard.residual
            assert held is not None  # noqa: S101 - it asks nothing
            if held.type == "B":
                yield _behind_it_is_b(behind.place)
    for name in watcher.circuits:
        circuit = study.job.circuits[name]
        if circuit.use == "charger" and circuit.charging.has("residual"):
            inside = circuit.charging.residual
            if inside is not None and inside.type == "B":
                yield _behind_it_is_b(f"the RCD inside {name}")


def _behind_it_is_b(place: str) -> Verdict:
    return Verdict(
        status=Status.NOT_MET,
        because=lambda: [f"{place} behind it is of type B and lets smooth d.c. above 6 mA pass"],
        means="Smooth d.c. that the type B behind it still bears leaves this RCD blind.",
        remedies=[lambda: "Fit an RCD of type B in its place."],
        confirmed="memory",
    )


def _type_ac(study: Study, watcher: Watcher) -> Verdict:
    """What the rule set says of type AC as such."""
    word = study.profile.text("rcd.type_ac")
    confirmed = study.profile.row("rcd.type_ac").confirmed
    said = f"type AC is {word} by {study.profile.name}"
    circuits = study.job.circuits
    open_uses = [n for n in watcher.circuits if circuits[n].use in _OPEN_USES]
    may_be = [circuits[n] for n in watcher.maybe if circuits[n].use in _OPEN_USES]
    if word == "restricted" and may_be and not open_uses:
        return undecided(Unknown(*(circuit.question("behind") for circuit in may_be)))
    if word == "banned" or (word == "restricted" and open_uses):
        why = "" if word == "banned" else f" to fixed loads without d.c.; {open_uses[0]} is not"
        return Verdict(
            status=Status.NOT_MET,
            because=[said + why],
            remedies=[lambda: "Fit an RCD of type A in its place."],
            confirmed=confirmed,
        )
    return Verdict(status=Status.MET, because=[said], confirmed=confirmed)


# --- what lies behind a device -------------------------------------------------------------


@once_a_study
def _sources(study: Study, place: str, mode: Mode) -> tuple[Source, ...]:
    """Loads behind an RCD, and what feeds in where its d.c. returns through it."""
    watcher = watchers(study.job, mode)[place]
    job = study.job
    found = [s for name in watcher.circuits for s in _loads(name, job.circuits[name])]
    for name in watcher.maybe:
        asks = (job.circuits[name].question("behind"),)
        found += [s._replace(asks=s.asks or asks) for s in _loads(name, job.circuits[name])]
    try:
        if on_dc_way(study.job, watcher.guard, mode):
            found.append(_inverter(study.job))
    except Unknown as gap:
        found.append(Source("the inverter", "", gap.questions))
    try:
        if watcher.guard.branch in pv_way(study.job, mode) and study.job.pv is not None:
            found.append(Source("a fault behind the PV's own inverter", study.job.pv.fault_wave))
    except Unknown as gap:
        found.append(Source("PV", "", gap.questions))
    return tuple(found)


def _loads(name: str, circuit: Circuit) -> Iterator[Source]:
    """Loads of a circuit; a charging point by its own d.c. detection."""
    try:
        if circuit.use == "charger":
            yield from _charger(name, circuit)
            return
        loads = circuit.loads
    except Unknown as gap:
        yield Source(name, "", gap.questions)
        return
    for load in loads.values():
        if load.gap("fault_wave") is None:
            yield Source(name, load.fault_wave)
        else:
            yield Source(name, "", (load.question("fault_wave"),))


def _charger(name: str, circuit: Circuit) -> list[Source]:
    """What charging points let pass: a detector less than 6 mA at each point, none all.

    Raises
    ------
    Unknown : it is not stated whether they have one, or how many there are
    """
    if circuit.charging.dc_detection != "6 mA d.c.":
        return [Source(name, SMOOTH)]
    points = int(circuit.charging.points)
    if points == 1:
        return [Source(name, DETECTED)]
    return [Source(f"point {k + 1} of {name}", DETECTED) for k in range(points)]


def _inverter(job: Job) -> Source:
    """What a fault on the d.c. side of the inverter sends, by its separation and its maker's word.

    Raises
    ------
    Unknown : either is not stated, or no paper is kept for a word that a type A rests on
    """
    sheet = job.inverter
    who = "a fault behind the inverter"
    if sheet.separation == "simple separation":
        return Source(who, PULSED)
    wave = _BY_WORD[sheet.smooth_dc]
    if wave != SMOOTH:
        who += f" ({sheet.smooth_dc_paper})"
    return Source(who, wave)
