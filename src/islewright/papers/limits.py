"""Charts of limits: touch voltage against time, and the inverter against what runs and starts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from islewright.drawing import power_time, touch_time
from islewright.job.gap import Unknown
from islewright.network.state import Mode
from islewright.network.way import is_backed_up
from islewright.papers.place import circuit_numbers, short_place
from islewright.papers.say import listed
from islewright.rules.registry import Here
from islewright.rules.source import island_demand_va
from islewright.rules.starting import Start, island_starts
from islewright.tables.limits import touch_limits
from islewright.tables.rows import NotInTable
from islewright.units import show

if TYPE_CHECKING:
    from islewright.network.sheet import RaceRow
    from islewright.rules.study import Study


def limits(study: Study) -> dict[str, Any]:
    """Both charts, with what could not be drawn and why."""
    touches = list(_touches(study))
    return {
        "touch": touch_time.touch_time(_limits(study), touches) if touches else "",
        "longest": _longest(study, touches),
        **_inverter(study),
    }


# ------------------------------------------------------------------------- touch voltage
def _limits(study: Study) -> list[touch_time.Limit]:
    """The curve of dry places, and that of wet ones where some circuit is stricter."""
    places = ["dry"]
    if any(_special(study, name) for name in study.job.circuits):
        places.append("wet")
    names = {"dry": "allowed, dry", "wet": "allowed, wet"}
    return [touch_time.Limit(name=names[p], rows=touch_limits(p)) for p in places]


def _special(study: Study, name: str) -> bool:
    circuit = study.job.circuits[name]
    return circuit.has("special_location") and circuit.special_location != "none"


def _touches(study: Study) -> Iterator[touch_time.Touch]:
    numbers = circuit_numbers(study.job)
    for name, circuit in study.job.circuits.items():
        for mode in Mode:
            if mode is Mode.ISLAND and not is_backed_up(study.job, circuit.board):
                continue
            try:
                row = study.story(Here("circuit", name, mode, circuit.board))
            except (Unknown, NotInTable):
                continue
            volts = _volts(study, row, mode)
            if math.isfinite(volts):
                yield touch_time.Touch(
                    name=str(numbers[name]), mode=mode.value, volts=volts, gone_s=_gone_s(row)
                )


def _volts(study: Study, row: RaceRow, mode: Mode) -> float:
    """To the earthing terminal; where the house is TT on the grid, to true earth."""
    supply = study.job.supply
    own_earth = supply.has("system_earthing") and supply.system_earthing == "TT"
    return row.touch_earth_v if own_earth and mode is Mode.GRID else row.touch_v


def _gone_s(row: RaceRow) -> float:
    """When the fault is gone at the latest: the first that is sure to end it."""
    return min((bar.latest_s for bar in row.bars if bar.known), default=math.inf)


def _longest(study: Study, touches: list[touch_time.Touch]) -> str:
    """Faults that nothing is sure to end within the chart."""
    names = {str(number): name for name, number in circuit_numbers(study.job).items()}
    stay = [t for t in touches if t.gone_s > touch_time.LATEST_S]
    told = (
        f"{short_place(study.job, names[t.name])} ({t.mode}, {show(t.volts, 'V')})" for t in stay
    )
    return listed(told) if stay else ""


# ------------------------------------------------------------------------- inverter
def _inverter(study: Study) -> dict[str, Any]:
    try:
        demand, _told = island_demand_va(study)
        starts = island_starts(study)
        gives = _gives(study)
    except Unknown as gap:
        asked = listed(dict.fromkeys(question.ask for question in gap.questions))
        return {"power": [], "power_missing": asked}
    return {"power": list(_charts(study, demand, starts, gives)), "power_missing": ""}


def _gives(study: Study) -> list[power_time.Gives]:
    inverter = study.job.inverter
    found = [power_time.Gives(name="for good", va=float(inverter.rated_va), for_s=math.inf)]
    for name, timed in inverter.timed.items():
        found.append(
            power_time.Gives(name=name, va=float(timed.power_va), for_s=float(timed.for_s))
        )
    if inverter.has("surge"):
        surge = inverter.surge
        found.append(
            power_time.Gives(name="surge", va=float(surge.power_va), for_s=float(surge.for_s))
        )
    return found


def _charts(
    study: Study,
    demand: dict[str, float],
    starts: list[Start],
    gives: list[power_time.Gives],
) -> Iterator[dict[str, str]]:
    """In total; and on the busiest line, where each phase has a limit of its own."""
    total = sum(demand.values())
    largest = {s.circuit: s for s in sorted(starts, key=lambda s: s.added_va)}
    heavy = sorted(largest.values(), key=lambda s: -s.added_va)[:6]
    told = [_starting(s, total + s.added_va) for s in heavy]
    yield {
        "title": "All lines together",
        "svg": power_time.power_time("all lines together", gives, total, told),
    }
    phases = len(study.job.phases)
    if phases == 1 or study.job.inverter.output.startswith("single-phase"):
        return
    worst = {
        line: max([demand[line] + s.added_va / len(s.lines) for s in starts if line in s.lines],
                  default=demand[line])
        for line in demand
    }  # fmt: skip
    line = max(worst, key=worst.__getitem__)
    shares = [
        power_time.Gives(name=g.name, va=g.va / phases, for_s=g.for_s)
        for g in gives
        if math.isfinite(g.for_s)
    ]
    shares.append(
        power_time.Gives(name="for good", va=float(study.job.inverter.phase_va), for_s=math.inf)
    )
    own = [s for s in heavy if line in s.lines]
    told = [_starting(s, demand[line] + s.added_va / len(s.lines)) for s in own]
    yield {
        "title": f"On {line}, the busiest when something starts",
        "svg": power_time.power_time(f"on {line}", shares, demand[line], told),
    }


def _starting(start: Start, va: float) -> power_time.Starting:
    lasts = start.load.figure("start_lasts_s")
    return power_time.Starting(
        name=start.circuit, va=va, lasts_s=math.nan if lasts is None else lasts
    )
