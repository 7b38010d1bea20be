"""What a cable carries as it is laid (IEC 60364-5-52, 523), and which size would carry more.

No rule stands here; several chapters ask the same cable.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache

from islewright.findings import Question
from islewright.job.gap import Gap, Unknown
from islewright.job.laying import Laying
from islewright.job.model import Circuit, Job
from islewright.job.once import once_a_job, once_a_part
from islewright.network.way import may_lie_together
from islewright.rules.registry import Unlisted
from islewright.tables.cable import (
    ambient_factor,
    ampacity_a,
    ampacity_sizes,
    grouping_factor,
    insulation_factor,
    soil_factor,
)
from islewright.tables.conductor import sizes
from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable, neighbours

CAPACITY = "IEC 60364-5-52:2009, 523, Tables B.52.2 to B.52.19"
CAPACITY_BS = "BS 7671:2018, 523, Appendix 4, Table 52.2 (from memory)"
BURIED = ("D1", "D2")
#: a current that a cable carries, and its arithmetic
Carried = tuple[Figure, list[str]]


def capacity(laying: Laying, loaded: int, *, size_mm2: float | None = None) -> Carried:
    """Current-carrying capacity I_z as laid [A], and its arithmetic.

    I_z = I_z0 · k_ambient · k_group · k_soil; where thermal insulation surrounds the cable
    the same by method C, times k_insulation, if that is less

    Parameters
    ----------
    laying : cable or circuit
    loaded : loaded conductors, 2 or 3
    size_mm2 : another cross-section than its own [mm²]

    Returns
    -------
    I_z, whose spread is what a spread of the ambient temperature takes off it, and the lines

    Raises
    ------
    Unknown : a fact of the laying is not stated
    Unlisted : the tables do not reach it
    """
    method, ambient, count = laying.method, laying.ambient_c, int(laying.grouped_with)
    size = float(laying.size_mm2) if size_mm2 is None else size_mm2
    soil = float(laying.soil_k_m_per_w) if method in BURIED else None
    covered = None if method in BURIED else laying.insulated_m
    made = method, laying.insulation, laying.material, loaded
    warm = float(ambient), ambient.spread or 0.0
    try:
        i_z, told = _as_laid(made, size, warm, (count, laying.spacing), soil)
        if covered:
            i_z, told = _covered((i_z, told), made, size, warm, count, float(covered))
    except _Beyond as gap:
        raise Unlisted(gap.told, _which_source(laying, gap.field, gap.figure)) from None
    return i_z, [told]


@dataclasses.dataclass
class _Beyond(LookupError):
    """A table does not reach a stated field: which, for what figure, and what it has."""

    field: str
    figure: str
    told: str


@lru_cache(maxsize=1024)
def _as_laid(
    made: tuple[str, str, str, int],
    size: float,
    warm: tuple[float, float],
    together: tuple[int, str],
    soil: float | None,
    covered_m: float = 0.0,
) -> tuple[Figure, str]:
    """I_z of a cable by its table and factors; many circuits of a house are laid alike.

    Parameters
    ----------
    made : method, insulation, material, loaded conductors
    warm : ambient temperature and its spread [°C]
    together : circuits side by side, this one included, and their clear distance
    """
    method, insulation, _, loaded = made
    ambient_c, ambient_spread = warm
    count, spacing = together
    buried = method in BURIED
    base = _as_listed(made, size)
    with _reached("ambient_c", f"factor for an ambient of {ambient_c:g} °C"):
        factors = [("k_ambient", ambient_factor(insulation, ambient_c, buried=buried))]
        warmest = ambient_factor(insulation, ambient_c + ambient_spread, buried=buried)
    if count > 1:
        with _reached("grouped_with", f"factor for {count} circuits side by side"):
            factors.append(("k_group", _group(method, count, spacing)))
    if soil is not None:
        with _reached("soil_k_m_per_w", f"factor for a soil of {soil:g} K m/W"):
            factors.append(("k_soil", soil_factor(method, soil)))
    if covered_m:
        factors.append(("k_insulation", insulation_factor(covered_m)))
    i_z = float(base) * math.prod(float(k) for _, k in factors)
    told = " · ".join([f"{base:g} A", *(f"{k:.2f}" for _, k in factors)])
    names = " · ".join(["I_z0", *(name for name, _ in factors)])
    sure = weakest(base.confirmed, *(k.confirmed for _, k in factors))
    line = f"I_z = {names} = {told} = {i_z:.1f} A (method {method}, {loaded} loaded)"
    off = i_z * (1 - float(warmest) / float(factors[0][1]))
    return Figure(i_z, source=CAPACITY, confirmed=sure, spread=off), line


def _covered(
    laid: tuple[Figure, str],
    made: tuple[str, str, str, int],
    size: float,
    warm: tuple[float, float],
    count: int,
    covered_m: float,
) -> tuple[Figure, str]:
    """The lesser of I_z as laid and I_z where insulation surrounds the cable (523.9)."""
    there = _as_laid(("C", *made[1:]), size, warm, (count, "touching"), None, covered_m)
    return min(laid, there, key=lambda found: found[0])


def _as_listed(made: tuple[str, str, str, int], size: float) -> Figure:
    """I_z0 from its table [A]; where that lacks the size, the finding says what it has."""
    method, insulation, material, loaded = made
    with _reached("method", f"capacity of {material} in {insulation} laid by method {method}"):
        listed = ampacity_sizes(method, insulation, material, loaded)
    if size in listed:
        return ampacity_a(method, insulation, material, loaded, size)
    if size < listed[0]:
        has = f"it begins at {listed[0]:g} mm²"
    elif size > listed[-1]:
        has = f"it ends at {listed[-1]:g} mm²"
    else:
        has = neighbours(size, listed, "mm²")
    told = f"{size:g} mm² is not in the table for method {method}; {has}"
    raise _Beyond("size_mm2", f"capacity of {size:g} mm²", told)


@contextmanager
def _reached(field: str, figure: str) -> Iterator[None]:
    """Say which stated field a table does not reach."""
    try:
        yield
    except NotInTable as gap:
        raise _Beyond(field, figure, str(gap)) from None


def _which_source(laying: Laying, field: str, figure: str) -> Question:
    return Question(
        field=laying.question(field).field,
        ask=f"Which source gives the {figure}?",
        how="or change what is stated",
        whom="the cable's maker",
    )


def _group(method: str, count: int, spacing: str) -> Figure:
    """Factor for grouping; in air all are taken as bunched, which is the least."""
    if method == "D1":
        return grouping_factor("ducts, multi-core", count, spacing=spacing)
    if method == "D2":
        return grouping_factor("in ground", count, spacing=spacing)
    return grouping_factor("bunched", count)


def weakest(*confirmed: str) -> str:
    """How far the least sure of several figures is confirmed."""
    for word in ("memory", "page", "two pages"):
        if word in confirmed:
            return word
    return "memory"


def loaded_conductors(job: Job, lines: tuple[str, ...], cores: tuple[str, ...]) -> int:
    """Loaded conductors, 2 or 3; two lines of three leave their sum in the neutral."""
    if len(lines) == 2 and "N" in cores and job.supply.form == "three phases":
        return 3
    return 3 if len(lines) > 2 else 2


@once_a_part
def loaded_in(job: Job, circuit: Circuit) -> int:
    """Loaded conductors of a circuit, 2 or 3; cores left out are those that it needs.

    Circuits that share a neutral run together and load every line and the neutral; the two
    halves of a split phase only relieve it.

    Raises
    ------
    Unknown : its lines are not stated, or whose neutral it or a neighbour behind its RCD has
    """
    lines = job.lines_of(circuit)
    needed = circuit.gap("cores") is Gap.LEFT_OUT
    alone = loaded_conductors(job, lines, (*lines, "N") if needed else circuit.cores)
    if alone == 3:
        return alone
    together = _with_its_neutral(job, circuit)
    all_lines = [line for one in together for line in job.lines_of(one)]
    relieved = job.supply.form == "split phase" and len(set(all_lines)) == len(all_lines)
    return 2 if len(together) == 1 or relieved else 3


def _with_its_neutral(job: Job, circuit: Circuit) -> list[Circuit]:
    """The circuits that come back through one core, this one among them."""
    names, asked = _owner_by_name(job)
    for other in asked:
        if may_lie_together(circuit, other):
            raise Unknown(other.question("neutral_with"))
    owner = circuit.neutral_with or names.get(id(circuit))
    if owner is None or owner not in job.circuits:
        return [circuit]
    sharers = [one for one in job.circuits.values()
               if one.has("neutral_with") and one.neutral_with == owner]  # fmt: skip
    return [job.circuits[owner], *sharers]


@once_a_job
def _owner_by_name(job: Job) -> tuple[dict[int, str], list[Circuit]]:
    """Name of each circuit whose neutral others share, and where it is asked in vain whose it is.

    Returns
    -------
    names by the circuit's identity; the circuits that ask
    """
    shared = {str(c.neutral_with) for c in job.circuits.values() if c.has("neutral_with")}
    names = {id(job.circuits[name]): name for name in shared if name in job.circuits}
    asked = [c for c in job.circuits.values() if c.gap("neutral_with") is Gap.UNKNOWN]
    return names, asked


def larger_cable(laying: Laying, loaded: int, needed_a: float) -> str | None:
    """Order for the least cross-section above its own that surely carries a current [A]."""
    for size in sizes(laying.material):
        if size > laying.size_mm2:
            try:
                i_z = capacity(laying, loaded, size_mm2=size)[0]
            except Unknown:
                continue
            if i_z - (i_z.spread or 0.0) >= needed_a:
                return f"Lay {size:g} mm² the same way: it carries {float(i_z):.1f} A."
    return None
