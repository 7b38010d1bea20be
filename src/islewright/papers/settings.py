"""What is to be entered and set on site, with room to write down what was entered."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from islewright.job.gap import Unknown
from islewright.job.model import Sensor, Settings
from islewright.network.alive import fed_lines
from islewright.papers.facts import said
from islewright.papers.say import NOT_KNOWN, capital, sentence, stated
from islewright.units import show

if TYPE_CHECKING:
    from islewright.job.model import Job
    from islewright.job.part import Part
    from islewright.rules.study import Study


def settings(study: Study) -> list[dict[str, Any]]:
    """Groups of settings, each a table; a group without a row is left out."""
    job = study.job
    groups = [
        ("At the inverter", [*_of_part(job, "settings", Settings), *_inverter(job)]),
        ("Current sensors", list(_of_part(job, "current_sensors", Sensor))),
        ("Neutral-earth bond", list(_bonds(job))),
        ("Torques", list(_torques(job))),
    ]
    return [{"head": head, "rows": rows} for head, rows in groups if rows]


def _of_part(job: Job, field: str, kind: type[Part]) -> Iterator[dict[str, str]]:
    """Every fact of a part of the inverter's entry, new ones too."""
    placed = job.placement.inverter
    part = getattr(placed, field) if placed.has(field) else None
    for name, info in kind.model_fields.items():
        key = capital(info.alias or name)
        extra = info.json_schema_extra
        words = extra if isinstance(extra, dict) else {}
        value = NOT_KNOWN if part is None else said(part, name)
        yield _row(key, value, str(words.get("ask", "")), whom=str(words.get("whom", "")))


def _inverter(job: Job) -> Iterator[dict[str, str]]:
    """Figures that follow from others, where these are stated."""
    yield _row(
        "Line", stated(lambda: " ".join(fed_lines(job))), "On which line does its a.c. side work?"
    )
    held = stated(lambda: _held_wh(job))
    if held != NOT_KNOWN:
        yield _row("Energy held for outages", held, "usable capacity times the reserve share")
    yield _row("On a fault", stated(lambda: job.inverter.on_a_fault), "does it start again?")


def _held_wh(job: Job) -> str:
    battery = job.battery
    if battery is None:
        return "no battery"
    share = float(job.placement.inverter.settings.reserve_share)
    return show(float(battery.usable_wh) * share / 100, "Wh")


def _bonds(job: Job) -> Iterator[dict[str, str]]:
    """Each bond: in which position it is to be, so that there is one and no second."""
    for owner, name in ((job.switch, "in the islanding switch"), (job.inverter, "in the inverter")):
        told = stated(lambda owner=owner: owner.bond and owner.bond.closed)  # type: ignore[misc]
        words = {"none": "there is none"}.get(told, told)
        yield _row(capital(name), words, "closed when? One bond in each state, never two")


def _torques(job: Job) -> Iterator[dict[str, str]]:
    """What each terminal takes, and how tight."""
    sheets: list[tuple[str, Callable[[], Any]]] = [
        ("islanding switch", lambda: job.switch),
        ("inverter", lambda: job.inverter),
        ("battery", lambda: job.battery),
        ("PV array", lambda: job.pv),
    ]
    for word, read in sheets:
        try:
            sheet = read()
            terminals = sheet.terminals if sheet is not None else {}
        except Unknown:
            yield _row(capital(word), NOT_KNOWN, "on its sheet")
            continue
        for name, terminal in terminals.items():
            yield _row(capital(f"{word}, {name}"), said(terminal, "torque_nm"), "tighten, mark")


def _row(key: str, value: str, why: str, *, whom: str = "") -> dict[str, str]:
    ask = f" Ask {whom}." if value == NOT_KNOWN and whom.startswith("the ") else ""
    return {"key": key, "value": value, "why": sentence(why) + ask}
