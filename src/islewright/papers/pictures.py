"""Every drawing of a house as a file of its own: SVG, by the name that says what it shows."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from islewright import drawing
from islewright.papers import in_series, limits, seen_by
from islewright.papers.states import MODES, governing, told_states

if TYPE_CHECKING:
    from islewright.rules.study import Study


def pictures(study: Study) -> Iterator[tuple[str, str]]:
    """File name and SVG: single lines on A4 sheets and for a phone, neutral and earth, curves."""
    sheets = governing(study)
    for sheet in sheets:
        beside = next((s for s in sheets if s is not sheet), None)
        name = _slug(sheet.mode)
        for n, svg in enumerate(drawing.single_lines(study.job, sheet, beside=beside), 1):
            yield f"single-line-{name}-{n}.svg", svg
        yield f"single-line-{name}-phone.svg", drawing.phone_form(study.job, sheet, beside=beside)
    for sheet in study.states:
        if sheet.mode in MODES:
            name = _slug(sheet.name)
            yield f"neutral-and-earth-{name}.svg", drawing.neutral_earth(study.job, sheet)
    for n, svg in enumerate(drawing.positions(study.job, told_states(study)), 1):
        yield f"switch-positions-{n}.svg", svg
    yield "every-state-phone.svg", drawing.states_form(study.job, told_states(study))
    if sheets:
        yield "two-modes.svg", drawing.two_modes(study.job, sheets)
    seen = seen_by.told(study)
    for n, svg in enumerate(seen["drawings"], 1):
        yield f"where-an-rcd-sees-{n}.svg", svg
    if seen["drawings"]:
        yield "where-an-rcd-sees-phone.svg", drawing.seen_form(seen_by.stretches(study))
    for n, chart in enumerate(in_series.chains(study)["charts"], 1):
        yield f"time-and-current-{n:02}-{_slug(chart['title'])}.svg", chart["svg"]
    told = limits.limits(study)
    if told["touch"]:
        yield "touch-voltage.svg", told["touch"]
    for n, chart in enumerate(told["power"], 1):
        yield f"inverter-{n}.svg", chart["svg"]


def _slug(words: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")[:40] or "house"
