"""One trial: read the files, judge every rule, and say what went otherwise than it must."""

from __future__ import annotations

import signal
import time
import traceback
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from islewright.job import BadJob, read_job
from islewright.rules import runner
from islewright.rules.study import study
from tests.rough import houses
from tests.rough.tamper import Tampered, tampered

if TYPE_CHECKING:
    from collections.abc import Iterator

#: no file may keep a person waiting longer [s of computing]
LONGEST_S = 1.0
#: a trial that does not come back is stopped after this time [s]
HANGS_S = 20


class Outcome(NamedTuple):
    """How a trial ended; `wrong` is empty where all was as it must be."""

    seed: int
    how: str
    ended: str  # refused or judged
    took_s: float
    wrong: str


class Hangs(Exception):
    """A trial that did not come back."""


def trial(seed: int, folder: Path, house: str | None = None) -> Outcome:
    """Tamper by chance, write, read, judge."""
    return tried(tampered(seed, house), folder, seed)


def tried(case: Tampered, folder: Path, seed: int = -1) -> Outcome:
    """Write the files, read and judge them."""
    path = folder / f"{case.house}.yaml"
    for name, text in case.files.items():
        (folder / name).write_bytes(text)
    start = time.process_time()
    try:
        with not_for_ever(), crashes_raise():
            ended, wrong = _read_and_judge(case, path)
    except Exception:  # noqa: BLE001 - whatever it is, it is what we look for
        ended, wrong = "crashed", traceback.format_exc(limit=-6)
    took = time.process_time() - start
    if not wrong and took > LONGEST_S:
        wrong = f"took {took:.2f} s"
    return Outcome(seed, f"{case.house}: {case.how}", ended, took, wrong)


def _read_and_judge(case: Tampered, path: Path) -> tuple[str, str]:
    try:
        job = read_job(path)
    except BadJob as bad:
        told = bad.problems and all(p.allowed and p.line >= 0 for p in bad.problems)
        return "refused", "" if told else f"a problem without place or advice: {bad}"
    findings = study(job).findings
    for finding in findings:
        finding.to_dict()  # arithmetic and remedies are worked out by whoever reads them
    found = houses.by_key(findings)
    if not case.gap:
        return "judged", ""
    before = houses.judged(case.house)
    turned = [
        key
        for key, finding in found.items()
        if finding.status in houses.PASSED
        and (key not in before or before[key].status not in houses.PASSED)
    ]
    return "judged", f"passes now: {turned}" if turned else ""


@contextmanager
def not_for_ever() -> Iterator[None]:
    """Raise `Hangs` where the work does not end by itself; only where the system can."""
    if not hasattr(signal, "SIGALRM"):
        yield
        return

    def stop(*_: object) -> None:
        raise Hangs

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(HANGS_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


@contextmanager
def crashes_raise() -> Iterator[None]:
    """A crash inside a rule ends the trial, and is not told as a finding."""
    before, runner.CRASHES_RAISE = runner.CRASHES_RAISE, True
    try:
        yield
    finally:
        runner.CRASHES_RAISE = before
