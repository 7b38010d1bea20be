"""The page `docs/benchmarks.md`, written from the result files alone."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

RESULTS = Path(__file__).parent / "results"
PAGE = Path(__file__).parents[1] / "docs" / "benchmarks.md"

#: key -> what it is, its aim ("" where none is set)
ROWS = {
    "verify_ms": (
        "The farmhouse verified, warm: files read, every rule judged; best of 200 [ms]", "≤ 20",
    ),
    "verify_median_ms": ("The same, median", ""),
    "verify_new_ms": ("A hundred such houses with other figures, never read before; best [ms]", ""),
    "verify_new_median_ms": ("The same, median", ""),
    "network_two_states_ms": (
        "Grid and island state, least and largest current of every fault [ms]", "≤ 6",
    ),
    "cold_check_s": ("`islewright check` on the farmhouse, from a cold interpreter [s]", ""),
    "cold_numpy_s": ('`python -c "import numpy"`, in turn with it [s]', ""),
    "cold_check_over_numpy": ("The former over the latter", "≤ 4"),
    "peak_memory_mb": ("Largest resident memory of that command [MB]", "≤ 150"),
    "growth_exponent_10_to_400": (
        "Growth of verifying from 10 to 400 circuits, as a power", "≤ 1.2",
    ),
    "fault_ratio_factorised": (
        "OpenDSS's time per fault over ours, state solved before, current alone", "≥ 300",
    ),
    "fault_ratio_factorised_volts": ("The same with every node's voltage", ""),
    "fault_ratio_all_in": (
        "The same from the job that was read: grid and island, hot and cold, current alone",
        "≥ 30",
    ),
    "fault_ratio_all_in_volts": ("The same with every node's voltage", ""),
    "jobs_per_s_all_cores": ("Jobs verified each second, one process a core [1/s]", ""),
}  # fmt: skip

PACK_ROWS = {
    "pack_s": ("The farmhouse's whole pack, warm, from the findings to the file [s]", "≤ 2"),
    "pack_pages": ("Its pages", ""),
    "pack_kb": ("Its size [kB]", ""),
    "pack_from_the_file_s": ("The same from reading the job [s]", ""),
    "few_pages_s": ("Cover, drawings, neutral and earth, isolation, schedules [s]", ""),
    "few_pages": ("Their pages", ""),
}  # fmt: skip

TRUTH_ROWS = {
    "published_values": ("Values printed outside the project that are held against ours", ""),
    "published_reproduced": ("Of these reached within half of the last printed digit", ""),
    "engine_cases": ("Healthy cases and faults solved by another engine as well", ""),
    "engine_worst_relative": ("Largest difference, of U_0 or of the case's largest current",
                              "≤ 1e-6"),
    "engine_worst_floating": ("The same where a conductor floats", "≤ 1e-4"),
    "engine_out_of_bounds": ("Cases out of their bounds", "≤ 0"),
    "fuzzed_files": ("Tampered files read and judged", ""),
    "fuzz_tracebacks": ("Of these with a crash, or without an end", "≤ 0"),
    "fuzz_false_met": ("Of these with a finding met that was not, after a figure was lost", "≤ 0"),
    "fuzz_too_slow": ("Of these that took more than a second", "≤ 0"),
    "fuzz_longest_s": ("The longest of them [s]", ""),
    "fuzz_memory_mb": ("Most memory of a process that ran them [MB]", "≤ 300"),
}  # fmt: skip

HEAD = """# Benchmarks

Written by `benchmarks/page.py` from `benchmarks/results/`; not by hand. To take the figures
again: `python benchmarks/main.py`, in an environment with the tests' tools.
"""

NOTES = """
**What is timed.** Medians of several runs on one machine, with one BLAS thread, or the best
where it says so: what is above the best, others did on a shared machine. *Verified* runs from
opening the job file to the last finding. From the run before stay imported modules, the
published tables with what was read off them, and what single lines and texts of a file say; no
file, job, network or finding is kept. *Never read before*: every length, power, loop and
resistance of the house is another one in each file, so that all of that is met anew.
{another}*Two states* starts from the job's elements and
ends with {faults} fault currents: indices, matrices and elimination, an inverse for each of
grid and island with hot and with cold conductors, then every L-PE, L-N, L-L and three-phase
fault at both ends of each circuit and cable, in the island at the inverter's limit. The cold
command and the bare import run in turn, in a user's own environment.

**The parts of a verification** are taken in runs of their own, with clocks around what reads,
builds (elements, indices, matrices), solves (inverses, healthy solutions) and works out faults,
wherever a rule asks for it first; the clocks cost a little, so that the sum is above the whole.

**Beside others.** OpenDSS runs in the same process from the tests' own reading of the job,
factorises once and sends one ampere through each place of a fault. *State solved before*:
{of_peer} faults of the grid state, hot, ours twenty times in a row in its turn, since once
is too short to be timed{first}. *From the job*: {of_all} faults, grid and island, hot
and cold; OpenDSS keeps its circuit from state to state and opens or closes what differs, hot
and cold are two circuits. Both sides have the same faults and agree on every current within
1e-6 of the largest, and on every voltage within 1e-6 of 230 V. ngspice solves one case for each
fault and has the same currents; it has every voltage in any case.

