"""`islewright survey`: the form to walk a house with, blank or filled."""

from __future__ import annotations

import click

from islewright.cli.job import refuse, studied
from islewright.cli.text import say


@click.command(short_help="Write the survey sheet as PDF, blank or filled from JOB.")
@click.argument("job", type=click.Path(), metavar="[JOB]", required=False)
@click.option("--to", required=True, type=click.Path(), metavar="FILE", help="The PDF to write.")
def survey(job: str | None, to: str) -> None:
    """Write the survey sheet as PDF: what to read and measure, in the order of the walk.

    Without JOB it is blank, for the first visit; with one it holds what the job states and
    marks what findings still wait for. An older FILE is replaced.
    """
    from islewright.papers import write_survey

    of = None if job is None else studied(job)
    try:
        written = write_survey(of, to)
    except OSError as bad:
        raise refuse(f"{to} cannot be written: {bad.strerror or bad}") from None
    say(f"Wrote {written}")
