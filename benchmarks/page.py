"""The page `docs/benchmarks.md`, written from the result files alone."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

RESULTS = Path(__file__).parent / "results"
PAGE = Path(__file__).parents[1] / "docs" / "benchmarks.md"

#: key -> what it is, its aim ("" where none is set)
ROWS = {
    "verify_ms": ("The farmhouse verified, warm: files read, every rule judged [ms]", "≤ 20"),
    "network_two_states_ms": (
        "Grid and island state, least and largest current of every fault [ms]", "≤ 6",
    ),
    "cold_check_s": ("`islewright check` on the farmhouse, from a cold interpreter [s]", ""),
    "cold_numpy_s": ('`python -c "import numpy"`, in turn with it [s]', ""),
    "cold_check_over_numpy": ("The former over the latter", "≤ 4"),
    "peak_memory_mb": ("Largest resident memory of that command [MB]", "≤ 150"),
    "growth_exponent_10_to_400": ("Growth of verifying from 10 to 400 circuits, as a power", ""),
    "fault_ratio_factorised": ("OpenDSS's time per fault over ours, state solved before", ""),
    "fault_ratio_all_in": ("OpenDSS's time per fault over ours, from the job that was read", ""),
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

HEAD = """# Benchmarks

Written by `benchmarks/page.py` from `benchmarks/results/`; not by hand. To take the figures
again: `python benchmarks/main.py`, in an environment with the tests' tools.
"""

NOTES = """
**What is timed.** Medians of several runs on one machine, with one BLAS thread. *Verified*
runs from opening the job file to the last finding, nothing kept from the run before but
the published tables and imported modules. *Two states* starts from the job's elements and
ends with {faults} fault currents: indices, matrices and elimination, an inverse for each of
grid and island with hot and with cold conductors, then every L-PE, L-N, L-L and three-phase
fault at both ends of each circuit and cable, in the island at the inverter's limit. The cold
command and the bare import run in turn, in a user's own environment. OpenDSS runs from the
tests' own reading of the job in one process, factorises once and sends one ampere through
each place of a fault; both sides have the same {of_peer} faults of the grid state and agree
on every current within 1e-6.
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
              for key, (what, aim) in ROWS.items()]  # fmt: skip
    peer = told["fault_us_factorised"]
    lines.append(NOTES.format(faults=told["faults_of_two_states"], of_peer=peer["faults"]).rstrip())
    lines += ["", "| circuits | verified [ms] |", "|---|---|"]
    lines += [f"| {n} | {_shown(ms)} |" for n, ms in told["verify_ms_by_circuits"].items()]
    lines += ["", "| time per fault [µs] | OpenDSS | Islewright |", "|---|---|---|"]
    for key, what in (("factorised", "state solved before"), ("all_in", "from the job")):
        both = told[f"fault_us_{key}"]
        lines.append(f"| {what} | {_shown(both['OpenDSS'])} | {_shown(both['Islewright'])} |")
    return "\n".join([*lines, *_papers()]) + "\n"


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


def _shown(value: float) -> str:
    return f"{value:.3g}" if value < 1000 else f"{value:.0f}"


def _short(value: float, aim: str) -> str:
    """Say where a figure falls short of its aim."""
    return " (falls short)" if aim and value > float(aim.removeprefix("≤")) else ""


if __name__ == "__main__":
    write()
