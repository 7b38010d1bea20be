"""Equipment schedule: what hangs where, existing and new told apart."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from typing import TYPE_CHECKING

from islewright.papers.say import DOES_NOT_APPLY, NONE, NOT_KNOWN, capital, listed, stated

if TYPE_CHECKING:
    from islewright.job.model import Board, Job, Placed


def equipment(job: Job) -> list[dict[str, str]]:
    """One row a piece, from the meter to the last source; what is not there is left out."""
    return [
        _row(
            "main fuse",
            "",
            "service entry",
            _device(job),
            stated(lambda: job.supply.main_fuse.state),
        ),
        *(_board(name, board) for name, board in job.boards.items()),
        *_placed(job),
        *_generator(job),
        *_electrode(job),
    ]


def _device(job: Job) -> str:
    fuse = stated(lambda: job.supply.main_fuse.name)
    breaks = stated(lambda: job.supply.main_fuse.breaking_capacity_a, "A")
    return f"{fuse}, breaks {breaks}"


def _board(name: str, board: Board) -> dict[str, str]:
    at = stated(functools.partial(getattr, board, "at"))
    figures = f"busbar {stated(lambda: board.busbar_a, 'A')}, {_main_switch(board)}"
    return _row(name, "", at, figures, stated(functools.partial(getattr, board, "state")))


def _main_switch(board: Board) -> str:
    if board.gap("main_switch") is not None:
        return f"main switch {NOT_KNOWN}"
    switch = board.main_switch
    if switch is None:
        return "no main switch"
    poles = stated(lambda: listed(switch.poles))
    return f"main switch {stated(lambda: switch.rated_current_a, 'A')}, {poles}"


def _placed(job: Job) -> Iterator[dict[str, str]]:
    """Islanding switch, inverter, battery, PV array, each with the figures of its sheet."""
    placed = job.placement
    yield _piece("islanding switch", placed.islanding_switch, _switch(job))
    yield _piece("inverter", placed.inverter, _inverter(job))
    for what, name, figures in (("battery", "battery", _battery), ("PV array", "pv", _pv)):
        if placed.gap(name) is not None:
            yield _row(what, NOT_KNOWN, NOT_KNOWN, NOT_KNOWN, NOT_KNOWN)
            continue
        piece = getattr(placed, name)
        if piece is not None:
            yield _piece(what, piece, figures(job))


def _piece(what: str, piece: Placed, figures: str) -> dict[str, str]:
    return _row(what, piece.model, stated(lambda: piece.at), figures, stated(lambda: piece.state))


def _switch(job: Job) -> str:
    poles = stated(lambda: listed(job.switch.switched_poles))
    bond = stated(lambda: job.switch.bond and job.switch.bond.closed)
    bond = {NONE: "no bond", NOT_KNOWN: "bond not known"}.get(bond, f"bond closed {bond}")
    return f"{stated(lambda: job.switch.rated_current_a, 'A')}, opens {poles}, {bond}"


def _inverter(job: Job) -> str:
    output = stated(lambda: job.inverter.output)
    surge = stated(lambda: job.inverter.surge.power_va, "VA")
    return f"{stated(lambda: job.inverter.rated_va, 'VA')}, surge {surge}, {output}"


def _battery(job: Job) -> str:
    usable = stated(lambda: job.battery and job.battery.usable_wh, "Wh")
    return f"{usable} usable, {stated(lambda: job.battery and job.battery.nominal_v, 'V')}"


def _pv(job: Job) -> str:
    power = stated(lambda: job.pv and job.pv.power_w, "W")
    volts = stated(lambda: job.pv and job.pv.open_circuit_v, "V")
    coupling = stated(lambda: job.pv and job.pv.coupling)
    return f"{power}, up to {volts}, coupled at {coupling}"


def _generator(job: Job) -> Iterator[dict[str, str]]:
    if job.gap("generator") is not None or job.generator is None:
        return
    inlet = job.generator
    power, joined = stated(lambda: inlet.power_va, "VA"), stated(lambda: inlet.joined_by)
    what = f"generator, {stated(lambda: inlet.generator)}"
    at = f"feeds {stated(lambda: inlet.feeds)}"
    yield _row(what, "", at, f"{power}, {joined}", stated(lambda: inlet.cable.state))


def _electrode(job: Job) -> Iterator[dict[str, str]]:
    earthing = job.earthing
    if earthing.gap("electrode") is not None or earthing.electrode is None:
        return
    electrode = earthing.electrode
    figures = stated(lambda: electrode.resistance_ohm, "ohm")
    yield _row("earth electrode", "", DOES_NOT_APPLY, figures, stated(lambda: electrode.state))


def _row(what: str, model: str, at: str, figures: str, state: str) -> dict[str, str]:
    return {
        "what": capital(what),
        "model": model or DOES_NOT_APPLY,
        "at": at,
        "figures": figures,
        "state": state,
    }
