"""The files that are tampered with, and what the rules say of them untouched."""

from __future__ import annotations

import typing
from functools import cache
from pathlib import Path

import yaml

from islewright.findings import Finding, Status
from islewright.job import read_job
from islewright.job.equipment import KINDS
from islewright.job.gap import Gap
from islewright.job.model import Job
from islewright.job.part import Part, fields_of
from islewright.rules.study import study
from tests.rules.houses import leaves

EXAMPLES = Path(__file__).parents[2] / "examples"
EQUIPMENT = "equipment.yaml"
PASSED = (Status.MET, Status.NEAR)
Place = tuple[str, ...]
Key = tuple[str, str, str]


def names() -> tuple[str, ...]:
    """Every example."""
    return tuple(sorted(path.parent.name for path in EXAMPLES.glob("*/equipment.yaml")))


@cache
def texts(name: str) -> dict[str, bytes]:
    """The job file and its equipment file, as they are."""
    folder = EXAMPLES / name
    return {file: (folder / file).read_bytes() for file in (f"{name}.yaml", EQUIPMENT)}


@cache
def trees(name: str) -> dict[str, dict[str, typing.Any]]:
    """Both files as nested texts."""
    return {
        file: yaml.load(text, yaml.CBaseLoader)  # noqa: S506 - makes texts only
        for file, text in texts(name).items()
    }


@cache
def places(name: str) -> tuple[tuple[str, Place], ...]:
    """Every place in both files that holds one line of text."""
    return tuple(
        (file, place)
        for file, tree in trees(name).items()
        for place in leaves(tree)
        if isinstance(text_at(tree, place), str)
    )


def text_at(tree: dict[str, typing.Any], place: Place) -> typing.Any:
    """What stands at a place."""
    for key in place:
        tree = tree[key]
    return tree


@cache
def figures(name: str) -> tuple[tuple[str, Place], ...]:
    """The places that hold a figure."""
    return tuple(
        (file, place)
        for file, place in places(name)
        if text_at(trees(name)[file], place)[:1].isdigit() and place[-1] not in ("date", "name")
    )


@cache
def judged(name: str) -> dict[Key, Finding]:
    """Findings of the untouched example."""
    return by_key(study(read_job(EXAMPLES / name / f"{name}.yaml")).findings)


def by_key(findings: typing.Iterable[Finding]) -> dict[Key, Finding]:
    """Findings by rule, place and mode."""
    return {(f.rule, f.place, f.mode): f for f in findings}


def is_missed(name: str, file: str, place: Place) -> bool:
    """Whether leaving the key out leaves a gap, and does not state something by itself."""
    part: type[Part] | None = Job
    if len(place) == 3 and place[2] in trees(name)[file].get(f"same for all {place[0]}", {}):
        return False  # what holds for all is taken instead
    if file == EQUIPMENT:
        part, place = KINDS[trees(name)[file][place[0]]["kind"]], place[1:]
    keys = list(place)
    while keys and part is not None:
        key = keys.pop(0)
        known = fields_of(part).get(key)
        if known is None:
            return False
        info = part.model_fields[known.name]
        if not keys:
            return info.default is Gap.LEFT_OUT
        if known.named:
            keys.pop(0)
        part = next((o for o in _parts(info.annotation)), None)
    return False


def _parts(annotation: typing.Any) -> typing.Iterator[type[Part]]:
    if isinstance(annotation, type) and issubclass(annotation, Part):
        yield annotation
    for argument in typing.get_args(annotation):
        yield from _parts(argument)
