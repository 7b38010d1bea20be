"""Each figure of each example, set to `unknown`: nothing may pass that passed because of it.

The figures that a rule reads are noted while its body runs; those that reach it through the
network are found by what the finding becomes. A finding may stay met only where any value
of the figure would leave it met, or where a bound takes the figure's place.
"""

from __future__ import annotations

import functools
import re
import typing
from pathlib import Path

import pytest

from islewright.findings import Finding, Status
from islewright.job import BadJob, read_job
from islewright.job.equipment import KINDS
from islewright.job.model import Job
from islewright.job.once import forget
from islewright.job.part import Part, fields_of
from islewright.rules import runner
from islewright.rules.registry import all_rules
from islewright.rules.study import Study, study
from tests.rules.houses import edit, everywhere, leaves, raw_house, write_house

EXAMPLES = Path(__file__).parents[2] / "examples"
#: of the large house only every so many figures; the small ones in full
EVERY = {
    "cottage": 1,
    "terrace": 1,
    "farmhouse": 13,
    "flat": 3,
    "workshop": 5,
    "cabin": 4,
    "bungalow": 3,
}
#: houses that have one line anyway
ONE_PHASE = ("cottage", "flat", "bungalow")
#: fields of words that follow from others: the supply's form, or the cores of the cable
WORDS = ("output", "lines")
PASSED = (Status.MET, Status.NEAR)
Key = tuple[str, str, str]
Path_ = tuple[str, ...]

#: where a bound takes the place of a figure: the finding must not become lighter by it
BOUNDED = {
    "overload.cable-demand": "a load that is not known counts with its device's rated current",
    "voltage.drop": "other circuits' loads count with the rated current, or nothing if worse",
    "voltage.start-dip": "as voltage.drop",
    "voltage.start-change": "as voltage.drop; the change hardly depends on the other loads",
}
#: the same of one figure: the loop holds the electrode, so R_A is never more than Z_s (411.5.3)
BY_LOOP = ("shock.grid-disconnection-tt", "shock.grid-disconnection-cable")
ELECTRODE = ("earthing", "electrode", "resistance")
#: two ways of this program to one figure: what neither knows may bring them closer
COMPARED = ("supply.hand-and-network",)
#: where another device in the way does it in its own time: the finding may rest on that one,
#: as long as it would rest there whatever the device is
OTHER_DEVICE = ("shock.island-disconnection", "shock.island-disconnection-cable")
#: how much of the limit a finding may become lighter: rounding, and in three phases the angle
#: of a load whose power factor is not known
SLACK = 0.02


def fields() -> typing.Iterator[pytest.ParameterSet]:
    for name, step in EVERY.items():
        files = raw_house(EXAMPLES / name, f"{name}.yaml")
        paths = [path for tree in files.values() for path in leaves(tree)]
        for path in paths[::step]:
            yield pytest.param(name, path, id=f"{name}: {'.'.join(path)}")


def judged(job: Job) -> dict[Key, Finding]:
    return by_key(study(job))


def by_key(of: Study) -> dict[Key, Finding]:
    return {(f.rule, f.place, f.mode): f for f in of.findings}


def read_with(name: str, path: Path_, value: object, folder: Path) -> Job:
    files = raw_house(EXAMPLES / name, f"{name}.yaml")
    edit(files, path, value)
    return read_job(write_house(files, folder))


@functools.cache
def as_it_is(
    name: str,
) -> tuple[dict[Key, Finding], dict[Key, frozenset[str]], frozenset[str]]:
    """Findings of an example, the fields that each rule's body read, and what is assumed."""
    job = read_job(EXAMPLES / name / f"{name}.yaml")
    of = study(job)
    _ = of.net
    reads = {key: frozenset(read) for key, read in _reads(of)}
    return by_key(of), reads, frozenset(a.what for a in of.assumptions)


def _reads(of: Study) -> typing.Iterator[tuple[Key, set[str]]]:
    read: set[str] = set()
    plain = Part.__getattribute__

    def noting(part: Part, name: str) -> object:
        value = plain(part, name)
        if not name.startswith("_") and name in type(part).__pydantic_fields__:
            path = plain(part, "_path")
            alias = type(part).__pydantic_fields__[name].alias or name
            read.add(f"{path}.{alias}".lstrip("."))
        return value

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Part, "__getattribute__", noting)
        for rule in all_rules():
            for here in everywhere(of.job, rule):
                read.clear()
                of.answers.clear()  # else what another rule asked before is not read again
                forget(of.job)
                if runner.judge(of, rule, here) is not None:
                    yield (rule.id, here.place, here.mode.value), set(read)


