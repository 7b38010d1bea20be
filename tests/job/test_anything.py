"""Whatever a file holds: a job comes out, or `BadJob`; never anything else."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from islewright.job import BadJob, Job, read_job
from tests.job.sample import equipment_text, job_text

QUIET = settings(
    max_examples=250,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
#: what people and machines put into files
PIECES = [
    "unknown", "none", "no", "{}", "[]", "[a, b]", "{a: b}", "-3 m", "24,5 m", "1e999 A", "nan ohm",
    "&a x", "*a", "!!python/object:os.system x", "<<: {a: b}", "\t", ": ", "#", "'", '"', "|\n  x",
    "B16", "B1.2.3", "gG", "L1 L1", "PEN", "L4", "supply", "main board", "inverter",
    "kitchen", "\x00", "\u2028", "\ufeff", "é", "😀", "---", "%YAML 1.1", "0x10", "1_000", "~", "<",
    "?",
    "2026-13-40", "one phase", "split phase", "TN-C-S", "..", "/", "kind", "from", "to",
]  # fmt: skip


def read(job, equipment):
    """Read the two texts as files."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_bytes(job)
        (Path(folder) / "invented.yaml").write_bytes(equipment)
        return read_job(path)


def is_read_or_refused(job, equipment=None):
    """Whether all went as it should: a job, or problems that say where and what."""
    problems = ()
    try:
        found = read(job, equipment or equipment_text().encode())
    except BadJob as bad:
        found, problems = None, bad.problems
    told = all(p.allowed and p.line >= 0 and p.column >= 0 for p in problems)
    return told and bool(problems) != isinstance(found, Job)


@st.composite
def mutations(draw, text):
    """A text with a few of its scalars, lines or signs replaced, dropped or doubled."""
    lines = text.split("\n")
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        line = lines[at]
        piece = draw(st.sampled_from(PIECES))
        how = draw(st.integers(0, 6))
        cut = draw(st.integers(0, len(line)))
        lines[at] = [
            line.partition(":")[0] + ": " + piece,
            piece + ":" + line.partition(":")[2],
            line[:cut] + piece + line[cut:],
            "",
            line + "\n" + line,
            "  " + line,
            line[:cut],
        ][how]
    return "\n".join(lines).encode("utf-8", "surrogatepass")


@QUIET
@given(mutations(job_text()))
def test_a_job_that_was_tampered_with_is_read_or_refused(job):
    """No slip of the hand ends in a traceback."""
    assert is_read_or_refused(job)


@QUIET
@given(mutations(equipment_text()))
def test_equipment_that_was_tampered_with_is_read_or_refused(equipment):
    """The same for the makers' sheets."""
    assert is_read_or_refused(job_text().encode(), equipment)


@QUIET
@given(st.binary(max_size=200))
def test_any_bytes_are_refused(job):
    """Two hundred bytes make no job."""
    with pytest.raises(BadJob, match="nothing was read"):
        read(job, b"")


@QUIET
@given(st.text(alphabet="{}[]:,-#&*!|>'\"%@`? \n\tab1", max_size=60))
def test_any_signs_of_yaml_are_refused(text):
    """Nor do signs that mean something."""
    with pytest.raises(BadJob, match="nothing was read"):
        read(text.encode(), b"")


@pytest.mark.parametrize("top", ["job", "supply", "earthing", "equipment", "boards", "cables"])
@pytest.mark.parametrize("piece", ["unknown", "none", "x", "[a]", "{a: b}", "'1'"])
def test_a_whole_section_may_be_wrong(top, piece):
    """Checks over several fields meet jobs with any of them gone."""
    lines, inside = [], False
    for line in job_text().split("\n"):
        if line and not line.startswith((" ", "#")):
            inside = line == f"{top}:"
            lines.append(f"{top}: {piece}" if inside else line)
        elif not inside:
            lines.append(line)

    with pytest.raises(BadJob, match="nothing was read"):
        read("\n".join(lines).encode(), equipment_text().encode())
