"""The inlet of a generator, as a row of the board that it feeds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from islewright.drawing.plan import Group, Row
from islewright.drawing.words import cores_words, figure, known, lines_words
from islewright.units import show

if TYPE_CHECKING:
    from islewright.job.generator import GeneratorInlet
    from islewright.job.model import Job


def generator_groups(job: Job, board: str) -> Iterator[Group]:
    """One group with one row, at the board it feeds; what nobody has told of is not drawn."""
    inlet = known(lambda: job.generator, None)
    if inlet is None or known(lambda: inlet.feeds, "") != board:
        return
    amps = known(lambda: f" {figure(inlet.inlet_a)} A", "")
    row = Row(
        key="generator inlet",
        number="",
        name=f"inlet{amps}, open",
        lines=known(lambda: lines_words(inlet.lines), "?"),
        device="",
        cores=known(lambda: _cores(inlet), "?"),
        length=known(lambda: figure(inlet.cable.length_m), "?"),
        source=True,
    )
    yield Group(key=board, head="", detail=_detail(inlet), rcd=False, rows=(row,))


def _cores(inlet: GeneratorInlet) -> str:
    """Its lines, neutral and protective conductor; the file names no cores of this cable."""
    size = inlet.cable.size_mm2
    earth = known(lambda: inlet.cable.pe_mm2, size)
    return cores_words((*inlet.lines, "N", "PE"), size, earth)


def _detail(inlet: GeneratorInlet) -> str:
    """What it is, and what keeps it from running beside the network."""
    kind = known(lambda: f"{inlet.generator} ", "")
    power = known(lambda: f" {show(inlet.power_va, 'VA')}", "")
    kept = known(lambda: inlet.from_network, "interlock not known")
    return f"{kind}generator{power}: {'no interlock' if kept == 'none' else kept}"
