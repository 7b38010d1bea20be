"""Every job file of the examples and of the rules' cases."""

from pathlib import Path

ROOT = Path(__file__).parents[2]
FILES = [
    path
    for folder in ("examples/*/*.yaml", "tests/rules/houses/*.yaml")
    for path in sorted(ROOT.glob(folder))
    if path.name != "equipment.yaml"
]
