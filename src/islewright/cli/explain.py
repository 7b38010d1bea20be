"""`islewright explain`: findings of one place with their arithmetic, as by hand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from islewright.cli.job import (
    job_argument,
    job_head,
    json_option,
    one_of,
    print_json,
    refuse,
    studied,
)
from islewright.cli.text import say, wrapped

if TYPE_CHECKING:
    from islewright.findings import Finding
    from islewright.rules.study import Study


@click.command()
@job_argument
@click.argument("place")
@click.option("--rule", help="Only this rule, or all rules of this chapter, such as `shock`.")
@click.option("--mode", type=click.Choice(["grid", "island"]), help="Only this mode.")
@json_option
def explain(job: str, place: str, rule: str | None, mode: str | None, *, as_json: bool) -> None:
    """Show how the findings of a PLACE come about.

    PLACE is a circuit, cable, RCD or board by its name, or `house`. The formula, the
    figures, the clause; what would mend it; what has to be found out.
    """
    of = studied(job, as_json=as_json)
    found = chosen(of, place, rule, mode)
    if as_json:
        print_json({**job_head(of), "place": found[0].place, "findings": _answer(of, found)})
        return
    for i, finding in enumerate(found):
        if i:
            say()
        say(f"[{finding.rule}, {finding.mode}]")
        for line in of.explain(finding).splitlines():
            indent = len(line) - len(line.lstrip())
            say(wrapped(line.strip(), indent=indent, hang=2) if line else "")


def _answer(of: Study, found: Sequence[Finding]) -> list[dict[str, Any]]:
    return [{**finding.to_dict(), "text": of.explain(finding)} for finding in found]


def chosen(of: Study, place: str, rule: str | None, mode: str | None) -> list[Finding]:
    """Findings that are asked for, heaviest first, at least one.

    Raises
    ------
    Refused : no such place or rule, or nothing found there
    """
    named = _place(of, place)
    here = [f for f in of.findings if f.place in named]
    rules = dict.fromkeys(f.rule for f in here)
    if rule is not None:
        chapters = dict.fromkeys(name.partition(".")[0] for name in rules)
        wanted = one_of(rule, [*rules, *chapters], f"rule that speaks of {place}:")
        here = [f for f in here if wanted in (f.rule, f.rule.partition(".")[0])]
    if mode is not None:
        here = [f for f in here if f.mode == f"{mode} mode"]
    if not here:
        raise refuse(f"no rule speaks of {place}" + (f" in {mode} mode" if mode else ""))
    return here


def _place(of: Study, word: str) -> set[str]:
    """Places of findings that a word means: "R3" is "R3, main board"."""
    places = dict.fromkeys(f.place for f in of.findings)
    names = {place: place for place in places}
    for place in places:
        for short in (
            place.partition(", ")[0],
            place.removeprefix("cable "),
            place.removeprefix("board "),
        ):
            names.setdefault(short, place)
    known = one_of(word, [*names, *of.job.circuits, *of.job.cables, *of.job.boards], "place")
    return {names.get(known, known)}
