"""The public supply, rebuilt from the loops that an installer can measure.

Minima take the worst (largest) of the measured and the declared loops as resistances;
maxima the best (smallest) as reactances, so that what the house adds lowers the current
least. One loop does not tell how it divides: what is assumed is said.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from islewright.findings import Question
from islewright.job.gap import Unknown
from islewright.job.loops import question_of, told_of
from islewright.job.model import Job
from islewright.network.parts import Parts
from islewright.tables.conductor import resistance_ohm_per_km
from islewright.tables.profile import Profile

#: loops that fault currents hang on
_LOOPS = ("line_neutral_ohm", "line_earth_ohm", "line_line_ohm")


@dataclass(frozen=True, slots=True)
class SupplyImpedance:
    """Impedances from the transformer to the origin [Ω].

    `z_l` one line, `z_n` neutral or PEN, `z_pe` the operator's PE (TN-S), `r_b` the
    transformer's electrode.
    """

    z_l: complex
    z_n: complex
    z_pe: complex
    r_b: float


def _given(job: Job, field: str) -> list[float]:
    """What is stated for one loop, measured first; tails inside a reading are taken off."""
    return [
        max(float(stated.value) - tails_ohm(job, stated.loops.at, field), 1e-4)
        for stated in told_of(job.supply, field)[0]
    ]


def not_told(job: Job) -> tuple[Question, ...]:
    """Loops that nobody knows or one word alone states: the other may be worse than it."""
    return tuple(dict.fromkeys(q for field in _LOOPS for q in told_of(job.supply, field)[1]))


def tails_ohm(job: Job, at: str, field: str) -> float:
    """Cold resistance of the cables between the origin and the place of a reading [Ω].

    Parameters
    ----------
    at : the place of the reading, "supply" or a board
    field : which loop, such as "line_earth_ohm"

    Raises
    ------
    Unknown : a cable in between has no size or length
    """
    if at == "supply":
        return 0.0
    total, place = 0.0, at
    into = {cable.to: cable for cable in job.cables.values()}
    while place != "supply" and place in into:
        cable = into[place]
        per_m = resistance_ohm_per_km(cable.material, cable.size_mm2, theta_c=20) / 1000
        line = per_m * cable.length_m
        back = line
        if field == "line_earth_ohm" and "PE" in cable.cores and cable.pe_mm2:
            back = (
                resistance_ohm_per_km(cable.material, cable.pe_mm2, theta_c=20)
                / 1000
                * cable.length_m
            )
        total += line + back
        place = cable.from_
    return total


def supply_impedance(job: Job, profile: Profile, parts: Parts, *, worst: bool) -> SupplyImpedance:
    """Rebuild the supply from its loops, for minima (`worst`) or maxima of fault current.

    Raises
    ------
    Unknown : the line-neutral loop is not stated anywhere
    """
    pick: Callable[[list[float]], float] = max if worst else min
    u0 = float(job.supply.nominal_voltage_v)
    loops_ln = _given(job, "line_neutral_ohm")
    if not loops_ln:
        raise Unknown(question_of(job.supply, "line_neutral_ohm"))
    loop_ln = pick(loops_ln)
    largest = _largest_current_a(job)
    loops_ll = _given(job, "line_line_ohm")
    share = float(profile.number("network.line_share"))
    if loops_ll:
        z_l = min(pick(loops_ll) / 2, loop_ln * 0.95)
    else:
        z_l = loop_ln * share
        parts.assume(
            "share of the line in the line-neutral loop",
            f"{share:g}",
            "no line-line loop is stated, or the supply has one line",
        )
    z_n = loop_ln - z_l
    # the earth's part of a reading stays what it is when the line is taken as stronger
    z_pe, r_b = _earth_side(job, profile, parts, z_l, pick)
    if not worst and largest is not None:
        scale = min(1.0, u0 / largest / (z_l if len(job.phases) > 1 else loop_ln))
        z_l, z_n = z_l * scale, z_n * scale
    turn = 1 if worst else 1j
    return SupplyImpedance(z_l * turn, z_n * turn, z_pe * turn, r_b)


def _largest_current_a(job: Job) -> float | None:
    """The larger of the measured and the declared fault current: maxima take the worse [A]."""
    found, _ = told_of(job.supply, "largest_fault_current_a")
    return max((float(stated.value) for stated in found), default=None)


def _earth_side(
    job: Job, profile: Profile, parts: Parts, z_l: float, pick: Callable[[list[float]], float]
) -> tuple[float, float]:
    """The operator's PE and the transformer's electrode [Ω]."""
    loops = _given(job, "line_earth_ohm")
    system = job.supply.system_earthing
    if system == "TN-S":
        if not loops:
            raise Unknown(question_of(job.supply, "line_earth_ohm"))
        return max(pick(loops) - z_l, 1e-4), _transformer_electrode(job, profile, parts)
    if system == "TT" and loops and job.earthing.has("electrode"):
        r_b = pick(loops) - z_l - house_earth_ohm(job)
        if r_b > 0:
            return 0.0, r_b
    return 0.0, _transformer_electrode(job, profile, parts)


def house_earth_ohm(job: Job) -> float:
    """Resistance to true earth of the house's electrode and the pipes beside it [Ω].

    Raises
    ------
    Unknown : the electrode's resistance is not stated
    """
    earthing = job.earthing
    paths = [float(earthing.electrode.resistance_ohm)] if earthing.electrode else []
    if earthing.has("parallel_earths"):
        paths += [float(ohm) for ohm in (earthing.parallel_earths or {}).values()]
    if not paths:
        return float("inf")
    return 1 / sum(1 / ohm for ohm in paths) if all(paths) else 0.0


def _transformer_electrode(job: Job, profile: Profile, parts: Parts) -> float:
    if job.supply.has("street") and job.supply.street.has("transformer_electrode_ohm"):
        return float(job.supply.street.transformer_electrode_ohm)
    r_b = float(profile.number("network.transformer_electrode"))
    parts.assume("transformer's electrode R_B", f"{r_b:g} Ω", "the operator has not stated it")
    return r_b
