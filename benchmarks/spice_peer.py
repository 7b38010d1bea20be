"""ngspice on the same house: one small-signal solution for each ampere sent through a fault.

One process solves all faults of a state: currents of idle sources across each pair of
conductors are altered one after the other, as with OpenDSS. It factorises for each of them.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from peer import largest, probes_of

from tests.engines import spice
from tests.engines.elements import EARTH, Element, nodes_of
from tests.engines.netlist import elements_of
from tests.engines.positions import Setting, elements_in

if TYPE_CHECKING:
    from tests.engines.faults import Fault
    from tests.engines.house import House

GRID = Setting(state="grid")
_PRINTED = re.compile(r"^port = (\S+),(\S+)$", re.MULTILINE)


def times(house: House, faults: list[Fault], theirs: list[float], runs: int) -> dict[str, float]:
    """Microseconds per fault: the solutions alone, and with its start and the netlist.

    Raises
    ------
    ValueError : some current is not the other peer's within 1e-6 of the largest
    """
    whole, start = [], []
    for _ in range(runs):
        begin = time.perf_counter()
        amps = _amps(elements_in(elements_of(house.job, hot=True), GRID), faults, house.hertz)
        whole.append(time.perf_counter() - begin)
        begin = time.perf_counter()
        elements = elements_in(elements_of(house.job, hot=True), GRID)
        _run(elements, faults, house.hertz, solved=False)
        start.append(time.perf_counter() - begin)
    if not np.allclose(amps, theirs, rtol=0, atol=1e-6 * max(theirs)):
        raise ValueError("ngspice and OpenDSS have other currents")
    each = 1e6 / len(faults)
    return {
        "factorised": round((min(whole) - min(start)) * each, 1),
        "all_in": round(min(whole) * each, 1),
    }


def _amps(elements: list[Element], faults: list[Fault], hertz: float) -> list[float]:
    """Largest current of each bolted fault [A]."""
    told = iter(_run(elements, faults, hertz, solved=True))
    healthy = [np.array([next(told) for _ in fault.pairs]) for fault in faults]
    found = []
    for fault, volts in zip(faults, healthy, strict=True):
        count = len(fault.pairs)
        z = np.array([[next(told) for _ in range(count)] for _ in range(count)]).T
        found.append(largest(np.linalg.solve(z - volts[:, None], volts)))
    return found


def _run(
    elements: list[Element], faults: list[Fault], hertz: float, *, solved: bool
) -> list[complex]:
    """Voltages across the pairs [V]: all of them healthy, then a fault's own for each ampere."""
    together = [*elements, *probes_of(faults)]
    at = {node: f"n{i}" for i, node in enumerate(nodes_of(together))} | {EARTH: "0"}
    deck = spice.netlist(together, hertz, "faults").replace(".end\n", "")
    card = re.compile(r"^\.ac .*\n", re.MULTILINE)
    solve = card.search(deck).group().removeprefix(".").strip()
    script = ["set numdgt=15", solve] if solved else []
    ports = [[f"let port = v({at[b]})-v({at[a]})\nprint port" for a, b in f.pairs] for f in faults]
    script += [line for port in ports for line in port] if solved else []
    probe = len(elements)
    for port in ports if solved else []:
        for _ in port:
            script += [f"alter @i{probe}[acmag]=1", "destroy all", solve, *port]
            script += [f"alter @i{probe}[acmag]=0"]
            probe += 1
    text = "\n".join([card.sub("", deck), ".control", *script, "quit", ".endc", ".end", ""])
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "house.cir"
        file.write_text(text, encoding="ascii")
        done = subprocess.run(
            [spice.PROGRAM, "-b", str(file)],
            capture_output=True,
            text=True,
            cwd=folder,
            check=False,
        )
    found = [complex(float(re_), float(im)) for re_, im in _PRINTED.findall(done.stdout)]
    if solved and not found:
        raise RuntimeError(done.stdout[-500:] + done.stderr[-500:])
    return found
