"""Forms of house that no example has, made from the examples' files by exchanging lines."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.engines.house import EXAMPLES, NAMES, House


@dataclass(frozen=True, slots=True)
class Variant:
    """An example, and what stands otherwise in its job file and its equipment file.

    Each pair is (old, new); `where` begins the part of the file in which the first `old`
    is exchanged, or is "" for every one of them.
    """

    example: str
    job: tuple[tuple[str, str, str], ...] = ()
    equipment: tuple[tuple[str, str, str], ...] = ()


def make(variant: Variant, folder: Path) -> House:
    """Write the variant's files and read them.

    Raises
    ------
    LookupError : a line to exchange is not in the example any more
    """
    source = EXAMPLES / variant.example
    for file, edits in (
        (f"{variant.example}.yaml", variant.job),
        ("equipment.yaml", variant.equipment),
    ):
        text = (source / file).read_text(encoding="utf-8")
        for where, old, new in edits:
            text = _exchanged(text, where, old, new)
        (folder / file).write_text(text, encoding="utf-8")
    return House(folder / f"{variant.example}.yaml")


def _exchanged(text: str, where: str, old: str, new: str) -> str:
    start = text.find(where)
    if start < 0 or old not in text[start:]:
        raise LookupError(f"{where!r}: no {old!r}")
    rest = text[start:]
    return text[:start] + (rest.replace(old, new, 1) if where else rest.replace(old, new))


SPLIT_PHASE = (
    ("", "form: one phase", "form: split phase"),
    ("", "nominal voltage: 230 V", "nominal voltage: 120 V"),
    ("", "cores: L1 N PE", "cores: L1 L2 N PE"),
    ("", "cores: L1 N\n", "cores: L1 L2 N\n"),
    ("", "poles: L1 N", "poles: L1 L2 N"),
    ("", "    lines: L1\n", "    lines: L1 L2\n"),
    ("    at: hall\n    line: L1\n", "    line: L1\n", ""),
)
THREE = "output: three-phase with neutral"
XLPE = "\n    insulation: XLPE"
OTHER_CORES = f"{XLPE}\n    material: aluminium"
BYPASS = ("", "bypass poles: none", "bypass poles: L1 N")
VARIANTS: dict[str, Variant] = {
    "bypass of two poles": Variant("cottage", equipment=(BYPASS,)),
    "bypass without neutral": Variant(
        "terrace", equipment=(("", "bypass poles: none", "bypass poles: L1 L2 L3"),)
    ),
    "neutral runs through the switch": Variant(
        "cottage", equipment=(("", "switched poles: L1 N", "switched poles: L1"),)
    ),
    "bond always closed": Variant(
        "cottage", equipment=(("", "closed: in island mode", "closed: always"),)
    ),
    "bond at the grid terminals": Variant("cottage", equipment=(("", "at: house", "at: grid"),)),
    "IT supply": Variant("cottage", job=(("", "system earthing: TT", "system earthing: IT"),)),
    "split phase": Variant(
        "cottage",
        job=SPLIT_PHASE,
        equipment=(("", "L1 N", "L1 L2 N"), ("", "output: single-phase", "output: split phase")),
    ),
    "bridged lines": Variant(
        "terrace",
        equipment=(("", THREE, "output: single-phase on bridged lines"),),
    ),
    "one line of three": Variant(
        "terrace",
        job=(("  inverter:\n", "    at: cellar\n", "    at: cellar\n    line: L2\n"),),
        equipment=(("", THREE, "output: single-phase"),),
    ),
    "single units, impedance not stated": Variant(
        "terrace",
        equipment=(
            ("", THREE, "output: single units per phase"),
            ("", "  output impedance: 0.15 ohm\n", ""),
        ),
    ),
    "shared neutral": Variant(
        "terrace",
        job=(
            (
                "  lights upper floors:",
                "cores: L2 N PE",
                "cores: L2 N PE\n    neutral with: lights ground floor",
            ),
        ),
    ),
    "neutral on another group": Variant(
        "terrace",
        job=(("  office sockets:", "cores: L1 N PE", "cores: L1 N PE\n    neutral at: R3"),),
    ),
    "aluminium, XLPE, thinner earth": Variant(
        "farmhouse",
        job=(
            ("  grid side:", "size: 16 mm2", f"size: 35 mm2\n    earth: 16 mm2{OTHER_CORES}"),
            ("  stable sockets:", "size: 6 mm2", f"size: 6 mm2\n    earth: 2.5 mm2{XLPE}"),
        ),
    ),
    "device at the far end": Variant(
        "terrace",
        job=(
            ("  inverter cable:", "to: inverter/output", "device at: to\n    to: inverter/output"),
        ),
    ),
    "loops read at the board": Variant(
        "terrace", job=(("  measured:", "at: supply", "at: main board"),)
    ),
    "no line-line loop": Variant(
        "terrace", job=tuple(("", f"    line-line loop: 0.{n} ohm\n", "") for n in (26, 28))
    ),
    "PV with an inverter of its own": Variant(
        "terrace",
        job=(
            (
                "  PV array:\n",
                "    at: roof\n",
                "    at: roof\n    connected to: backed-up board\n",
            ),
        ),
        equipment=(("", "coupling: d.c.", "coupling: a.c."),),
    ),
    "PV with an inverter of its own, house on one line": Variant(
        "terrace",
        job=(
            (
                "  PV array:\n",
                "    at: roof\n",
                "    at: roof\n    connected to: backed-up board\n",
            ),
            ("  inverter:\n", "    at: cellar\n", "    at: cellar\n    line: L2\n"),
        ),
        equipment=(
            ("", "coupling: d.c.", "coupling: a.c."),
            ("", THREE, "output: single-phase"),
        ),
    ),
    "TT with pipes": Variant(
        "cottage", job=(("", "parallel earths: none", "parallel earths:\n    pipe: 60 ohm"),)
    ),
}
#: forms of output that no example has, and other ways to have one that some example has
OUTPUTS = (
    "single units, impedance not stated",
    "one line of three",
    "bridged lines",
    "split phase",
    "IT supply",
)


@cache
def house_of(name: str) -> House:
    """An example or a variant by its name, read and built once for all tests."""
    if name in NAMES:
        return House.example(name)
    with tempfile.TemporaryDirectory() as folder:
        return make(VARIANTS[name], Path(folder))
