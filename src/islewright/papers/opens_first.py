"""The race table: for each fault in island mode, what can end it, and what is alive then."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from islewright.papers.asking import about, lead
from islewright.papers.place import circuit_numbers, short_place
from islewright.papers.say import listed, number
from islewright.units import show

if TYPE_CHECKING:
    from islewright.findings import Question
    from islewright.job.model import Job
    from islewright.network.sheet import RaceBar, RaceRow
    from islewright.rules.study import Study

#: the scale of the bars [s]; what is later runs out of the picture
EARLIEST_S, LATEST_S = 0.001, 100.0
RANKS = {"first in every case": "first", "may be first": "perhaps", "later": "later"}


def opens_first(study: Study) -> dict[str, Any]:
    """Rows, scale and the sentences below the table."""
    rows = [_row(study.job, row) for row in study.race]
    return {
        "rows": rows,
        "decades": [{"at": _at(10.0**k), "text": f"{10.0**k:g}"} for k in range(-3, 3)],
        "states": listed(dict.fromkeys(row.state for row in study.race)),
        "allowed": listed(
            dict.fromkeys(show(r.allowed_s, "s") for r in study.race if math.isfinite(r.allowed_s)),
            "or",
        ),
        "read": untold(study.job, study.race_missing) or sentences(study.race),
        "zones": [_zone(study.job, row) for row in study.zones],
    }


def _zone(job: Job, row: RaceRow) -> dict[str, str]:
    """A place that no RCD clears: what ends the fault there instead."""
    sure = [bar for bar in row.bars if bar.known and math.isfinite(bar.latest_s)]
    soonest = min(sure, key=lambda bar: bar.latest_s, default=None)
    number_of = str(circuit_numbers(job).get(_bare(row.place), ""))
    return {
        "place": short_place(job, row.place),
        "ends": f"{soonest.name} within {show(soonest.latest_s, 's')}"
        if soonest
        else "nothing that is sure to",
        "touch": f"{row.touch_v:.1f}" if math.isfinite(row.touch_v) else "not known",
        "then": row.alive_after.replace("this circuit", number_of or "this circuit"),
    }


def _row(job: Job, row: RaceRow) -> dict[str, Any]:
    name = _bare(row.place)
    number_of = str(circuit_numbers(job).get(name, ""))
    current = f"{row.current_a:.0f}" if row.current_a > 30 else f"{row.current_a:.1f}"
    return {
        "number": number_of,
        "place": name if row.end == "far" else f"{name}, {row.end} end",
        "fault": row.kind,
        "current": _known(row.current_a, ("≤ " if row.limited else "") + current),
        "left": _known(row.voltage_left_v, f"{row.voltage_left_v:.0f}"),
        "touch": _known(row.touch_v, f"{row.touch_v:.0f}"),
        "allowed": None if math.isnan(row.allowed_s) else _at(row.allowed_s),
        "bars": [_bar(bar) for bar in row.bars],
        "then": row.alive_after.replace("this circuit", number_of or "this circuit"),
    }


def _bare(place: str) -> str:
    return place.removeprefix("circuit ").removeprefix("cable ")


def _known(value: float, text: str) -> str:
    return text if math.isfinite(value) else "not known"


def _at(seconds: float) -> float:
    """Place on the logarithmic scale, 0 to 1."""
    if not math.isfinite(seconds):
        return 1.0
    span = math.log10(LATEST_S / EARLIEST_S)
    return min(1.0, max(0.0, math.log10(max(seconds, 1e-9) / EARLIEST_S) / span))


#: names that would not fit beside their bars
_SHORT = {"its own RCBO": "RCBO"}


def _bar(bar: RaceBar) -> dict[str, Any]:
    """A bar as lengths; `open` runs out of the picture, `never` and `unknown` have none."""
    known = bar.known and not math.isnan(bar.earliest_s)
    return {
        "name": _SHORT.get(bar.name, bar.name),
        "rank": RANKS[bar.rank],
        "known": known,
        "never": known and bar.earliest_s > LATEST_S,
        "from": _at(bar.earliest_s),
        "to": _at(bar.latest_s),
        "open": bar.latest_s > LATEST_S,
    }


def untold(job: Job, missing: Sequence[Question]) -> list[str]:
    """Why no fault of the island can be followed, and whom to ask; nothing where it can."""
    if not missing:
        return []
    asked = [f"{lead(job, question)}. {about(job, question)}" for question in missing]
    return ["What opens first cannot be told: a figure is missing that every fault hangs on.",
            *asked]  # fmt: skip


def sentences(race: Sequence[RaceRow]) -> list[str]:
    """How to read the table: how many faults what ends, and where nothing surely does."""
    if not race:
        return ["There is no island state to follow a fault in."]
    said = [_won_by(race, role, words) for role, words in _WINNERS]
    said.append(_undecided_races(race))
    late = [row.place for row in race if not _surely_in_time(row)]
    if late:
        said.append(
            f"At {_out_of(late, race)} nothing is sure to end it within the time allowed: "
            f"{_some(late)}. The findings say what protects there instead, or that nothing does."
        )
    return [text for text in said if text]


_WINNERS = (
    ("RCD", "by a residual current device before anything else; the rest stays alive"),
    ("device", "by the circuit's own device before anything else"),
    ("inverter", "only by the inverter, which takes the whole island with it"),
)


def _won_by(race: Sequence[RaceRow], role: str, words: str) -> str:
    won = [
        row
        for row in race
        if any(bar.role == role and bar.known and RANKS[bar.rank] == "first" for bar in row.bars)
    ]
    if not won:
        return ""
    be = "is" if len(won) == 1 else "are"
    return f"{_out_of(won, race)} {be} ended {words}."


def _undecided_races(race: Sequence[RaceRow]) -> str:
    rows = [row for row in race if all(RANKS[bar.rank] != "first" for bar in row.bars)]
    if not rows:
        return ""
    return (
        f"{_out_of(rows, race)} may be ended by more than one; the last column says what each "
        "leaves alive."
    )


def _out_of(some: Sequence[Any], race: Sequence[RaceRow]) -> str:
    """How many of all, in figures, so that the sentences can be held against each other."""
    return f"{len(some)} of {len(race)} {'fault' if len(race) == 1 else 'faults'}"


def _surely_in_time(row: RaceRow) -> bool:
    return any(bar.known and bar.latest_s <= row.allowed_s for bar in row.bars)


def _some(places: list[str]) -> str:
    names = [_bare(name) for name in dict.fromkeys(places)]
    if len(names) > 6:
        return f"{', '.join(names[:6])} and {number(len(names) - 6)} more"
    return listed(names)
