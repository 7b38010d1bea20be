"""Write docs/rules.md from the registry: what each rule demands, and one finding of each.

Run `python docs/make_rules.py`; a test compares the page with what this would write.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from islewright import read_job, study
from islewright.findings import Finding, Status
from islewright.job.model import Job
from islewright.job.once import forget
from islewright.job.part import Part, parts_in
from islewright.rules import runner
from islewright.rules.clauses import clauses_under
from islewright.rules.registry import Here, Rule, all_rules
from islewright.rules.study import Study
from islewright.tables import Profile, profile, profile_names

HERE = Path(__file__).parent
PAGE = HERE / "rules.md"
EXAMPLES = HERE.parent / "examples"
#: the example with most to say comes first
HOUSES = ("farmhouse", "terrace", "cottage", "workshop", "bungalow", "flat", "cabin")
#: which finding tells most about its rule
TELLING = (Status.NOT_MET, Status.NEAR, Status.MET, Status.UNDECIDED)
NOWHERE = "None of the examples has a place for it."

HEAD = """# The rules

Every rule that `islewright check` runs: what it demands and why, by which formula and by which
clause of each rule set, where and in which mode it looks, what it needs to know, and one finding
from the examples as `islewright explain` prints it. This page is made from the rules themselves
(`python docs/make_rules.py`).

What a rule needs to know is noted while it judges that one finding: keys of the job file and of
the equipment, and keys of the profile. Where a rule asks the solved network for a voltage or a
current, all that the network is built from counts as well: supply, earthing, bond, and sizes and
lengths of cables and circuits.

A finding is *met*, *near* (met by less than what the figures may be off), *not met* or
*undecided*. A figure that is not stated makes a finding undecided and becomes a question;
nothing that is not known passes. "From memory" beside a clause means that nobody has held
it against the printed text for this program yet: check it.
"""


def page() -> str:
    """The whole page as text."""
    studies = {name: study(read_job(EXAMPLES / name / f"{name}.yaml")) for name in HOUSES}
    lines = [HEAD]
    chapter = ""
    for rule in all_rules():
        if rule.chapter != chapter:
            chapter = rule.chapter
            lines += [f"## {chapter[0].upper()}{chapter[1:]}", ""]
        lines += _section(rule, studies)
    return "\n".join(lines).rstrip() + "\n"


def _section(rule: Rule, studies: dict[str, Study]) -> list[str]:
    modes = " and ".join(mode.value for mode in rule.modes)
    where = {"house": "the whole house"}.get(rule.over, f"all {rule.over}")
    where += "," if "," in where else ""
    name, found = _telling(rule, studies)
    return [
        f"### {rule.id}",
        "",
        f"{rule.title}.",
        "",
        f"    {rule.formula}",
        "",
        *([rule.words, ""] if rule.words else []),
        f"- Looks at {where} in {modes}.",
        *_clauses(rule),
        *([] if found is None else _needs(rule, studies[name], found)),
        "",
        *([NOWHERE, ""] if found is None else _example(studies[name], name, found)),
    ]


def _clauses(rule: Rule) -> list[str]:
    """One line for each rule set."""
    return [
        f"- {name}: {'; '.join(clauses_under(profile(name), rule.clauses))}."
        for name in profile_names()
    ]


def _telling(rule: Rule, studies: dict[str, Study]) -> tuple[str, Finding | None]:
    """The most telling finding of the rule in any example, and which example that is."""
    for status in TELLING:
        for name, of in studies.items():
            for found in of.findings:
                if found.rule == rule.id and found.status is status:
                    return name, found
    return "", None


def _example(of: Study, name: str, found: Finding) -> list[str]:
    return [f"In the example {name}:", "", "```text", of.explain(found), "```", ""]


def _needs(rule: Rule, of: Study, found: Finding) -> list[str]:
    """What the rule asks job, equipment and profile while it judges one place anew."""
    here = next(
        h for mode in rule.modes for h in runner.places_over(of.job, rule.over, mode)
        if _is(h, found)
    )  # fmt: skip
    of.answers.clear()
    forget(of.job)
    with _noting(_rooms(of.job)) as (fields, keys):
        runner.judge(of, rule, here)
    lines = [f"  - `{room}`: {', '.join(asked)}" for room, asked in sorted(fields.items())]
    if keys:
        lines.append(f"  - profile: {', '.join(f'`{key}`' for key in keys)}")
    return ["- Needs to know:", *lines] if lines else ["- Needs nothing but the solved network."]


def _is(here: Here, found: Finding) -> bool:
    return (here.place, here.mode.value) == (found.place, found.mode)


def _rooms(job: Job) -> dict[int, str]:
    """Every part of a job with the keys that lead to it, names of places left out."""
    sheets = [("islanding switch", job.switch), ("inverter", job.inverter)]
    sheets += [(word, sheet) for word, sheet in (("battery", job.battery), ("PV array", job.pv))
               if sheet is not None]  # fmt: skip
    listed: list[tuple[str, Part]] = [("", job)]
    listed += [(f"equipment file, {word}", sheet) for word, sheet in sheets]
    for room, part in listed:  # grows while it is gone through
        for loc, held in parts_in(part):
            below = f"{room}, {loc[0]}" if room else loc[0]
            listed.append((below, held))
    return {id(part): room for room, part in listed}


@contextmanager
def _noting(rooms: dict[int, str]) -> Iterator[tuple[dict[str, dict[str, None]], dict[str, None]]]:
    """Note each key that is asked for, in the order of asking."""
    fields: dict[str, dict[str, None]] = {}
    keys: dict[str, None] = {}
    ask, number, text = Part.__getattribute__, Profile.number, Profile.text

    def asking(part: Part, name: str) -> object:
        value = ask(part, name)
        known = None if name.startswith("_") else type(part).__pydantic_fields__.get(name)
        if known is not None and not isinstance(value, Part | dict) and id(part) in rooms:
            fields.setdefault(rooms[id(part)] or "job", {})[f"`{known.alias or name}`"] = None
        return value

    def noted(plain: Callable[[Profile, str], object]) -> Callable[[Profile, str], object]:
        def asking_profile(rules: Profile, key: str) -> object:
            keys[key] = None
            return plain(rules, key)

        return asking_profile

    Part.__getattribute__ = asking  # type: ignore[assignment]
    Profile.number, Profile.text = noted(number), noted(text)  # type: ignore[method-assign]
    try:
        yield fields, keys
    finally:
        Part.__getattribute__ = ask  # type: ignore[method-assign]
        Profile.number, Profile.text = number, text  # type: ignore[method-assign]


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
