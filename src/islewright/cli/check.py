"""`islewright check`: the verdict, what stands against it, what is still to be found out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from islewright.cli.job import job_argument, job_head, json_option, print_json, studied
from islewright.cli.text import Row, heading, paragraph, say, table, to_type

if TYPE_CHECKING:
    from islewright.findings import Finding, Status
    from islewright.rules.study import Study

#: places and questions that are named before the rest is counted
MOST_PLACES, MOST_QUESTIONS = 4, 8
NO_FIGURE = "–"


@click.command()
@job_argument
@json_option
@click.pass_context
def check(ctx: click.Context, job: str, *, as_json: bool) -> None:
    """Read a job, solve the house, judge it.

    Ends with 0 when everything is met, with 1 when something is near its limit, not met or
    undecided, with 2 when the file cannot be read.
    """
    from islewright.cli.verdict import exit_code

    of = studied(job, as_json=as_json)
    if as_json:
        print_json(answer(of))
    else:
        tell(of, job)
    ctx.exit(exit_code(of.counts))


def answer(of: Study) -> dict[str, Any]:
    """The check in its JSON form; docs/json.md describes it."""
    from islewright.cli.verdict import headline

    return {
        **job_head(of),
        "verdict": headline(of.counts),
        "counts": {status.value: count for status, count in of.counts.items()},
        "findings": [finding.to_dict() for finding in of.findings],
        "questions": [
            {
                "field": ranked.question.field,
                "ask": ranked.question.ask,
                "how": ranked.question.how,
                "whom": ranked.question.whom,
                "findings_count": ranked.findings_count,
            }
            for ranked in of.questions
        ],
        "assumptions": [{"what": a.what, "value": a.value, "why": a.why} for a in of.assumptions],
        "not_covered": list(of.not_covered),
    }


def tell(of: Study, path: str) -> None:
    """The check for a person at a terminal."""
    from islewright.findings import Status

    head = of.job.head
    revision = head.revision if head.has("revision") else "not known"
    paragraph(f"{head.name}, revision {revision}, {head.date}; input {of.job.input_hash[:8]}")
    paragraph(f"{of.profile.name}, {of.profile.edition}", hang=2)
    say()
    _verdict(of)
    _findings(of, Status.NOT_MET)
    _undecided(of)
    _findings(of, Status.NEAR)
    _questions(of, path)
    _met(of)
    _rest(of, path)


def _verdict(of: Study) -> None:
    """The verdict and its numbers."""
    from islewright.cli.verdict import headline, tally

    say(f"{headline(of.counts)}.")
    paragraph(tally(of.counts))


def _findings(of: Study, status: Status) -> None:
    found = [f for f in of.findings if f.status is status]
    if found:
        heading(status.value.capitalize())
        rows = [row for f in found for row in _row(f)]
        table(["place", "mode", "demand", "value", "limit"], rows, right="value limit")


def _row(finding: Finding) -> Iterator[Row]:
    """A finding; where it has no figure, what it means stands below."""
    figures = _figures(finding)
    yield [finding.place, _mode(finding), finding.title, *figures]
    if figures[0] == NO_FIGURE and finding.verdict.means:
        yield finding.verdict.means


def _mode(finding: Finding) -> str:
    return finding.mode.removesuffix(" mode")


def _figures(finding: Finding) -> tuple[str, str]:
    """Value and limit as printed; dashes where the demand has no figure."""
    import math

    from islewright.units import show_apart

    if not (math.isfinite(finding.value) and math.isfinite(finding.limit) and finding.unit):
        return NO_FIGURE, NO_FIGURE
    value, limit = show_apart(finding.value, finding.limit, finding.unit)
    return value, f"{'≥' if finding.verdict.at_least else '≤'} {limit}"


def _undecided(of: Study) -> None:
    """Undecided findings of one demand that lack the same share a row."""
    from islewright.findings import Status

    groups: dict[tuple[str, ...], list[Finding]] = {}
    for f in of.findings:
        if f.status is Status.UNDECIDED:
            asked = tuple(q.field.rpartition(".")[2] for q in f.questions)
            groups.setdefault((f.rule, f.mode, *asked), []).append(f)
    if groups:
        heading("Undecided")
        rows = [_open(group) for group in groups.values()]
        table(["place", "mode", "demand", "not known"], rows)


def _open(group: list[Finding]) -> Row:
    places = [f.place for f in group]
    if len(places) > MOST_PLACES:
        left = len(places) - MOST_PLACES + 1
        places = [*places[: MOST_PLACES - 1], f"{left} others"]
    first = group[0]
    fields = dict.fromkeys(q.field.rpartition(".")[2] for q in first.questions)
    lacking = ", ".join(fields) or "; ".join(first.because)
    return [", ".join(places), _mode(first), first.title, lacking]


def _questions(of: Study, path: str) -> None:
    if not of.questions:
        return
    heading("To find out, what settles most first")
    table(["findings", "question", "field", "ask"], list(_asked(of)), right="findings")
    left = len(of.questions) - MOST_QUESTIONS
    if left > 0:
        more = "1 more question" if left == 1 else f"{left} more questions"
        paragraph(f"{more}; all of them: {to_type('findings', path)}", indent=2, hang=2)


def _asked(of: Study) -> Iterator[Row]:
    for ranked in of.questions[:MOST_QUESTIONS]:
        q = ranked.question
        yield [str(ranked.findings_count), q.ask or q.field, q.field, q.whom]


def _met(of: Study) -> None:
    """Met findings by demand: how many, and the one with the least left."""
    from islewright.papers.reports import summed_up

    rows = [
        [
            r["count"],
            r["title"],
            r["mode"].removesuffix(" mode"),
            r["value"],
            r["limit"],
            _where(of, r),
        ]
        for r in summed_up(of.job, of.findings)
    ]
    if rows:
        heading("Met, with the tightest of each demand")
        head = ["met", "demand", "mode", "value", "limit", "where"]
        table(head, rows, right="met value limit")


def _where(of: Study, row: dict[str, str]) -> str:
    """The place without the number that it has on paper alone."""
    name = row["where"].partition(" ")[2]
    return name if name in of.job.circuits else row["where"]


def _rest(of: Study, path: str) -> None:
    if of.assumptions:
        heading("Assumed, because the job does not say")
        for a in of.assumptions:
            paragraph(f"{a.what}: {a.value} ({a.why})", indent=2, hang=2)
    heading("Not covered")
    for sentence in of.not_covered:
        paragraph(sentence, indent=2, hang=2)
    say()
    _verdict(of)  # again: the top may have scrolled away
    say("The arithmetic of a finding, and what mends it:")
    place = next((f.place for f in of.findings), "house")
    say(f"  {to_type('explain', path, place)}")
