"""`islewright drawings`: every drawing of a house as SVG."""

from __future__ import annotations

from pathlib import Path

import click

from islewright.cli.job import job_argument, refuse, studied
from islewright.cli.text import say
from islewright.job.keep import keep_text


@click.command(short_help="Write every drawing as SVG, for paper and phone.")
@job_argument
@click.option("--to", required=True, type=click.Path(), metavar="FOLDER", help="Where they go.")
def drawings(job: str, to: str) -> None:
    """Write every drawing as SVG: single lines on A4 sheets and for a phone, neutral and earth
    in each state, where an RCD sees, time and current, touch voltage, the inverter's limits.

    The folder is made if it is not there; files of the same names are replaced.
    """
    from islewright.papers.pictures import pictures

    folder, written = Path(to), 0
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, svg in pictures(studied(job)):
            keep_text(folder / name, svg)
            written += 1
    except OSError as bad:
        raise refuse(f"{to} cannot be written: {bad.strerror or bad}") from None
    say(f"Wrote {written} drawings to {folder}")