**What is not like for like.** The engine is made for this one question and works on all faults
at once; OpenDSS and ngspice are general, and are driven fault by fault from Python or by a
script. OpenDSS's time from the job holds the tests' reading of it in Python, which nobody made
fast, and its own commands in text. The inverter's limit is left out on both sides. ngspice's
time from the job holds its start. pandapower knows three equal phases and no neutral or
protective conductor: it was given a network of as many ends, each a line of the loop's own
impedance, so that its figure is that of a smaller question.
"""


def write() -> None:
    """Write the page."""
    PAGE.write_text(page(json.loads((RESULTS / "main.json").read_text("utf-8"))), encoding="utf-8")


def page(result: dict[str, Any]) -> str:
    """The page for one result file."""
    figures, told = result["figures"], result["told"]
    used = ", ".join(f"{name} {version}" for name, version in result["versions"].items())
    lines = [HEAD, f"{result['measured']}, {result['machine']}; {used}.", ""]
    lines += ["| what | aim | measured |", "|---|---|---|"]
    lines += [f"| {what} | {aim} | {_shown(figures[key])}{_short(figures[key], aim)} |"
              for key, (what, aim) in ROWS.items() if key in figures]  # fmt: skip
    counts = {"of_peer": "factorised", "of_all": "all_in"}
    faults = {word: told[f"fault_us_{key}"]["faults"] for word, key in counts.items()}
    first = told.get("fault_us_first")
    first = f" (once, with the peer's work before it, {_shown(first)} µs a fault)" if first else ""
    given = {"faults": told["faults_of_two_states"], "first": first, "another": _another(told)}
    lines.append(NOTES.format(**given, **faults).rstrip())
    if split := told.get("verify_split_ms"):
        lines += ["", "| part of a verification | [ms] |", "|---|---|"]
        lines += [f"| {part} | {_shown(ms)} |" for part, ms in split.items()]
    lines += ["", "| circuits | verified [ms] |", "|---|---|"]
    lines += [f"| {n} | {_shown(ms)} |" for n, ms in told["verify_ms_by_circuits"].items()]
    return "\n".join([*lines, "", *_per_fault(told), *_papers(), *_truth()]) + "\n"


def _another(told: dict[str, Any]) -> str:
    """The demo verified by another Python, in words; nothing where it was not."""
    other = told.get("verify_by_another_python")
    if other is None:
        return ""
    best, median = _shown(other["best"]), _shown(other["median"])
    return (
        f"Python {other['python']} needs {best} ms for the farmhouse (median {median} ms)\n"
        "on the same machine: the interpreter's own build counts. "
    )


def _per_fault(told: dict[str, Any]) -> list[str]:
    """Time per fault of the engine and of its peers; what was not taken is left out."""
    others = told.get("fault_us_others", {})
    named = [f" {name} {other['version']} |" for name, other in others.items()]
    lines = ["| time per fault [µs] | Islewright | OpenDSS |" + "".join(named)]
    lines.append("|---|---|---|" + "---|" * len(others))
    ways = {"factorised": "state solved before", "all_in": "from the job"}
    for key, what in (
        *ways.items(),
        *((f"{key}_volts", f"{what}, every node's voltage") for key, what in ways.items()),
    ):
        if both := told.get(f"fault_us_{key}"):
            cells = [_shown(both[name]) for name in ("Islewright", "OpenDSS")]
            cells += [_shown(other[key]) if key in other else "" for other in others.values()]
            lines.append(f"| {what} | {' | '.join(cells)} |")
    return lines


def _papers() -> list[str]:
    """The job pack's own table, where it was timed."""
    file = RESULTS / "pack.json"
    if not file.exists():
        return []
    result = json.loads(file.read_text("utf-8"))
    figures, each = result["figures"], result["told"]["section_s"]
    lines = ["", "## The job pack", "", f"{result['measured']}, {result['machine']}.", ""]
    lines += ["| what | aim | measured |", "|---|---|---|"]
    lines += [f"| {what} | {aim} | {_shown(figures[key])}{_short(figures[key], aim)} |"
              for key, (what, aim) in PACK_ROWS.items()]  # fmt: skip
    slowest = sorted(each, key=each.__getitem__, reverse=True)[:5]
    told = ", ".join(f"{name} {_shown(each[name])}" for name in slowest)
    return [*lines, "", f"By itself the slowest sections take [s]: {told}."]


def _truth() -> list[str]:
    """What is proved, where it was counted."""
    file = RESULTS / "truth.json"
    if not file.exists():
        return []
    result = json.loads(file.read_text("utf-8"))
    figures = result["figures"]
    lines = [
        "",
        "## What is proved",
        "",
        (
            f"{result['measured']}, by `benchmarks/truth.py`. The bounds of the comparison stand in"
            " `tests/engines/README.md`; [the printed values](published.md) have a page."
        ),
        "",
    ]
    lines += ["| what | aim | found |", "|---|---|---|"]
    return lines + [f"| {what} | {aim} | {_shown(figures[key])}{_short(figures[key], aim)} |"
                    for key, (what, aim) in TRUTH_ROWS.items()]  # fmt: skip


def _shown(value: float) -> str:
    return f"{value:.3g}" if value < 1000 else f"{value:.0f}"


def _short(value: float, aim: str) -> str:
    """Say where a figure falls short of its aim."""
    if not aim:
        return ""
    bound = float(aim[1:])
    return " (falls short)" if (value > bound if aim[0] == "≤" else value < bound) else ""


if __name__ == "__main__":
    write()
