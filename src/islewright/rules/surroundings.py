"""Chapter: heat, cold, water and dust where the equipment stands."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from islewright.findings import Verdict, at_least, at_most
from islewright.job.gap import Unknown
from islewright.job.housed import Housed, solid_numeral, water_numeral
from islewright.job.spot import Spot, spot_of
from islewright.network.state import Mode
from islewright.rules.entering import tightest
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here, attempt, rule
from islewright.rules.study import Study
from islewright.tables.ingress import numeral_against

if TYPE_CHECKING:
    from islewright.job.model import Job

INFLUENCES = "IEC 60364-5-51:2005, 512.2, Table 51A (from memory)"
INFLUENCES_GB = "BS 7671:2018, 512.2, Appendix 5 (from memory)"


class Piece(NamedTuple):
    """A piece of equipment: its name, its place, its maker's sheet."""

    name: str
    spot: Spot
    sheet: Housed


@once_a_study
def _pieces(study: Study) -> tuple[Callable[[], Piece], ...]:
    """Islanding switch, inverter and battery; each where somebody asks for it."""
    job = study.job
    names = ["islanding_switch", "inverter"] + (["battery"] if job.battery else [])
    return tuple(partial(_piece, job, name) for name in names)


def _piece(job: Job, name: str) -> Piece:
    sheets = {"islanding_switch": job.switch, "inverter": job.inverter, "battery": job.battery}
    sheet = sheets[name]
    assert sheet is not None  # noqa: S101 - who asks has looked
    return Piece(name.replace("_", " "), spot_of(job, name), sheet)


def _all(study: Study, judged: Callable[[Piece], Verdict]) -> Verdict:
    """Every piece must do; the one with the least room is told first."""
    return tightest([attempt(partial(_judged, judged, piece)) for piece in _pieces(study)])


def _judged(judged: Callable[[Piece], Verdict], piece: Callable[[], Piece]) -> Verdict:
    return judged(piece())


@rule(
    "place.warmth",
    over="house",
    modes=[Mode.GRID],
    title="No equipment must stand where it gets warmer than its maker allows",
    clauses=[INFLUENCES, INFLUENCES_GB],
)
def warmth(study: Study, _here: Here) -> Verdict:
    """θ_warmest of the place ≤ θ_most of the maker, for switch, inverter and battery

    Too warm they switch off, which is when the house needs them, and the battery ages fast.
    """
    return _all(study, _warm)


def _warm(piece: Piece) -> Verdict:
    most, theta = piece.sheet.works_between.high, piece.spot.ambient_c
    return at_most(
        float(theta),
        most,
        "°C",
        spread=theta.spread or 0.0,
        because=[f"{piece.name}: works up to {most:g} °C; up to {float(theta):g} °C there"],
        remedies=[lambda: f"Put the {piece.name} where it stays at or below {most:g} °C."],
        confirmed="as stated",
    )


@rule(
    "place.frost",
    over="house",
    modes=[Mode.GRID],
    title="No equipment must stand where it gets colder than its maker allows",
    clauses=[INFLUENCES, INFLUENCES_GB],
)
def frost(study: Study, _here: Here) -> Verdict:
    """θ_coldest of the place ≥ θ_least of the maker, for switch, inverter and battery

    A battery that is too cold takes no charge, and in an outage the house cools with it.
    """
    return _all(study, _cold)


def _cold(piece: Piece) -> Verdict:
    least, theta = piece.sheet.works_between.low, piece.spot.coldest_c
    return at_least(
        float(theta),
        least,
        "°C",
        spread=theta.spread or 0.0,
        because=[f"{piece.name}: works down to {least:g} °C; down to {float(theta):g} °C there"],
        remedies=[lambda: f"Put the {piece.name} where it stays as warm as its maker asks."],
        confirmed="as stated",
    )


@rule(
    "place.full-power",
    over="house",
    modes=[Mode.ISLAND],
    title="The inverter must give its rated power at the warmth of its place",
    clauses=[INFLUENCES, INFLUENCES_GB],
)
def full_power(study: Study, _here: Here) -> Verdict:
    """θ_warmest of the place ≤ θ up to which the maker promises the rated power

    Above it the inverter gives less than the rules on loads and starting count on.
    """
    spot, most = spot_of(study.job, "inverter"), study.job.inverter.full_power_to_c
    theta = spot.ambient_c
    return at_most(
        float(theta),
        float(most),
        "°C",
        spread=theta.spread or 0.0,
        because=lambda: [f"full power up to {most:g} °C; up to {float(theta):g} °C there"],
        remedies=[
            lambda: f"Put the inverter where it stays at or below {most:g} °C.",
            lambda: f"Ask the maker what it gives at {float(theta):g} °C, and state that instead.",
        ],
        confirmed="as stated",
    )


@rule(
    "place.water",
    over="house",
    modes=[Mode.GRID],
    title="Every enclosure must keep out the water that reaches its place",
    clauses=[INFLUENCES, INFLUENCES_GB],
)
def water(study: Study, _here: Here) -> Verdict:
    """second numeral of the IP code ≥ that of the water at the place (AD)

    7 and 8 speak of dipping: without a second mark such an enclosure counts as IPX4 here.
    """
    return _all(study, partial(_kept_out, "water", water_numeral))


@rule(
    "place.dust",
    over="house",
    modes=[Mode.GRID],
    title="Every enclosure must keep out the dust of its place, and fingers",
    clauses=[INFLUENCES, INFLUENCES_GB, "IEC 60364-4-41:2005+A1:2017, A.2.1 (from memory)",
             "BS 7671:2018, 416.2.1 (from memory)"],
)  # fmt: skip
def dust(study: Study, _here: Here) -> Verdict:
    """first numeral of the IP code ≥ that of the dust at the place (AE), and 2 everywhere

    Dust on warm electronics burns or makes a path for current.
    """
    return _all(study, partial(_kept_out, "dust", solid_numeral))


def _kept_out(against: str, numeral: Callable[[str], int | None], piece: Piece) -> Verdict:
    reaches: str = getattr(piece.spot, against)
    needed, code = numeral_against(against, reaches)
    has = numeral(piece.sheet.enclosure)
    if has is None and needed > 0:
        raise Unknown(piece.sheet.question("enclosure"))
    told = f"{piece.name}: {piece.sheet.enclosure}, {reaches} ({code}) asks for {needed:g}"
    wanted = f"IPX{needed:g}" if against == "water" else f"IP{needed:g}X"
    return at_least(
        float(has or 0),
        float(needed),
        "-",
        spread=0.0,
        because=[told],
        remedies=[
            lambda: f"Put the {piece.name} where less {against} reaches it.",
            lambda: f"Fit the {piece.name} in an enclosure of {wanted}, as its maker allows.",
        ],
        confirmed=needed.confirmed,
    )
