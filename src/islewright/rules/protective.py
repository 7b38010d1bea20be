"""Chapter: size of protective conductors (IEC 60364-5-54, 543)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache, partial

from islewright.findings import Arithmetic, Remedy, Status, Verdict, at_least
from islewright.job.laying import Laying
from islewright.network.race import guards_at
from islewright.network.state import Mode
from islewright.network.way import Guard
from islewright.rules.clearing import ahead_of
from islewright.rules.disconnection import earthed
from islewright.rules.energy import LONGEST_S, largest_fault_current_a, let_through_a2s, told_a2s
from islewright.rules.forms import form_of
from islewright.rules.registry import Here, attempt, every, first_way, rule
from islewright.rules.study import Study
from islewright.tables.conductor import (
    k_factor,
    protective_minimum_mm2,
    protective_size_mm2,
    sizes,
)
from islewright.tables.figure import Figure

SIZES = ("IEC 60364-5-54:2011, 543.1.1, 543.1.2, Table 54.2", "BS 7671:2018, 543.1.3, Table 54.7")

UNPROTECTED = "not mechanically protected"

size_by_table = cache(protective_size_mm2)
minimum = cache(protective_minimum_mm2)


@rule(
    "earthing.protective-conductor",
    over="circuits",
    modes=[Mode.GRID],
    title="The protective conductor of a circuit must stand every earth fault",
    clauses=SIZES,
)
def protective_conductor(study: Study, here: Here) -> Verdict | None:
    """S_PE ≥ S by the table, else S_PE ≥ √(I²t) / k

    I²t is the larger of what flows at the far end until the first device has opened, and of
    what a device in the way lets through at the largest fault current of the supply.
    A conductor of its own, outside cable and conduit, also has a least size (543.1.3).
    """
    circuit = study.job.circuits[here.name]
    return _sized(study, here, circuit) if earthed(circuit) else None


@rule(
    "earthing.protective-conductor-cable",
    over="cables",
    modes=[Mode.GRID],
    title="The protective conductor of a distribution cable must stand every earth fault",
    clauses=SIZES,
)
def protective_conductor_cable(study: Study, here: Here) -> Verdict | None:
    """S_PE ≥ S by the table, else S_PE ≥ √(I²t) / k

    The same as for a circuit; what lies nearer to the supply counts where the cable has no
    device of its own.
    """
    cable = study.job.cables[here.name]
    return _sized(study, here, cable) if "PE" in cable.cores else None


@rule(
    "earthing.pen-size",
    over="cables, fed or not",
    modes=[Mode.GRID],
    title="A PEN must be thick enough not to break",
    clauses=["IEC 60364-5-54:2011, 543.4.1 (from memory)", "BS 7671:2018, 543.4.201"],
)
def pen_size(study: Study, here: Here) -> Verdict | None:
    """S_PEN ≥ 10 mm² copper, 16 mm² aluminium

    Where a PEN breaks every frame behind it takes the voltage of a line.
    """
    cable = study.job.cables[here.name]
    if "PEN" not in cable.cores:
        return None
    least = minimum("PEN conductor", "fixed installation", material=cable.material)
    size = float(cable.size_mm2)
    because = [f"PEN of {here.name}: {size:g} mm² {cable.material}; S ≥ {least:g} mm²"]
    return at_least_mm2(size, least, because, lambda: f"Lay a PEN of {least:g} mm² or more.")


TABLE, ENERGY = "table by the line", "adiabatic"
#: which ways a rule set admits, by its word; a table by the rating of the device is not here
SIZING = {"line": (TABLE, ENERGY), "table by the line": (TABLE,), "adiabatic": (ENERGY,)}


def ways_by_profile(study: Study) -> tuple[str, ...]:
    """How the rule set sizes protective conductors: by the table of the line, by I²t, by either.

    Raises
    ------
    NotStated : in a form that is not built in
    """
    return form_of(study.profile, "pe.sizing", SIZING)


def _sized(study: Study, here: Here, laying: Laying) -> Verdict:
    admitted = ways_by_profile(study)
    size = laying.pe_mm2
    if size is None:
        return Verdict(
            status=Status.NOT_MET,
            because=["the cable has no protective conductor"],
            remedies=[lambda: "Lay a cable with a protective conductor."],
            confirmed="page",
        )
    found = first_way(_ways(study, here, laying, float(size), admitted))
    if laying.earth_run == "in the cable":
        return found
    return every([found, _least_separate(laying, float(size))])


def _ways(
    study: Study, here: Here, laying: Laying, size: float, admitted: tuple[str, ...]
) -> Iterator[Verdict]:
    if TABLE in admitted:
        yield _by_line(laying, size)
    for guard in _ahead(study, here) if ENERGY in admitted else ():
        if guard.role == "device":
            yield attempt(partial(_by_energy, study, here, guard, laying, size))


def _ahead(study: Study, here: Here) -> tuple[Guard, ...]:
    """Devices that a fault at a place, or right behind its beginning, meets."""
    return ahead_of(study.job, here, guards_at(study.job, here.kind, here.name, Mode.GRID)[0])


def at_least_mm2(size: float, least: Figure, because: Arithmetic, remedy: Remedy) -> Verdict:
    """A nominal cross-section against the least one of a table [mm²]."""
    return at_least(
        size,
        float(least),
        "mm2",
        spread=0.0,  # nominal against nominal
        because=because,
        remedies=[remedy],
        confirmed=least.confirmed,
    )


def _by_line(laying: Laying, size: float) -> Verdict:
    """Table 54.2: by the line conductor, of the same material."""
    line = float(laying.size_mm2)
    least = size_by_table(line, material=laying.material)
    return at_least_mm2(
        size,
        least,
        lambda: [f"S_line = {line:g} mm²: S_PE ≥ {least:g} mm² by the table"],
        lambda: _thicker(float(least)),
    )


def _by_energy(study: Study, here: Here, guard: Guard, laying: Laying, size: float) -> Verdict:
    """543.1.2: what heats the conductor until a device has opened."""
    far, far_told, slow_s = _far_a2s(study, here)
    near, near_told = _near_a2s(study, guard)
    k = k_of(laying)
    energy = max(far, near)
    least = math.sqrt(energy) / k
    because = [f"far end: {far_told}", f"near end: {near_told}"]
    if slow_s > LONGEST_S:
        return Verdict(
            status=Status.NOT_MET,
            because=lambda: [*because, f"no device has surely opened within {LONGEST_S:g} s"],
            remedies=[lambda: _by_table_remedy(laying)],
            confirmed="two pages",
        )
    share = float(study.profile.number("spread.loop_reading")) / 100 if far > near else 0.0
    return at_least(
        size,
        least,
        "mm2",
        spread=least * share,
        because=lambda: [*because, f"S = √({told_a2s(energy)}) / {k:g} = {least:.2f} mm²"],
        remedies=[lambda: _thicker(_next_size(laying, least)), lambda: _by_table_remedy(laying)],
        confirmed=k.confirmed,
    )


def k_of(laying: Laying) -> Figure:
    """Factor k of a protective conductor: a core of its cable, or one of its own."""
    use = "core" if laying.earth_run == "in the cable" else "separate"
    return k_factor(laying.material, laying.insulation, use=use)


def _far_a2s(study: Study, here: Here) -> tuple[float, str, float]:
    """I²t at the far end until the first device has opened, in words, and that time [A²s, s]."""
    row = study.followed(here)
    times = [(bar.latest_s, bar.name) for bar in row.bars if not bar.questions]
    latest, name = min(times, default=(math.inf, "nothing"))
    amps = row.current_a
    lasts = f"· {latest:g} s ({name})" if math.isfinite(latest) else "for ever: nothing opens"
    return amps * amps * latest, f"({amps:.4g} A)² {lasts}", latest


def _near_a2s(study: Study, guard: Guard) -> tuple[float, str]:
    """I²t of a fault right behind a device that it lets through [A²s], and how it comes about.

    In a TT house the electrode holds the current down; that of a short circuit counts all
    the same, since nobody answers for the electrode staying as high.
    """
    guard.must_be_known()
    assert guard.device is not None  # noqa: S101 - the caller takes devices alone
    return let_through_a2s(guard.device, largest_fault_current_a(study.job))


def _thicker(size: float) -> str:
    return f"Lay a protective conductor of {size:g} mm² or more."


def _by_table_remedy(laying: Laying) -> str:
    return _thicker(float(size_by_table(float(laying.size_mm2), material=laying.material)))


def _least_separate(laying: Laying, size: float) -> Verdict:
    """543.1.3: a conductor that lies by itself must not break."""
    how = "mechanically protected" if laying.earth_run == "separate, protected" else UNPROTECTED
    least = minimum("separate protective conductor", how, material=laying.material)
    told = f"it lies by itself, {how}: S_PE ≥ {least:g} mm²"
    return at_least_mm2(size, least, [told], lambda: _thicker(float(least)))


def _next_size(laying: Laying, least: float) -> float:
    return next((s for s in sizes(laying.material) if s >= least), least)
