"""One fault in one state: its current, what it leaves on parts, what each device does."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from islewright.cli.job import finite, job_head, print_json, refuse
from islewright.cli.missing import missing_in, tell_missing
from islewright.cli.race import bar_cells, row_form
from islewright.cli.state_view import phasors_form, volts_table
from islewright.cli.text import heading, paragraph, say, table

if TYPE_CHECKING:
    from islewright.findings import Question
    from islewright.network.fault_sheet import FaultSheet
    from islewright.network.state import State
    from islewright.rules.study import Study


def show(of: Study, state: State, place: str, kind: str | None, end: str, *, as_json: bool) -> None:
    """Print a fault."""
    kind = _kind(of, place, kind)
    missing, sheet = solved(of, state, place, kind, end)
    if as_json:
        fault = None if sheet is None else _answer(sheet)
        print_json({**job_head(of), "fault": fault, "missing": [q.field for q in missing]})
        return
    say(f"{kind} at {place}, {end} end; {state.name}")
    say()
    if sheet is None:
        tell_missing(missing)
        return
    _figures(sheet)
    heading("Voltages at the fault while it lasts [V]")
    volts_table(sheet.volts)
    heading("Who ends it, at the current that each sees (an RCD: the residual current)")
    table(
        ["device", "sees", "opens", "order"], [bar_cells(b) for b in sheet.row.bars], right="sees"
    )
    say()
    paragraph(f"Alive afterwards: {sheet.row.alive_after}.")


def _kind(of: Study, place: str, kind: str | None) -> str:
    """The kind that is asked for, or the fault to earth of the first line."""
    from islewright.cli.job import one_of
    from islewright.network.fault_sheet import kinds_at

    kinds = kinds_at(of.net, place)
    if not kinds:
        why = [q.field for q in of.net.parts.missing.get(place, ())]
        told = f"; not known: {', '.join(why)}" if why else ""
        raise refuse(f"{place} lies in no network, so no fault can be put there{told}")
    return kinds[0] if kind is None else one_of(kind, kinds, f"fault at {place}:")


def solved(
    of: Study, state: State, place: str, kind: str, end: str
) -> tuple[tuple[Question, ...], FaultSheet | None]:
    """The fault, or what has to be known before."""
    from islewright.job.gap import Unknown
    from islewright.network.fault_sheet import NoSuchFault, fault_sheet

    missing = missing_in(of, state)
    if missing:
        return missing, None
    _not_dead(of, state, place)
    try:
        return (), fault_sheet(
            of.job, of.net, of.profile, state, place=place, kind=kind, end=end
        )  # fmt: skip
    except Unknown as gap:
        return gap.questions, None
    except NoSuchFault:
        raise refuse(
            f"in the state {state.name} the inverter does not feed {place}; what the public "
            "supply drives into a fault there is told in the state grid"
        ) from None


def _not_dead(of: Study, state: State, place: str) -> None:
    """Refuse a fault where nothing feeds it: nothing would flow, and no device would open."""
    from islewright.network.tell import sheet, states_of

    def dead(one: State) -> bool:
        alive = sheet(of.job, of.net, one).alive
        cable = of.job.cables.get(place.removeprefix("cable "))
        ends = (place,) if cable is None else (cable.from_, cable.to)
        return all(alive.get(end) is False for end in ends)

    if dead(state):
        fed = "; ".join(one.name for one in states_of(of.job) if not dead(one))
        raise refuse(
            f"{place} is dead in the state {state.name}, so nothing feeds a fault there; "
            f"it is alive in: {fed or 'no state'}"
        )


def _figures(sheet: FaultSheet) -> None:
    from islewright.units import show as shown

    row = sheet.row
    held = ", held down by the inverter" if row.limited else ""
    rows = [
        ["fault current at the least (hot conductors)", shown(row.current_a, "A") + held],
        ["fault current at the most (cold conductors)", shown(sheet.largest_a, "A")],
        ["exposed part to the main earthing terminal", _volts(row.touch_v)],
        ["exposed part to true earth", _volts(row.touch_earth_v)],
        ["main earthing terminal to true earth", _volts(sheet.earth_volts)],
        ["line to neutral left at the bar", _volts(row.voltage_left_v)],
    ]
    if math.isfinite(row.allowed_s):
        rows.append(["time allowed by Table 41.1", shown(row.allowed_s, "s")])
    table(["figure", "value"], rows)


def _volts(value: float) -> str:
    return f"{value:.1f} V" if math.isfinite(value) else "–"


def _answer(sheet: FaultSheet) -> dict[str, Any]:
    return {
        **row_form(sheet.row),
        "largest_a": finite(sheet.largest_a),
        "earthing_terminal_v": finite(sheet.earth_volts),
        "volts": phasors_form(sheet.volts),
    }
