"""`islewright pack`: the typeset job pack."""

from __future__ import annotations

import click

from islewright.cli.job import job_argument, refuse, studied
from islewright.cli.text import say


@click.command()
@job_argument
@click.option("--to", required=True, type=click.Path(), metavar="FILE", help="The PDF to write.")
def pack(job: str, to: str) -> None:
    """Write the job pack as PDF.

    Ends with 0 once it is written, whatever the verdict in it. A pack of the same input is
    the same to the byte. An older FILE is replaced.
    """
    from islewright.papers import write_pack

    of = studied(job)
    try:
        written = write_pack(of, to)
    except OSError as bad:
        raise refuse(f"{to} cannot be written: {bad.strerror or bad}") from None
    say(f"Wrote {written}")
