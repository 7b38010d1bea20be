"""What is proved, counted: printed values, independent engines, tampered files.

`python benchmarks/truth.py --fuzz FILE` runs the comparison with other engines (some minutes),
holds every printed value against ours, takes the figures of a finished run of
`python -m tests.rough.many --summary FILE`, and leaves `results/truth.json`.
"""

from __future__ import annotations

import argparse
import importlib
import json
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from benchmarks.measure import leave, versions  # noqa: E402 - lies beside, not in a package

#: engines that are wrong on purpose are compared here, to see that it shows
ON_PURPOSE = "test_comparison.py"
BOUND = 1e-6


class Counted:
    """Every case that the tests compare with another engine, and how far both are apart."""

    def __init__(self) -> None:
        self.off: list[float] = []
        self.here = True
        self.failed = 0

    def pytest_runtest_setup(self, item: Any) -> None:
        """Leave out what is wrong on purpose."""
        self.here = item.path.name != ON_PURPOSE

    def pytest_runtest_logreport(self, report: Any) -> None:
        """Count the tests whose bound was not kept."""
        self.failed += report.failed

    def take(self, volts: float, amps: float) -> None:
        """One healthy case, or one fault: of U_0, and of the largest current of the case."""
        if self.here:
            self.off.append(float(max(volts, amps)))

    def listen(self) -> None:
        """Hear of each case where the tests' own comparison tells it."""
        house = importlib.import_module("tests.engines.house")
        faults = importlib.import_module("tests.engines.faults")
        healthy, of_fault = house.Difference, faults.Worst.take

        def difference(volts: float, amps: float, *rest: Any) -> Any:
            self.take(volts, amps)
            return healthy(volts, amps, *rest)

        def worst(one: Any, volts: float, amps: float, where: object) -> None:
            self.take(volts, amps)
            of_fault(one, volts, amps, where)

        house.Difference, faults.Worst.take = difference, worst


def published() -> dict[str, float]:
    """Values that others have printed, and how many of them ours reach."""
    rows = importlib.import_module("tests.published.test_printed_values").ROWS
    printed = [row for row in rows if row.kind != "derived"]
    return {
        "published_values": len(printed),
        "published_reproduced": sum(row.is_near for row in printed),
    }


def engines() -> dict[str, float]:
    """Cases compared with other engines, and the worst of them.

    Raises
    ------
    SystemExit : none was heard of; nothing may be told then
    """
    import pytest

    counted = Counted()
    counted.listen()
    words = ["-q", "-p", "no:cacheprovider", str(ROOT / "tests" / "engines")]
    pytest.main(words, plugins=[counted])
    if not counted.off:
        raise SystemExit("no comparison was heard of; no figures were left")
    within = sum(off <= BOUND for off in counted.off)
    return {
        "engine_cases": len(counted.off),
        "engine_worst_relative": max(counted.off),
        "engine_tests_failed": counted.failed,
        "engine_within_1e_6_percent": 100 * within / len(counted.off),
    }


def fuzzed(file: Path) -> dict[str, float]:
    """Figures of a finished run over tampered files."""
    told = json.loads(file.read_text("utf-8"))
    return {
        "fuzzed_files": told["files"],
        "fuzz_tracebacks": told["tracebacks"],
        "fuzz_false_met": told["false_met"],
        "fuzz_too_slow": told["too_slow"],
        "fuzz_longest_s": told["longest_s"],
        "fuzz_memory_mb": told["memory_mb"],
    }


def main() -> None:
    """Gather, and leave the figures."""
    words = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    words.add_argument("--fuzz", type=Path, required=True, help="summary of a finished run")
    asked = words.parse_args()
    told = {"seeds": json.loads(asked.fuzz.read_text("utf-8"))["seeds"]}
    figures = published() | engines() | fuzzed(asked.fuzz)
    leave("truth", figures, versions("numpy", "OpenDSSDirect.py", "pytest", "hypothesis"), told)


if __name__ == "__main__":
    main()
