"""`islewright start`: a new job file from a few answers."""

from __future__ import annotations

import datetime
import os
from pathlib import Path

import click

from islewright.cli.job import refuse
from islewright.cli.text import paragraph, say, to_type

FORMS = ("one phase", "three phases", "split phase")
SYSTEMS = ("TN-C-S", "TN-S", "TT", "IT", "unknown")


def _new(_ctx: click.Context, _param: click.Parameter, path: str) -> str:
    """Refuse a file that is there before anything is asked."""
    from islewright.job.start import EQUIPMENT_FILE

    for file in (Path(path), Path(path).parent / EQUIPMENT_FILE):
        if os.path.lexists(file):
            raise refuse(f"{file} is there already; nothing was written")
    if not Path(path).parent.is_dir():
        raise refuse(f"{Path(path).parent} is no folder; nothing was written")
    return path


@click.command()
@click.argument("job", type=click.Path(), metavar="JOB", callback=_new, is_eager=True)
@click.option("--name", prompt="What is the job called", help="Name of the job.")
@click.option(
    "--date",
    prompt="Day of the survey",
    default=lambda: datetime.datetime.now().astimezone().date().isoformat(),
    help="Day of the survey, such as 2026-03-02; today where left out.",
)
@click.option(
    "--form", type=click.Choice(FORMS), prompt="Public supply", default=FORMS[1], help="Supply."
)
@click.option(
    "--earthing",
    type=click.Choice(SYSTEMS, case_sensitive=False),
    prompt="System earthing of the supply",
    default="unknown",
    help="System earthing, as far as anybody knows it.",
)
@click.option("--voltage", prompt="Voltage line to neutral", default="230 V", help="U_0.")
@click.option("--frequency", prompt="Frequency", default="50 Hz", help="Frequency.")
@click.option(
    "--main-board",
    prompt="Board where the supply arrives",
    default="main board",
    help="Board where the supply arrives.",
)
@click.option(
    "--backed-up-board",
    prompt="Board that stays alive in an outage",
    default="backed-up board",
    help="Board that stays alive in an outage.",
)
def start(
    job: str,
    name: str,
    date: str,
    form: str,
    earthing: str,
    voltage: str,
    frequency: str,
    main_board: str,
    backed_up_board: str,
) -> None:
    """Begin a new job: write JOB and an equipment file beside it.

    Asks for what it is not told by options. Everything else stands in the file as a
    question, and counts as not known until you answer it. Existing files are left alone.
    """
    from islewright.job.start import Answers, BadAnswer, write_new_job

    answers = Answers(
        name=name, date=date, form=form, system_earthing=earthing, nominal_voltage=voltage,
        frequency=frequency, main_board=main_board, backed_up_board=backed_up_board,
    )  # fmt: skip
    try:
        file, shelf = write_new_job(Path(job), answers)
    except BadAnswer as bad:
        field, colon, rest = str(bad).partition(":")
        raise refuse(field.replace("_", " ") + colon + rest) from None
    except FileExistsError as bad:
        raise refuse(str(bad)) from None
    except OSError as bad:
        raise refuse(f"{job} cannot be written: {bad.strerror or bad}") from None
    say(f"Wrote {file} and {shelf}")
    paragraph("Go through the lines that begin with #: each asks for one fact. Then:")
    say(f"  {to_type('check', str(file))}")
