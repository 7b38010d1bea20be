"""The whole command from a cold interpreter, a bare import of numpy beside it, and its memory."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from measure import ROOT, in_turn_s
from work import EXAMPLE

RUNS = 15


def figures() -> dict[str, float]:
    """Seconds of `islewright check` on the demo, over those of `import numpy`, and megabytes."""
    check = [str(Path(sys.executable).parent / "islewright"), "check", str(EXAMPLE)]
    bare = [sys.executable, "-c", "import numpy"]
    cold_s, numpy_s = in_turn_s(lambda: _run(check), lambda: _run(bare), runs=RUNS)
    return {
        "cold_check_s": cold_s,
        "cold_numpy_s": numpy_s,
        "cold_check_over_numpy": cold_s / numpy_s,
        "peak_memory_mb": _peak_mb(check),
    }


def _run(command: list[str]) -> None:
    done = subprocess.run(
        command, cwd=ROOT, env=_environment(), stdout=subprocess.DEVNULL, check=False
    )
    if done.returncode not in (0, 1):  # 1: something is not met, which is the demo's point
        raise RuntimeError(f"{' '.join(command)} ended with {done.returncode}")


def _environment() -> dict[str, str]:
    """A user's own: nothing is said there about threads of a library."""
    return {key: value for key, value in os.environ.items() if key != "OPENBLAS_NUM_THREADS"}


def _peak_mb(command: list[str]) -> float:
    """Largest resident memory of a command [MB], asked from a process that has no other child."""
    script = (
        "import resource, subprocess, sys;"
        "subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL);"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    asked = [sys.executable, "-c", script, *command]
    told = subprocess.run(
        asked, cwd=ROOT, env=_environment(), capture_output=True, text=True, check=True
    )
    unit = 1024 if sys.platform != "darwin" else 1
    return float(told.stdout) * unit / 1e6
