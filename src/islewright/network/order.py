"""Who ends a fault first, and the worse of two ways in which it may go.

Pure rows and bars; nothing is solved here, no device is asked for its time.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

from islewright.network.sheet import RaceBar, RaceRow
from islewright.network.way import Guard


def ranked_bars(bars: Sequence[RaceBar]) -> tuple[RaceBar, ...]:
    """Who is first in every case, who may be first, who comes later."""
    if not bars:
        return ()
    soonest_sure = min([bar.latest_s for bar in bars])
    first, second = sorted([math.inf, *(bar.earliest_s for bar in bars)])[:2]
    found = []
    for bar in bars:
        others = second if bar.earliest_s == first else first
        if math.isinf(bar.earliest_s):
            rank = "later"
        elif bar.known and bar.latest_s <= others and math.isfinite(bar.latest_s):
            rank = "first in every case"
        else:
            rank = "may be first" if bar.earliest_s < soonest_sure else "later"
        found.append(bar if bar.rank == rank else bar.ranked(rank))
    return tuple(found)


def alive_after(bars: Sequence[RaceBar], guards: Sequence[Guard]) -> str:
    """What is alive once the first of them has acted, in words."""
    leaves = [guard.leaves for guard in guards] + ["nothing"] * (len(bars) - len(guards))
    words = [left for bar, left in zip(bars, leaves, strict=True) if bar.rank != "later"]
    return ", or ".join(dict.fromkeys(words)) if words else "everything: the fault stays on"


def worse_of(one: RaceRow, other: RaceRow) -> RaceRow:
    """Of two rows for a place the smaller current and voltage left, the higher touch voltages."""
    least = min(one, other, key=lambda row: row.current_a)
    return dataclasses.replace(
        least,
        limited=one.limited or other.limited,
        voltage_left_v=min(one.voltage_left_v, other.voltage_left_v),
        touch_v=max(one.touch_v, other.touch_v),
        touch_earth_v=max(one.touch_earth_v, other.touch_earth_v),
        bars=tuple(map(either, one.bars, other.bars)),
    )


def either(one: RaceBar, other: RaceBar) -> RaceBar:
    """A device that sees one current or another: from the earliest to the latest of both."""
    return dataclasses.replace(
        one,
        current_a=min(one.current_a, other.current_a),
        volts=min(one.volts, other.volts),
        earliest_s=min(one.earliest_s, other.earliest_s),
        latest_s=max(one.latest_s, other.latest_s),
        questions=tuple(dict.fromkeys((*one.questions, *other.questions))),
    )
