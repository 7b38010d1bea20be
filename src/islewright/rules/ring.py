"""Chapter: ring final circuits (BS 7671, 433.1.204); the IEC base has none."""

from __future__ import annotations

from functools import partial

from islewright.findings import Question, Status, Verdict, at_least, at_most
from islewright.job.model import Circuit, Job
from islewright.network.state import Mode
from islewright.rules.capacity import capacity, larger_cable, loaded_in
from islewright.rules.registry import Here, every, rule
from islewright.rules.study import Study

CLAUSES = ["IEC 60364-4-43:2008, 433.1 (from memory)", "BS 7671:2018, 433.1.204 (from memory)"]


def leg_carries_all(job: Job, circuit: Circuit) -> bool:
    """Whether one leg alone carries the rated current of the device: then it is no matter of rings.

    Raises
    ------
    Unknown : the device or how the cable is laid is not stated
    """
    i_z = capacity(circuit, loaded_in(job, circuit))[0]
    return float(circuit.device.i_n_a) <= i_z - (i_z.spread or 0.0)


def _accepted(study: Study) -> bool:
    """Whether the profile has a rule for rings."""
    return bool(study.profile.row("ring.device_max").value)


def ring_rated(study: Study, circuit: Circuit) -> Verdict:
    """Device, capacity and size of a ring on the terms of the profile."""
    if not _accepted(study):
        return _no_terms(circuit)
    i_z, told = capacity(circuit, loaded_in(study.job, circuit))
    i_n, size = float(circuit.device.i_n_a), float(circuit.size_mm2)
    most, least, least_mm2 = (
        float(study.profile.number(f"ring.{key}"))
        for key in ("device_max", "capacity_min", "size_min")
    )
    lay = partial(larger_cable, circuit, loaded_in(study.job, circuit), least)
    return every([
        at_most(i_n, most, "A", spread=0.0,
                because=lambda: [f"I_n = {i_n:g} A, ring: {most:g} A at most"],
                remedies=[lambda: f"Fit a device of {most:g} A."], confirmed="memory"),
        at_least(float(i_z), least, "A", spread=i_z.spread or 0.0, remedies=[lay],
                 because=lambda: [*told, f"ring: I_z {least:g} A at least"], confirmed="memory"),
        at_least(size, least_mm2, "mm2", spread=0.0, confirmed="memory",
                 because=lambda: [f"S = {size:g} mm², ring: {least_mm2:g} mm² at least"],
                 remedies=[lambda: f"Lay {least_mm2:g} mm² in all of the ring."]),
    ])  # fmt: skip


def _no_terms(circuit: Circuit) -> Verdict:
    return Verdict(
        status=Status.UNDECIDED,
        because=["two legs share the current; the IEC base states no figure for rings"],
        questions=[
            Question(
                field=f"{circuit.path}.ring",
                ask="Which national rule accepts this ring, and on which terms?",
                how="the IEC base knows no ring final circuits",
                whom="the local rules",
            )
        ],
    )


@rule(
    "ring.load",
    over="circuits",
    modes=[Mode.GRID],
    title="The load of a ring must be spread, so that neither leg is overloaded for long",
    clauses=CLAUSES,
)
def ring_load(study: Study, here: Here) -> Verdict | None:
    """Load in any part of the ring ≤ I_z, unless for a short time

    Near an end of the ring nearly all current of a load flows through the short leg.
    """
    circuit = study.job.circuits[here.name]
    if circuit.ring is None or not _accepted(study) or leg_carries_all(study.job, circuit):
        return None
    spread = circuit.ring.load == "spread round the ring"
    i_z, told = capacity(circuit, loaded_in(study.job, circuit))
    return Verdict(
        status=Status.MET if spread else Status.NOT_MET,
        because=[f"I_n = {circuit.device.i_n_a:g} A", *told, f"load: {circuit.ring.load}"],
        means="" if spread else f"One leg may carry more than {float(i_z):.0f} A for hours.",
        remedies=[lambda: "Give the heaviest load a circuit of its own."],
        confirmed="memory",
    )


@rule(
    "ring.spur",
    over="circuits",
    modes=[Mode.GRID],
    title="A spur of a ring must carry what may be plugged in at its end",
    clauses=CLAUSES,
)
def ring_spur(study: Study, here: Here) -> Verdict | None:
    """I_n ≤ I_z of the spur, or on the terms of the profile I_z ≥ what it asks of a spur

    A spur is one cable: nothing shares its current.
    """
    job = study.job
    circuit = job.circuits[here.name]
    ring = circuit.ring
    if ring is None or ring.spur_m is None:
        return None
    size = float(circuit.size_mm2 if ring.spur_mm2 is None else ring.spur_mm2)
    loaded = loaded_in(job, circuit)
    i_z, told = capacity(circuit, loaded, size_mm2=size)
    i_n, off = float(circuit.device.i_n_a), i_z.spread or 0.0
    if leg_carries_all(job, circuit):
        return at_most(
            i_n, float(i_z), "A", spread=off, because=lambda: [f"I_n = {i_n:g} A", *told],
            remedies=[partial(_lay_spur, circuit)], confirmed=i_z.confirmed,
        )  # fmt: skip
    if not _accepted(study):
        return None
    least = float(study.profile.number("ring.spur_capacity_min"))
    return at_least(
        float(i_z), least, "A", spread=off, because=lambda: [*told, f"spur: {least:g} A at least"],
        remedies=[partial(_lay_spur, circuit)], confirmed="memory",
    )  # fmt: skip


def _lay_spur(circuit: Circuit) -> str:
    return f"Lay the spur in {circuit.size_mm2:g} mm², as the ring."
