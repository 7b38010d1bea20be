"""`islewright race`: for each earth fault of the island, who ends it and what lives on."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from islewright.cli.job import (
    ask_lines,
    finite,
    job_argument,
    job_head,
    json_option,
    print_json,
    studied,
)
from islewright.cli.text import Row, paragraph, say, table

if TYPE_CHECKING:
    from islewright.network.sheet import RaceBar, RaceRow


@click.command()
@job_argument
@json_option
def race(job: str, *, as_json: bool) -> None:
    """Show which device ends each earth fault in island mode.

    One fault at the far end of each circuit and cable: the current that the inverter's
    limit leaves, each device in the way with the time it takes at that current, and what
    is alive once the first has opened.
    """
    of = studied(job, as_json=as_json)
    missing, rows = of.race_missing, of.race
    if as_json:
        print_json({
            **job_head(of),
            "rows": [row_form(row) for row in rows],
            "missing": [q.field for q in missing],
        })  # fmt: skip
        return
    if missing:
        paragraph("The faults of the island are not known yet.")
        for line in ask_lines(missing):
            paragraph(line, hang=2)
        return
    tell(rows)


def tell(rows: tuple[RaceRow, ...]) -> None:
    """The table for a person."""
    if not rows:
        say("There is no circuit or cable in the island with an earth fault to follow.")
        return
    paragraph(
        f"Earth faults at the far end, {rows[0].state}. Each device at the current that it sees."
    )
    say()
    head = ["place", "fault", "A", "left", "touch", "device", "sees", "opens", "order"]
    table(head, [line for row in rows for line in _lines(row)], right="A left touch sees")
    say()
    paragraph(
        "A: fault current; left: line to neutral at the bar during the fault; touch: exposed "
        "part to the main earthing terminal. `opens` is the interval that the device's standard "
        "leaves open at that current."
    )


def _lines(row: RaceRow) -> Iterator[Row]:
    from islewright.units import show

    name = row.place.removeprefix("circuit ")
    first = [name, row.kind, f"{row.current_a:.1f}", volts(row.voltage_left_v), volts(row.touch_v)]
    for bar in row.bars:
        yield [*first, *bar_cells(bar)]
        first = [""] * 5
    allowed = show(row.allowed_s, "s") if math.isfinite(row.allowed_s) else "not known"
    yield f"alive afterwards: {row.alive_after}; time allowed: {allowed}"


def volts(value: float) -> str:
    """A voltage for a table, without more digits than anybody can measure."""
    return f"{value:.0f} V" if math.isfinite(value) else "–"


def bar_cells(bar: RaceBar) -> list[str]:
    """Device, the current that it sees, when it opens, where it stands in the order."""
    from islewright.units import show

    sees = show(bar.current_a, "A") if math.isfinite(bar.current_a) else "not known"
    return [
        f"{bar.name}",
        sees,
        interval(bar),
        bar.rank if bar.known else f"{bar.rank} (not known)",
    ]


def interval(bar: RaceBar) -> str:
    """The time of a device in words.

    >>> from islewright.network.sheet import RaceBar
    >>> interval(RaceBar(role="RCD", name="R", current_a=1, earliest_s=0, latest_s=0.04, rank=""))
    'by 40 ms'
    """
    from islewright.units import show

    if not bar.known:
        return "not known"
    if math.isinf(bar.earliest_s):
        return "never"
    if math.isinf(bar.latest_s):
        return f"after {show(bar.earliest_s, 's')} or never"
    latest = show(bar.latest_s, "s")
    if bar.earliest_s == 0:
        return f"by {latest}"
    earliest = show(bar.earliest_s, "s")
    return latest if earliest == latest else f"{earliest} to {latest}"


def row_form(row: RaceRow) -> dict[str, Any]:
    """A row in its JSON form; docs/json.md describes it."""
    numbers = ("current_a", "voltage_left_v", "touch_v", "touch_earth_v", "allowed_s")
    return {
        "place": row.place,
        "end": row.end,
        "kind": row.kind,
        "state": row.state,
        "limited": row.limited,
        **{name: finite(getattr(row, name)) for name in numbers},
        "devices": [_bar_form(bar) for bar in row.bars],
        "alive_after": row.alive_after,
    }


def _bar_form(bar: RaceBar) -> dict[str, Any]:
    return {
        "role": bar.role,
        "name": bar.name,
        "current_a": finite(bar.current_a),
        "volts": finite(bar.volts),
        "known": bar.known,
        "opens": bar.known and math.isfinite(bar.earliest_s),
        "earliest_s": finite(bar.earliest_s),
        "latest_s": finite(bar.latest_s),
        "rank": bar.rank,
        "questions": [q.field for q in bar.questions],
    }
