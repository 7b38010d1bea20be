"""Elements to an ngspice netlist and back; the second independent solver.

Figures are written with twelve digits, so that the netlist, and with it its hash, is the
same on every machine.
"""

from __future__ import annotations

import cmath
import hashlib
import math
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

import numpy as np

from tests.engines.elements import EARTH, FLOAT_OHM, Element, nodes_of

PROGRAM = "ngspice"
SECONDS = 60


def netlist(elements: list[Element], hertz: float, title: str) -> str:
    """A netlist for one small-signal solution at one frequency."""
    at = {node: f"n{i}" for i, node in enumerate(nodes_of(elements))} | {EARTH: "0"}
    lines = [f"* {title}"]
    for i, e in enumerate(elements):
        lines += _cards(i, e, at[e.a], at[e.b], hertz)
    lines += [f"Rleak{i} n{i} 0 {FLOAT_OHM:g}" for i in range(len(at) - 1)]
    # no operating point first: there is nothing that bends
    return "\n".join([*lines, ".options noopac", f".ac lin 1 {hertz:g} {hertz:g}", ".end", ""])


def _cards(i: int, e: Element, a: str, b: str, hertz: float) -> list[str]:
    if e.kind == "farad":
        return [f"C{i} {a} {b} {e.farad:.12g}"]
    if e.kind == "amp":
        return [f"I{i} {a} {b} dc 0 ac {abs(e.ampere):.12g} {_degrees(e.ampere):.12g}"]
    cards = []
    if e.kind == "emf":
        cards.append(f"V{i} v{i} {a} dc 0 ac {abs(e.volt):.12g} {_degrees(e.volt):.12g}")
        a = f"v{i}"
    if e.ohm.imag and e.ohm.real:
        cards.append(f"R{i} {a} m{i} {e.ohm.real:.12g}")
        a = f"m{i}"
    if e.ohm.imag:
        cards.append(f"L{i} {a} {b} {e.ohm.imag / (2 * math.pi * hertz):.12g}")
    else:
        cards.append(f"R{i} {a} {b} {e.ohm.real:.12g}")
    return cards


def _degrees(value: complex) -> float:
    return round(math.degrees(cmath.phase(value)), 9)


def digest(text: str) -> str:
    """SHA-256 of a netlist, hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def present() -> bool:
    """Whether the program is on this machine."""
    return shutil.which(PROGRAM) is not None


def version() -> str:
    """The program's own word for its version, such as "ngspice-39"."""
    told = subprocess.run(
        [PROGRAM, "--version"], capture_output=True, text=True, check=True, timeout=SECONDS
    ).stdout
    found = re.search(r"ngspice-[\w.+]+", told)
    if found is None:
        raise RuntimeError(f"{PROGRAM} does not say its version")
    return found.group()


def volts_of(text: str, elements: list[Element]) -> dict[str, complex]:
    """Run a netlist; voltage of every node to true earth [V].

    Raises
    ------
    ArithmeticError : some node has no finite voltage
    """
    with tempfile.TemporaryDirectory() as folder:
        deck, raw = Path(folder) / "house.cir", Path(folder) / "house.raw"
        deck.write_text(text, encoding="ascii")
        subprocess.run(
            [PROGRAM, "-b", "-r", str(raw), str(deck)],
            capture_output=True, check=True, timeout=SECONDS, cwd=folder,
        )  # fmt: skip
        head, _, body = raw.read_bytes().partition(b"Binary:\n")
    names = re.findall(r"^\t\d+\t(\S+)\t", head.decode(), flags=re.MULTILINE)
    values = np.frombuffer(body, dtype=np.complex128)
    by_name = dict(zip(names, values, strict=True))
    found = {
        node: complex(by_name[f"v(n{i})" if f"v(n{i})" in by_name else f"n{i}"])
        for i, node in enumerate(nodes_of(elements))
    }
    if not np.isfinite(list(found.values())).all():
        raise ArithmeticError("ngspice has no finite answer")
    return found
