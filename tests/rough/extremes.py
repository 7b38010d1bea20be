"""Every figure of every example driven to extremes: `python -m tests.rough.extremes`.

One figure at a time, in its own unit: nothing, next to nothing, a thousandth, a thousand
times, a million, beyond all measure, below nothing. Prints what went otherwise than it must
and ends with 1 where something did. Chance does the same with several figures in `tamper`.
"""

from __future__ import annotations

import copy
import re
import sys
import traceback
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import yaml

from islewright.findings import Finding
from islewright.job import BadJob, read_job
from islewright.rules.study import study
from tests.rough import houses
from tests.rough.sweep import swept
from tests.rough.trial import crashes_raise, not_for_ever

#: what a figure becomes: a number as it is written, or times itself
INSTEAD = ("0", "1e-9", "1e-3", "1e6", "1e9", "1e300", "-1")
TIMES = (1e-3, 1e3)
NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
#: words of a number that is none; a text must not contain them
NO_NUMBER = re.compile(r"(?<![\w.])[-−]?(?:nan|inf)(?![\w])")


class Case(NamedTuple):
    """One figure of one example and what stands there instead."""

    house: str
    file: str
    place: houses.Place
    value: str


def cases_of(house: str) -> Iterator[Case]:
    """Each figure of both files with each extreme."""
    for file, place in houses.figures(house):
        text = houses.text_at(houses.trees(house)[file], place)
        first = NUMBER.match(text)
        if first is None:
            continue
        rest = text[first.end() :]
        for number in (*INSTEAD, *(f"{float(first[0]) * times:g}" for times in TIMES)):
            yield Case(house, file, place, number + rest)


def read_with(case: Case, folder: Path):
    """The example with the one figure exchanged."""
    trees = dict(houses.trees(case.house))
    trees[case.file] = copy.deepcopy(trees[case.file])
    houses.text_at(trees[case.file], case.place[:-1])[case.place[-1]] = case.value
    for name, tree in trees.items():
        (folder / name).write_text(yaml.dump(tree, allow_unicode=True), encoding="utf-8")
    return read_job(folder / f"{case.house}.yaml")


def wrong_of(case: Case, folder: Path) -> tuple[str, str]:
    """How a case ended, and what went otherwise than it must; "" where nothing did."""
    try:
        with not_for_ever(), crashes_raise(), warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                job = read_with(case, folder)
            except BadJob as bad:
                return "refused", "" if all(p.allowed for p in bad.problems) else str(bad)
            findings = study(job).findings
            return "judged", "; ".join(odd for f in findings if (odd := odd_in(f)))[:400]
    except Exception:  # noqa: BLE001 - whatever it is, it is what we look for
        return "crashed", traceback.format_exc(limit=-5)


def odd_in(finding: Finding) -> str:
    """A finding whose figures or words are no numbers; "" where all is well."""
    said = f"{finding.because} {finding.title}" if hasattr(finding, "title") else finding.because
    if NO_NUMBER.search(said):
        return f"{finding.rule} {finding.place}: {said}"
    return ""


def told(case: Case) -> str:
    """Which case it is, in words."""
    return f"{case.house}: {'.'.join(case.place)} = {case.value}"


if __name__ == "__main__":
    sys.exit(swept(cases_of, wrong_of, told))
