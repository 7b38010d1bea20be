"""Houses made by chance: systems, phases, boards in a row, rings, shared neutrals, any lengths."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from string import Template
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from islewright.job import Job, read_job
from tests.network.small import (
    EQUIPMENT,
    JOB,
    ONE_PHASE,
    ONE_PHASE_PEN,
    PEN,
    RCD,
    THREE_PHASES,
    THREE_PHASES_PEN,
)

Tree = dict[str, Any]
#: a supply with a PE of its own
OWN_PE = {"system": "TN-S", "earth_loop": ", line-earth loop: 0.6 ohm"}
#: a supply without earth: lines and neutral are held by capacitance alone in grid states, so
#: that a first fault draws milliamperes
NO_EARTH = {"system": "IT", "earth_loop": ""}
SPLIT_PHASE = THREE_PHASES | {
    "form": "split phase", "volts": "120", "lines": "L1 L2", "inverter_lines": "L1 L2",
    "tails": "L1 L2 N", "output": "split phase",
}  # fmt: skip
FORMS = {
    "one phase TT": ONE_PHASE,
    "one phase TN-C-S": ONE_PHASE_PEN,
    "one phase TN-S": ONE_PHASE | OWN_PE | {"tails": "L1 N PE"},
    "one phase IT": ONE_PHASE | NO_EARTH,
    "three phases TT": THREE_PHASES,
    "three phases TN-C-S": THREE_PHASES_PEN,
    "three phases TN-S": THREE_PHASES | OWN_PE | {"tails": "L1 L2 L3 N PE"},
    "three phases IT": THREE_PHASES | NO_EARTH,
    "split phase TN-C-S": SPLIT_PHASE | PEN | {"tails": "L1 L2 PEN"},
    "split phase IT": SPLIT_PHASE | NO_EARTH,
}
#: how their names end
SYSTEMS = ("TT", "TN-C-S", "TN-S", "IT")
#: houses of each system on which a law is tried; more by hand, such as LAWS_EACH=200
EACH = int(os.environ.get("LAWS_EACH", "8"))
SIZES = ("1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2", "10 mm2")
lengths = st.integers(min_value=1, max_value=90).map(lambda metres: f"{metres} m")


def law(
    most: int = 60, systems: tuple[str, ...] = SYSTEMS, **drawn: st.SearchStrategy[Any]
) -> Callable[[Callable[..., None]], Callable[[str], None]]:
    """Try a test on houses of every system, `most` circuits each, and on what else is drawn."""

    def tried(test: Callable[..., None]) -> Callable[[str], None]:
        @pytest.mark.parametrize("system", systems)
        def on_houses(system: str) -> None:
            settings(
                max_examples=EACH, deadline=None, derandomize=True,
                suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
            )(given(house=houses(most, system), **drawn)(test))()  # fmt: skip

        on_houses.__name__, on_houses.__doc__ = test.__name__, test.__doc__
        return on_houses

    return tried


def tree_of(words: dict[str, str]) -> Tree:
    """A small house as nested texts."""
    text = Template(JOB).substitute(words)
    tree: Tree = yaml.load(text, yaml.CBaseLoader)  # noqa: S506 - makes texts only
    if words["system"] == "TN-S":
        tree["cables"]["tails"]["earth"] = "as line"
    return tree


def read(tree: Tree, words: dict[str, str], *exchanged: tuple[str, str]) -> Job:
    """Write a house to a folder of its own and read it."""
    equipment = Template(EQUIPMENT).substitute(words)
    for old, new in exchanged:
        assert old in equipment
        equipment = equipment.replace(old, new)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "house.yaml"
        path.write_text(yaml.dump(tree, sort_keys=False), encoding="utf-8")
        (path.parent / "equipment.yaml").write_text(equipment, encoding="utf-8")
        return read_job(path)


@st.composite
def houses(draw: st.DrawFn, most: int = 60, ends: str = "") -> tuple[Tree, dict[str, str]]:
    """A house: its tree, and the words of its form; only forms whose name ends so."""
    words = FORMS[draw(st.sampled_from(sorted(name for name in FORMS if name.endswith(ends))))]
    tree = tree_of(words)
    lines = words["lines"].split()
    boards = _boards(draw, tree, words["lines"])
    circuits: Tree = {}
    for n in range(draw(st.integers(1, most))):
        board = draw(st.sampled_from(boards))
        circuits[f"circuit {n}"] = _circuit(draw, tree, board, lines)
    _share_neutrals(draw, circuits)
    tree["circuits"] = circuits
    return tree, words


def _boards(draw: st.DrawFn, tree: Tree, lines: str) -> list[str]:
    """The two boards of a small house and up to two more, each behind any before it."""
    boards = ["main board", "island board"]
    for n in range(draw(st.integers(0, 2))):
        name = f"board {n}"
        tree["boards"][name] = {
            "demand factor": "1.0",
            "main switch": "none",
            "RCDs": {f"B{n}": yaml.safe_load("{" + RCD + "}")},
        }
        tree["cables"][f"feeder {n}"] = {
            "from": draw(st.sampled_from(boards)),
            "to": name,
            "cores": f"{lines} N PE",
            "size": draw(st.sampled_from(SIZES)),
            "length": draw(lengths),
            "device": "B32 6 kA class 3",
        }
        boards.append(name)
    return boards


def _circuit(draw: st.DrawFn, tree: Tree, board: str, lines: list[str]) -> Tree:
    line = draw(st.sampled_from(lines))
    circuit: Tree = {
        "board": board,
        "lines": line,
        "cores": f"{line} N PE",
        "device": "B16 6 kA class 3",
        "size": draw(st.sampled_from(SIZES)),
        "earth": draw(st.sampled_from(["as line", *SIZES])),
        "use": "sockets",
        "loads": {"load": f"{draw(st.integers(0, 2000))} W"},
    }
    rcds = list(tree["boards"][board]["RCDs"])
    behind = draw(st.sampled_from(["", *rcds]))
    if behind:
        circuit["behind"] = behind
    if draw(st.integers(0, 4)) == 0:
        circuit["ring"] = {"first leg": draw(lengths), "second leg": draw(lengths)}
    else:
        circuit["length"] = draw(lengths)
    return circuit


def _share_neutrals(draw: st.DrawFn, circuits: Tree) -> None:
    """Some pairs of one board and one RCD share the neutral of the first."""
    owners: dict[tuple[str, str], str] = {}
    for name, circuit in circuits.items():
        group = circuit["board"], circuit.get("behind", "")
        if group in owners and draw(st.integers(0, 5)) == 0:
            circuit["neutral with"] = owners.pop(group)
        elif "ring" not in circuit:
            owners.setdefault(group, name)


def loads_of(job: Job) -> dict[str, float]:
    """Line current of each circuit at nominal voltage [A]."""
    volts = float(job.supply.nominal_voltage_v)
    return {
        name: float(sum(x.power_w for x in circuit.loads.values())) / volts
        for name, circuit in job.circuits.items()
    }
