"""Small houses out of files, edited as a person would edit them, and what the rules say of them."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import yaml

from islewright.findings import Finding
from islewright.job import Job, read_job
from islewright.rules.registry import Here, Rule
from islewright.rules.runner import places_over
from islewright.rules.study import Study, study
from islewright.tables.profile import Profile, profile

HOUSES = Path(__file__).parent / "houses"
#: an edit with this value takes the key away
DELETE = "delete"


@cache
def _raw(path: Path) -> dict:
    return yaml.load(path.read_text("utf-8"), yaml.BaseLoader)  # noqa: S506 - makes texts only


def raw_house(folder: Path, job_file: str) -> dict[str, dict]:
    """The job file and the equipment file beside it, as nested dicts of text."""
    return {name: copy.deepcopy(_raw(folder / name)) for name in (job_file, "equipment.yaml")}


def leaves(tree: dict, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Path of every value of a nested dict that is no dict."""
    for key, value in tree.items():
        if isinstance(value, dict):
            yield from leaves(value, (*path, key))
        else:
            yield (*path, key)


def everywhere(job: Job, rule: Rule) -> Iterator[Here]:
    """Every place and mode in which a rule looks."""
    for mode in rule.modes:
        yield from places_over(job, rule.over, mode)


def edit(files: dict[str, dict], path: str | tuple[str, ...], value: object) -> None:
    """Set or delete one key; the path begins in the job file, or with a model's name.

    Names that hold a full stop, other than "a.c." and "d.c.", need the path as a tuple.
    """
    keys = _split(path) if isinstance(path, str) else path
    root = next((f for f in reversed(files.values()) if keys[0] in f), None)
    if root is None:
        root = next(iter(files.values()))
    for key in keys[:-1]:
        if not isinstance(root.get(key), dict):
            root[key] = {}
        root = root[key]
    if value == DELETE:
        del root[keys[-1]]
    else:
        root[keys[-1]] = copy.deepcopy(value)  # what is laid in may be edited again


def _split(path: str) -> list[str]:
    """Keys of a path; the full stops of "a.c." and "d.c." part nothing."""
    joined = path.replace("a.c.", "a~c~").replace("d.c.", "d~c~")
    return [key.replace("a~c~", "a.c.").replace("d~c~", "d.c.") for key in joined.split(".")]


def write_house(files: dict[str, dict], folder: Path) -> Path:
    """Write the files; returns the job file."""
    for name, content in files.items():
        text = yaml.dump(content, sort_keys=False, allow_unicode=True, width=1000)
        (folder / name).write_text(text, "utf-8")
    return folder / next(iter(files))


def altered(name: str, values: dict[str, str]) -> Profile:
    """A profile in which some keys say something else, for forms that no country here has."""
    rules = profile(name)
    rows = [rules.row(key) for key in rules.keys]
    return Profile(name, tuple(r._replace(value=values.get(r.key, r.value)) for r in rows))


def studied(
    house: str, edits: dict[str, object], folder: Path, rules: dict[str, str] | None = None
) -> Study:
    """Study a house of this folder with some edits, and with some keys of its profile changed."""
    files = raw_house(HOUSES, f"{house}.yaml")
    for path, value in edits.items():
        edit(files, path, value)
    job = read_job(write_house(files, folder))
    return Study(job, altered(job.head.profile, rules)) if rules else study(job)


def finding_at(of: Study, rule: str, place: str, mode: str) -> Finding | None:
    """The finding of one rule at one place in one mode; None where the rule has none."""
    found = [f for f in of.findings if (f.rule, f.place, f.mode) == (rule, place, mode)]
    assert len(found) <= 1
    return found[0] if found else None
