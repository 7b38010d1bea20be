"""Speed of the whole way: `python benchmarks/main.py`, from a set-up with the tests' tools.

Prints a table, and writes `results/main.json` and the page `docs/benchmarks.md`. Figures are
medians where they are not said to be the best; what falls short of its aim is written down as
it is. pandapower is timed where `PANDAPOWER_PYTHON` names the Python of an environment of its
own that has it, since what it needs is no part of ours: `python -m venv there`,
`there/bin/pip install pandapower`. `OTHER_PYTHON` names one to verify the demo by as well.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # the matrices are small; before numpy is loaded
for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE", "PYTHONDONTWRITEBYTECODE"):
    os.environ.pop(name, None)
sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

import cold  # noqa: E402 - the environment comes first
import others  # noqa: E402
import page  # noqa: E402
import peer  # noqa: E402
from houses import write_house, write_others  # noqa: E402
from measure import best_and_median_s, in_turn_s, leave, median_s, versions  # noqa: E402
from split import split_ms  # noqa: E402
from work import EXAMPLE, parts_of, two_states, verify  # noqa: E402

SIZES = (10, 25, 63, 160, 400)
JOBS_PER_CORE = 40


def main() -> None:
    """Run everything, print and write it."""
    figures: dict[str, float] = {}
    told: dict[str, object] = {}
    figures |= verifying(told)
    told["verify_split_ms"] = split_ms(31)
    elements = parts_of()
    told["faults_of_two_states"] = two_states(*elements)
    figures["network_two_states_ms"] = 1e3 * median_s(lambda: two_states(*elements), runs=51)
    figures |= cold.figures()
    figures |= growth(told)
    figures |= against_peers(told)
    figures["jobs_per_s_all_cores"] = jobs_per_s()
    used = versions("numpy", "pydantic", "pyyaml", "OpenDSSDirect.py")
    leave("main", figures, used, told)
    page.write()
    for key, value in figures.items():
        print(f"{key:32s} {value:10.4g}")


def verifying(told: dict[str, object]) -> dict[str, float]:
    """The demo over and over, houses that were never read before, and by another Python."""
    best, median = best_and_median_s(verify, [EXAMPLE] * 206)
    with tempfile.TemporaryDirectory() as folder:
        new, new_median = best_and_median_s(verify, write_others(Path(folder), 106))
    if asked := os.environ.get("OTHER_PYTHON"):
        told["verify_by_another_python"] = by_another_python(asked)
    return {
        "verify_ms": 1e3 * best,
        "verify_median_ms": 1e3 * median,
        "verify_new_ms": 1e3 * new,
        "verify_new_median_ms": 1e3 * new_median,
    }


def by_another_python(python: str) -> dict[str, str | float]:
    """The same of another environment: which Python, best and median [ms]."""
    script = (
        "import json, sys; sys.path[:0] = sys.argv[1:];"
        "from measure import best_and_median_s, python; from work import EXAMPLE, verify;"
        "best, median = best_and_median_s(verify, [EXAMPLE] * 206);"
        "print(json.dumps({'python': python(), 'best': 1e3 * best, 'median': 1e3 * median}))"
    )
    here = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "src")]
    done = subprocess.run([python, "-c", script, *here], capture_output=True, text=True, check=True)
    found: dict[str, str | float] = json.loads(done.stdout)
    return {key: x if isinstance(x, str) else round(x, 2) for key, x in found.items()}


def growth(told: dict[str, object]) -> dict[str, float]:
    """Slope of time over circuits on double logarithmic paper, by least squares."""
    import numpy as np

    times = {}
    with tempfile.TemporaryDirectory() as folder:
        for size in SIZES:
            file = write_house(Path(folder), size)
            times[size] = median_s(lambda file=file: verify(file), runs=7, before=1)
    told["verify_ms_by_circuits"] = {str(n): round(1e3 * s, 2) for n, s in times.items()}
    slope = np.polyfit(np.log(list(times)), np.log(list(times.values())), 1)[0]
    return {"growth_exponent_10_to_400": float(slope)}


def against_peers(told: dict[str, object]) -> dict[str, float]:
    """Time per fault of the best peer, OpenDSS, over ours; the other two are told beside it."""
    found = {}
    for key, volts in (("", False), ("_volts", True)):
        for way, ratio in (
            ("factorised", peer.factorised(7, volts=volts)),
            ("all_in", peer.all_in(5, volts=volts)),
        ):
            found[f"fault_ratio_{way}{key}"] = ratio.ratio
            told[f"fault_us_{way}{key}"] = {
                "OpenDSS": round(1e6 * ratio.peer_s, 2),
                "Islewright": round(1e6 * ratio.ours_s, 2),
                "faults": ratio.faults,
            }
    told["fault_us_first"] = round(1e6 * peer.factorised(7, again=1).ours_s, 2)
    told["fault_us_others"] = others.times()
    return found


def jobs_per_s() -> float:
    """Whole jobs verified each second with one process a core, the pool already running."""
    cores = os.cpu_count() or 1
    with ProcessPoolExecutor(cores) as pool:
        list(pool.map(_verify_one, range(4 * cores)))
        count = JOBS_PER_CORE * cores
        spent, _ = in_turn_s(
            lambda: list(pool.map(_verify_one, range(count), chunksize=4)), lambda: None, runs=3
        )
    return count / spent


def _verify_one(_: int) -> int:
    return len(verify().findings)


if __name__ == "__main__":
    main()
