"""`islewright findings`: the findings for other programs and other papers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from islewright.cli.job import form_of, job_argument, refuse, studied
from islewright.cli.text import letters, say
from islewright.job.keep import keep_text

if TYPE_CHECKING:
    from islewright.rules.study import Study

FORMS = ("markdown", "csv", "json")
_BY_ENDING = {".csv": "csv", ".json": "json", ".md": "markdown", ".txt": "markdown"}


@click.command()
@job_argument
@click.option("--as", "form", type=click.Choice(FORMS), help="Form; else by the file's ending.")
@click.option("--to", type=click.Path(), metavar="FILE", help="A file instead of the screen.")
def findings(job: str, form: str | None, to: str | None) -> None:
    """Give the findings as Markdown, CSV or JSON.

    Markdown tells what is open in full and sums up the rest; CSV has one line for each finding;
    JSON is that of `check --json`. Ends with 0 once they are given, whatever they say.
    """
    chosen = form or (_by_ending(to) if to else FORMS[0])
    text = _text(studied(job, as_json=chosen == "json" and to is None), chosen)
    if to is None:
        click.echo(letters(text) if chosen == "markdown" else text, nl=False)
        return
    try:
        keep_text(to, text)
    except OSError as bad:
        raise refuse(f"{to} cannot be written: {bad.strerror or bad}") from None
    say(f"Wrote {to}")


def _by_ending(to: str) -> str:
    """The form that a file's ending stands for; Markdown where it has none."""
    ending = Path(to).suffix.lower()
    if ending and ending not in _BY_ENDING:
        listed = ", ".join(_BY_ENDING)
        raise refuse(f"{to}: no form goes by that ending; end it in {listed}, or say --as")
    return _BY_ENDING.get(ending, FORMS[0])


def _text(of: Study, form: str) -> str:
    from islewright.papers import elsewhere

    if form == "csv":
        return elsewhere.csv_text(of)
    if form == "markdown":
        return elsewhere.markdown_text(of)
    from islewright.cli.check import answer

    return json.dumps(form_of(answer(of)), indent=2, allow_nan=False) + "\n"
