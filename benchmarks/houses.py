"""Houses of any size, made from the parts of the farmhouse example.

Every board beyond the first two hangs on one of them by a cable of its own, has two RCDs,
and takes up to sixteen circuits; circuits are those of the example in turn, so that kinds,
lengths and gaps stay as mixed as they are there.
"""

from __future__ import annotations

import copy
import random
import re
import shutil
from pathlib import Path
from typing import Any

import yaml

EXAMPLE = Path(__file__).parents[1] / "examples" / "farmhouse"
A_BOARD = 16
#: kept to the board that they were drawn for
_OWN = ("neutral with", "neutral at")

Tree = dict[str, Any]


#: figures of the example that vary from house to house
_FIGURE = re.compile(r"((?:length|power|resistance|[a-z-]+ loop): )([0-9.]+)(?= )")


def write_others(folder: Path, count: int) -> list[Path]:
    """Write houses like the example, each with figures of its own, never read before."""
    text = (EXAMPLE / "farmhouse.yaml").read_text(encoding="utf-8")
    chance = random.Random(20)  # noqa: S311 - nothing secret
    shutil.copy(EXAMPLE / "equipment.yaml", folder)
    found = []
    for number in range(count):
        other = _FIGURE.sub(
            lambda at: f"{at[1]}{float(at[2]) * (1 + chance.random() / 1000):.7g}", text
        )
        found.append(folder / f"house {number}.yaml")
        found[-1].write_text(other, encoding="utf-8")
    return found


def write_house(folder: Path, circuits: int) -> Path:
    """Write a job file with so many circuits, and its equipment; return the job file."""
    text = (EXAMPLE / "farmhouse.yaml").read_text(encoding="utf-8")
    job: Tree = yaml.load(text, yaml.CBaseLoader)  # noqa: S506 - texts, lists and maps alone
    models = [c for c in job["circuits"].values() if not any(key in c for key in _OWN)]
    boards = _boards(job, -(-circuits // A_BOARD))
    job["circuits"] = {
        f"circuit {i + 1}": _circuit(models[i % len(models)], job, boards[i // A_BOARD], i)
        for i in range(circuits)
    }
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copy(EXAMPLE / "equipment.yaml", folder)
    file = folder / f"house of {circuits}.yaml"
    file.write_text(yaml.dump(job, sort_keys=False, allow_unicode=True), encoding="utf-8")
    return file


def _boards(job: Tree, count: int) -> list[str]:
    """Lay out so many boards; the first two are the example's own."""
    names = list(job["boards"])
    feeder = job["cables"]["grid side"]
    for i in range(len(names), count):
        fed_from, name = names[i % 2], f"board {i + 1}"
        names.append(name)
        board = copy.deepcopy(job["boards"][fed_from])
        rcds = list(board["RCDs"].values())[:2]
        board["RCDs"] = {f"R{i + 1}.{k + 1}": rcd for k, rcd in enumerate(rcds)}
        board["main switch"] = "none"
        job["boards"][name] = board
        job["cables"][f"feeder {i + 1}"] = copy.deepcopy(feeder) | {"from": fed_from, "to": name}
    return names[:count]


def _circuit(model: Tree, job: Tree, board: str, i: int) -> Tree:
    """One of the example's circuits on another board, behind one of its RCDs."""
    circuit = copy.deepcopy(model) | {"board": board}
    if "behind" in circuit:
        rcds = list(job["boards"][board]["RCDs"])
        circuit["behind"] = rcds[i % len(rcds)]
    return circuit
