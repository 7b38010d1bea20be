"""What is proved, counted: printed values, independent engines, tampered files.

`python benchmarks/truth.py --fuzz FILE` holds every printed value against ours, takes the figures
of finished runs of `python -m tests.engines.wide` and of
`python -m tests.rough.many --summary FILE`, and leaves `results/truth.json`.
"""

from __future__ import annotations

import argparse
import importlib
import json
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from benchmarks.measure import leave, versions  # noqa: E402 - lies beside, not in a package

#: what `python -m tests.engines.wide` leaves; a test holds it to the cases of today
WIDE = ROOT / "tests" / "engines" / "data" / "wide.json"


def published() -> dict[str, float]:
    """Values that others have printed, and how many of them ours reach."""
    rows = importlib.import_module("tests.published.test_printed_values").ROWS
    printed = [row for row in rows if row.kind != "derived"]
    return {
        "published_values": len(printed),
        "published_reproduced": sum(row.is_near for row in printed),
    }


def engines() -> dict[str, float]:
    """Cases solved by another engine too, and the worst of them.

    Where both differ most on what floats, voltages were held against extended precision instead.
    """
    run = json.loads(WIDE.read_text("utf-8"))
    parts = [run[name] for name in ("states", "faults", "mistakes", "faults in mistakes")]
    held = [part["held"] for part in parts]
    floating = [part[word] for part in parts for word in ("floating", "arbitrated") if word in part]
    return {
        "engine_cases": sum(one["cases"] for one in [*held, *floating]),
        "engine_worst_relative": max(max(one["volts"], one["amps"]) for one in held),
        "engine_worst_floating": max(max(one["volts"], one["amps"]) for one in floating),
        "engine_out_of_bounds": sum(part["wrong"] for part in parts),
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
    leave("truth", figures, versions("numpy", "OpenDSSDirect.py"), told)


if __name__ == "__main__":
    main()
