"""Elements that any general solver knows, between nodes named as the network names them.

Belongs here: what an element is, and the figures that the elements are made of, read from
the table files with arithmetic of their own. Does not belong here: jobs (`netlist`),
solvers (`opendss`, `spice`).
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import islewright

EARTH = "earth"
#: ohms of the 1 nS that every node has to true earth
FLOAT_OHM = 1e9
TABLES = Path(islewright.__file__).parent / "tables" / "data"


@dataclass(frozen=True, slots=True)
class Element:
    """One two-terminal element from node `a` to node `b`.

    `kind`: "ohm" (impedance `ohm`), "farad" (capacitance `farad`), "emf" (source `volt`
    behind `ohm`, raising b above a), "amp" (current `ampere` driven from a to b inside).
    `role` says what it is in the house: "contact", "bond", "public supply", "inverter",
    "street load", "bypass", "switch", "fed", "PV on the grid", "PV in the island", or "" for
    what never moves.
    """

    name: str
    a: str
    b: str
    kind: str = "ohm"
    ohm: complex = 0j
    farad: float = 0.0
    volt: complex = 0j
    ampere: complex = 0j
    role: str = ""


def nodes_of(elements: list[Element]) -> list[str]:
    """Every node but true earth, in order of mention."""
    ends = (end for e in elements for end in (e.a, e.b) if end != EARTH)
    return list(dict.fromkeys(ends))


@cache
def _rows(table: str) -> list[dict[str, str]]:
    with (TABLES / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _one(table: str, column: str, **keys: str) -> float:
    for row in _rows(table):
        if all(row[key] == value for key, value in keys.items()):
            return float(row[column])
    raise LookupError(f"{table}: no row {keys}")


def assumed(key: str) -> float:
    """A figure of the IEC base that the network takes where the job is silent."""
    return _one("profile_iec", "value", key=key)


def core_ohm(
    metal: str, size_mm2: float, length_m: float, *, hot: bool, insulation: str = "PVC"
) -> complex:
    """Impedance of one core: at its limit temperature, or at 20 °C [Ω]."""
    key = {"copper": "Cu", "aluminium": "Al"}[metal]
    r20 = _one(
        "conductor_resistance", "r20_ohm_per_km",
        material=key, conductor_class="2", size_mm2=f"{float(size_mm2):g}",
    )  # fmt: skip
    theta = _one("insulation", "limit_c", insulation=insulation) if hot else 20.0
    alpha = _one("conductor_material", "value", material=key, quantity="alpha_20")
    x = float(_rows("conductor_reactance")[0]["x_ohm_per_km"])
    return complex(r20 * (1 + alpha * (theta - 20.0)), x) * float(length_m) / 1000.0