@pytest.mark.parametrize(("name", "path"), list(fields()))
def test_what_is_not_known_makes_nothing_pass(name, path, tmp_path, monkeypatch):
    """Undecided, or refused on reading; never met, nor gone."""
    monkeypatch.setattr(runner, "CRASHES_RAISE", True)
    before, reads, assumed = as_it_is(name)
    job, problems = _read(name, path, tmp_path)
    if job is None:
        why = [f"{p.path} {p.found} {p.why}" for p in problems]
        assert any(
            path[-1] in one or "unknown" in one or "no equipment file" in one for one in why
        ), why
        return
    of = study(job)
    after = by_key(of)

    turned = [k for k, f in after.items() if f.status in PASSED and not _passed(before.get(k))]
    gone = [key for key in before if key not in after]
    if path[-1] == "neutral with":  # whose neutral it is nobody knows: told where it is asked
        shared = [after.get(("neutral.shared-current", path[-2], mode)) for *_, mode in gone]
        assert all(found is not None and found.status is Status.UNDECIDED for found in shared)
        gone = [key for key in gone if key[0] != "neutral.shared-current"]
    # where it hides at which places a rule looks, the whole house is undecided instead
    houses = {key[::2]: f.status for key, f in after.items() if key[1] == "house"}
    gone = [key for key in gone if houses.get(key[::2]) is not Status.UNDECIDED]
    kept = [k for k, f in before.items() if f.status in PASSED and _passed(after.get(k))]
    lighter = [k for k in kept if k[0] not in COMPARED and _lighter(before[k], after[k])]
    rested = [key for key in kept if ".".join(path) in reads[key] and key[0] not in BOUNDED]
    if path == ELECTRODE:
        rested = [key for key in rested if key[0] not in BY_LOOP]
    if "device" in path:
        lighter = [k for k in lighter if k[0] not in OTHER_DEVICE or k not in rested]

    assert not turned
    assert not gone
    # a figure of the model for which an assumption stands in, which is shown, may move both ways
    if not {a.what for a in of.assumptions} - assumed:
        assert not lighter, [(k, before[k].value, after[k].value) for k in lighter]
    one_line = path[-1] == "lines" and name in ONE_PHASE  # nothing to know
    if rested and not one_line:
        _would_pass_whatever_it_is(name, path, rested, tmp_path)


def _read(name: str, path: Path_, folder: Path) -> tuple[Job | None, list[typing.Any]]:
    """The job with one figure unknown, or what the reader says of it."""
    try:
        return read_with(name, path, "unknown", folder), []
    except BadJob as bad:
        return None, list(bad.problems)


def _passed(finding: Finding | None) -> bool:
    return finding is not None and finding.status in PASSED


def _lighter(before: Finding, after: Finding) -> bool:
    """Whether the same comparison has become easier by more than rounding, at its worst.

    A figure that is less sure may be smaller, as long as what it may be off makes up for that.
    """
    if before.unit != after.unit or before.limit != after.limit or before.value != before.value:
        return False  # another way decides, or no figure
    slack = SLACK * abs(before.limit)
    sure = [found.margin - found.verdict.spread for found in (before, after)]
    return sure[1] - sure[0] > slack and not before.verdict.at_least


def _would_pass_whatever_it_is(name: str, path: Path_, keys: list[Key], folder: Path) -> None:
    """Try the figure far up and far down, or every other word: the findings must stand.

    Where the reader refuses every other word, what else is stated already says which it is.
    """
    tried = refused = 0
    for value in candidates(name, path):
        try:
            found = judged(read_with(name, path, value, folder))
        except BadJob:
            refused += 1
            continue
        tried += 1
        for key in keys:
            assert key not in found or found[key].status in PASSED, (key, path, value)
    assert tried or (refused and path[-1] in WORDS), f"nothing else could be tried for {path}"


def candidates(name: str, path: Path_) -> list[str]:
    """Other values of a field, as text of the file."""
    files = raw_house(EXAMPLES / name, f"{name}.yaml")
    text: typing.Any = next(tree for tree in files.values() if path[0] in tree)
    for key in path:
        text = text[key]
    words = [str(w) for w in _words(files, path) if w != text]
    if words:
        return words
    number = re.match(r"[0-9.]+", text)
    if number is None:
        return ["none", *_device_words(text), *_conductor_words(text)]
    figure, unit = float(number[0]), text[number.end() :]
    scaled = [f"{figure * by:.9g}{unit}" for by in (1e-3, 0.1, 10, 1e3)]
    return [*scaled, "none", "1.5 mm2", "16 mm2", "6 A", "63 A", "1", "0.01"]


def _device_words(text: str) -> list[str]:
    return ["B6", "C63"] if re.match(r"[BCD][0-9]|gG", text) else []


def _conductor_words(text: str) -> list[str]:
    words = [
        "L1", "L1 N PE", "L1 N", "L2 N PE", "L1 L2 N PE", "L1 L2 PE",
        "L1 L2 L3 N PE", "L1 L2 L3 N", "L1 L2 L3 PE",
    ]  # fmt: skip
    return [word for word in words if word != text] if text.startswith("L") else []


def _words(files: dict[str, dict], keys: Path_) -> tuple[typing.Any, ...]:
    """The words that a field admits, where it is one of a few words."""
    job_file, equipment = files.values()
    part: type = Job if keys[0] in job_file else KINDS[equipment[keys[0]]["kind"]]
    steps = keys if part is Job else keys[1:]
    options: tuple[typing.Any, ...] = (part,)
    for step in steps:
        below = [o for o in options if isinstance(o, type) and issubclass(o, Part)]
        held = [a for o in options for a in typing.get_args(o)[1:] if typing.get_origin(o) is dict]
        if below and step in fields_of(below[0]):
            info = below[0].__pydantic_fields__[fields_of(below[0])[step].name]
            options = _flat(info.annotation)
        elif held:
            options = _flat(held[0])
        else:
            return ()
    return tuple(
        w for o in options if typing.get_origin(o) is typing.Literal for w in typing.get_args(o)
    )


def _flat(annotation: typing.Any) -> tuple[typing.Any, ...]:
    if typing.get_origin(annotation) is typing.Annotated:
        return _flat(typing.get_args(annotation)[0])
    if typing.get_origin(annotation) in (typing.Union, type(int | str)):
        return tuple(o for arg in typing.get_args(annotation) for o in _flat(arg))
    return (annotation,)
