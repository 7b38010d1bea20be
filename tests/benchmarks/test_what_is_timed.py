"""A benchmark that leaves work out is no benchmark: what is timed is counted."""

import json
from pathlib import Path

import pytest

from benchmarks.houses import write_house, write_others
from benchmarks.page import PAGE, RESULTS, ROWS, page
from benchmarks.work import EXAMPLE, parts_of, two_states, verify
from islewright.job import read_job
from islewright.rules.study import study


def test_two_states_hold_every_fault_four_times():
    """Two states, least and largest; the faults counted from the job, kind by kind."""
    job, rules, parts = parts_of()
    built = {s.circuit for s in parts.stubs} | {i.circuit for i in parts.inlines}
    cores = [tuple(c for c in job.circuits[name].cores) for name in built]
    cores += [
        (*(c.replace("PEN", "N") for c in cable.cores), "PE") for cable in job.cables.values()
    ]
    faults = 0
    for each in cores:
        lines = sum(c.startswith("L") for c in each)
        faults += lines * (("PE" in each) + ("N" in each)) + lines * (lines - 1) // 2 + (lines == 3)

    assert two_states(job, rules, parts) == 4 * 2 * faults


def test_verifying_makes_every_finding():
    """As many as the study of the same file has."""
    assert len(verify().findings) == len(study(read_job(EXAMPLE)).findings)


def test_other_houses_are_read_with_figures_of_their_own(tmp_path):
    """No two have the same text, and each has as many circuits as the example."""
    files = write_others(tmp_path, 3)
    jobs = [read_job(file) for file in files]

    assert len({file.read_bytes() for file in files}) == 3
    assert len({float(next(iter(job.cables.values())).length_m) for job in jobs}) == 3
    assert {len(job.circuits) for job in jobs} == {len(read_job(EXAMPLE).circuits)}


@pytest.mark.parametrize("circuits", [10, 40])
def test_a_house_of_so_many_circuits_can_be_read_and_has_them(circuits, tmp_path):
    """On as many boards as they fill, at least the example's two."""
    job = read_job(write_house(tmp_path, circuits))

    assert len(job.circuits) == circuits
    assert len(job.boards) == max(2, -(-circuits // 16))
    assert study(job).net.parts.stubs


def test_the_page_is_the_one_of_the_results():
    """Nothing in it was written by hand, and no key is left out."""
    result = json.loads((RESULTS / "main.json").read_text(encoding="utf-8"))

    assert set(ROWS) == set(result["figures"])
    assert Path(PAGE).read_text(encoding="utf-8") == page(result)
