"""`islewright pack`: the typeset job pack, whole or in part."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import click

from islewright.cli.job import job_argument, one_of, refuse, studied
from islewright.cli.text import say

#: kept here too, so that the help text loads no papers; a test holds it against them
SECTIONS = (
    "cover", "drawings", "neutral", "dead", "alive", "circuits", "settings", "findings", "first",
    "curves", "questions", "letters", "sources", "arithmetic",
)  # fmt: skip


@click.command()
@job_argument
@click.option("--to", required=True, type=click.Path(), metavar="FILE", help="The PDF to write.")
@click.option("--only", multiple=True, metavar="SECTION", help="Nothing but these sections.")
@click.option("--leave-out", multiple=True, metavar="SECTION", help="All but these sections.")
def pack(job: str, to: str, only: tuple[str, ...], leave_out: tuple[str, ...]) -> None:
    """Write the job pack as PDF.

    Ends with 0 once it is written, whatever the verdict in it. A pack of the same input is
    the same to the byte. An older FILE is replaced.

    The sections: cover, drawings (single lines), neutral (neutral and earth), dead (making it
    dead), alive (what stays alive), circuits (schedules), settings (to enter), findings, first
    (what opens first), curves (time and current), questions, letters, sources, arithmetic (of all
    findings). Give an option once for each section, or several with commas.
    """
    from islewright.papers import write_pack

    chosen = _chosen(only, leave_out)
    of = studied(job)
    try:
        written = write_pack(of, to, sections=chosen)
    except OSError as bad:
        raise refuse(f"{to} cannot be written: {bad.strerror or bad}") from None
    say(f"Wrote {written}")


def _chosen(only: Iterable[str], leave_out: Iterable[str]) -> Sequence[str]:
    """Sections to print, or a refusal that names those there are."""
    wanted, unwanted = _split(only), _split(leave_out)
    chosen = [s for s in SECTIONS if s not in unwanted and (not wanted or s in wanted)]
    if not chosen:
        raise refuse("no section is left to print")
    return chosen


def _split(words: Iterable[str]) -> list[str]:
    parts = [part for word in words for part in word.split(",") if part.strip()]
    return [one_of(part, SECTIONS, "section") for part in parts]
