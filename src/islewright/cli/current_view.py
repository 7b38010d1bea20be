"""Currents of one state: in cables and circuits, with their angles, in bond and earthing."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from islewright.cli.text import heading, say, table

if TYPE_CHECKING:
    from islewright.network.flow_sheet import FlowSheet, Phasors

CORES = ("L1", "L2", "L3", "N", "PEN", "PE")
#: less is not printed [A]
SHOWN_FROM_A = 5e-5


def currents(flow: FlowSheet, loads: str) -> None:
    """Print cables, then circuits, as far as any current flows."""
    heading(f"Currents [A], {loads}; m: milliamperes")
    amps = {f"cable {name}": here for name, here in flow.cable_amps.items()}
    amps |= flow.circuit_amps
    used = {
        name: here
        for name, here in amps.items()
        if max(map(abs, here.values()), default=0.0) >= SHOWN_FROM_A
    }
    cores = [core for core in CORES if any(core in here for here in used.values())]
    rows = [[name, *amps_row(here, cores)] for name, here in used.items()]
    if rows:
        table(["", *cores], rows, right=" ".join(cores))
    else:
        say("  none anywhere")


def angles(flow: FlowSheet) -> None:
    """Print cables of several lines: lines in phase add up in the neutral, lines apart do not."""
    shared = {
        name: here for name, here in flow.cable_amps.items()
        if len([core for core in here if core.startswith("L")]) > 1
        and max(map(abs, here.values())) >= SHOWN_FROM_A
    }  # fmt: skip
    if not shared:
        return
    heading("Currents with their angles [A, °]: what the lines leave in the neutral")
    cores = [c for c in CORES if c != "PE" and any(c in here for here in shared.values())]
    rows = [
        [f"cable {name}", *(_turned(here[c]) if c in here else "" for c in cores)]
        for name, here in shared.items()
    ]
    table(["", *cores], rows, right=" ".join(cores))


def _turned(value: complex) -> str:
    if abs(value) < SHOWN_FROM_A:
        return "0"
    return f"{amp(value)} {math.degrees(cmath.phase(value)):.0f}°"


def earths(flow: FlowSheet, loads: str) -> None:
    """Print what a clamp would show on bond and earthing conductor, and round each RCD."""
    if flow.earth_amps:
        heading(f"Bond and earthing [A], {loads}; m: milliamperes")
        table(["conductor", "A"], [[n, amp(a)] for n, a in flow.earth_amps.items()], right="A")
    if flow.residual_amps:
        heading(f"Residual current that each RCD sees [A], {loads}; m: milliamperes")
        table(["RCD", "A"], [[n, amp(a)] for n, a in flow.residual_amps.items()], right="A")


def amps_row(here: Phasors, columns: Iterable[str]) -> list[str]:
    """Currents in the order of some columns."""
    return [amp(here[core]) if core in here else "" for core in columns]


def amp(value: complex) -> str:
    """A current, in milliamperes where it is small."""
    size = abs(value)
    if size >= 0.1:
        return f"{size:.1f}"
    return f"{size * 1000:.1f}m" if size >= SHOWN_FROM_A else "0"
