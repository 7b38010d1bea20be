"""Chapter: current that flows in protective conductors without any fault (543.7)."""

from __future__ import annotations

from collections.abc import Iterator

from islewright.findings import Question, Status, Verdict, at_least, at_most
from islewright.job.gap import Unknown
from islewright.job.laying import Laying
from islewright.job.model import Circuit, Job
from islewright.network.places import INVERTER
from islewright.network.state import Mode
from islewright.network.watched import pv_board
from islewright.network.way import cables_to
from islewright.rules.demand import spread_of
from islewright.rules.disconnection import earthed
from islewright.rules.once import once_a_study
from islewright.rules.protective import at_least_mm2, minimum, size_by_table
from islewright.rules.registry import Here, first_way, rule
from islewright.rules.study import Study

CLAUSES = ("IEC 60364-5-54:2011, 543.7 (from memory)", "BS 7671:2018, 543.7.1 (from memory)")
ABOVE = ("protective conductor current above 10 mA", "single conductor throughout")
MEANS = "Where this conductor breaks, the frames behind it carry that current to whoever touches."


@rule(
    "earthing.high-current",
    over="circuits",
    modes=[Mode.GRID],
    title="A protective conductor that carries more than 10 mA must be sure against breaking",
    clauses=CLAUSES,
)
def high_current(study: Study, here: Here) -> Verdict | None:
    """Σ I_leakage ≤ 10 mA, else S_PE ≥ 10 mm² throughout, or a second protective conductor

    The leakage of all loads of the circuit that state one. A second conductor has the size
    that the table asks of the first, and a terminal of its own.
    """
    circuit = study.job.circuits[here.name]
    parts = list(_leakages(here.name, circuit))
    return _sure(study, circuit, parts) if parts and earthed(circuit) else None


@rule(
    "earthing.high-current-cable",
    over="cables",
    modes=[Mode.GRID],
    title="The protective conductor of a cable that carries more than 10 mA must not break",
    clauses=CLAUSES,
)
def high_current_cable(study: Study, here: Here) -> Verdict | None:
    """Σ I_leakage + I_PE of the inverters ≤ 10 mA, else S_PE ≥ 10 mm², or a second conductor

    Everything behind the cable, seen from the public supply, adds up in its protective
    conductor.
    """
    cable = study.job.cables[here.name]
    if "PE" not in cable.cores or cable.pe_mm2 is None:
        return None
    parts, missing = _behind(study)[here.name]
    if missing:
        raise Unknown(*missing)
    return _sure(study, cable, parts) if parts else None


Parts = list[tuple[str, float]]
Asked = tuple[Question, ...]


def _leakages(name: str, circuit: Circuit) -> Iterator[tuple[str, float]]:
    """Leakage of each load of a circuit that states one [A].

    Raises
    ------
    Unknown : the loads, or the leakage of one, are asked for
    """
    for what, load in circuit.loads.items():
        if load.leakage_a is not None:
            told = what if what == name else f"{what} ({name})"
            yield told, float(load.leakage_a)


@once_a_study
def _behind(study: Study) -> dict[str, tuple[Parts, Asked]]:
    """What each cable's protective conductor carries, and what is not known of it."""
    job = study.job
    found: dict[str, tuple[Parts, list[Question]]] = {name: ([], []) for name in job.cables}
    for name, circuit in job.circuits.items():
        try:
            _add(job, found, circuit.board, list(_leakages(name, circuit)), ())
        except Unknown as gap:
            _add(job, found, circuit.board, [], gap.questions)
    sheet = job.inverter
    if sheet.gap("pe_current_a") is None:
        _add(job, found, INVERTER, [("inverter", float(sheet.pe_current_a))], ())
    else:
        _add(job, found, INVERTER, [], (sheet.question("pe_current_a"),))
    try:
        board = pv_board(job)
        if board is not None and job.pv is not None:
            _add(job, found, board, [("inverter of the PV", float(job.pv.pe_current_a))], ())
    except Unknown as gap:
        for place in _pv_may_be_at(job):
            _add(job, found, place, [], gap.questions)
    return {name: (parts, tuple(missing)) for name, (parts, missing) in found.items()}


def _pv_may_be_at(job: Job) -> list[str]:
    """The board at which PV feeds in, or all where nobody knows at which."""
    placed = job.placement.pv if job.placement.has("pv") else None
    at = placed.connected_to if placed is not None and placed.has("connected_to") else None
    return list(job.boards) if at is None else [str(at)]


def _add(
    job: Job,
    found: dict[str, tuple[Parts, list[Question]]],
    place: str,
    parts: Parts,
    missing: Asked,
) -> None:
    """Book what a place gives on every cable between it and the public supply."""
    for name, _ in cables_to(job, place, Mode.GRID) or ():
        found[name][0].extend(parts)
        found[name][1].extend(missing)


def _sure(study: Study, laying: Laying, parts: Parts) -> Verdict:
    return first_way(_ways(study, laying, parts))


def _ways(study: Study, laying: Laying, parts: Parts) -> Iterator[Verdict]:
    most = float(study.profile.number("pe.high_current"))
    total = sum([amps for _, amps in parts])

    def carried() -> str:
        told = " + ".join(f"{amps * 1000:.3g} mA {what}" for what, amps in parts)
        return f"I_PE = {told} = {total * 1000:.3g} mA" if len(parts) > 1 else f"I_PE = {told}"

    yield at_most(
        total,
        most,
        "A",
        spread=spread_of(study.profile, "maker", total),
        because=lambda: [carried()],
        confirmed="memory",
    )
    least = minimum(*ABOVE, material=laying.material)
    yield at_least(
        float(laying.pe_mm2 or 0.0),
        float(least),
        "mm2",
        spread=0.0,
        because=lambda: [carried(), f"above {most * 1000:g} mA: S_PE ≥ {least:g} mm² throughout"],
        remedies=[
            lambda: f"Lay a protective conductor of {least:g} mm² throughout.",
            lambda: "Lay a second protective conductor, with a terminal of its own.",
        ],
        means=MEANS,
        confirmed=least.confirmed,
    )
    yield _second(laying)


def _second(laying: Laying) -> Verdict:
    """A second protective conductor of the size that the first one needs."""
    if laying.second_earth_mm2 is None:
        return Verdict(status=Status.NOT_MET, because=["there is no second protective conductor"])
    least = size_by_table(float(laying.size_mm2), material=laying.material)
    return at_least_mm2(
        float(laying.second_earth_mm2),
        least,
        [f"second protective conductor: S ≥ {least:g} mm² by the table"],
        lambda: f"Lay the second protective conductor in {least:g} mm².",
    )
