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
RULE_SETS = ("IEC base", "GB")


class Answer(click.ParamType[str]):
    """An answer that the job file can hold; told at once, so that it is asked again."""

    name = "text"

    def __init__(self, field: str) -> None:
        self.field = field

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Give the answer back, or say what could stand there."""
        from islewright.job.answers import BadAnswer, hold

        try:
            hold(self.field, value)
        except BadAnswer as bad:
            self.fail(str(bad).partition(": ")[2], param, ctx)
        return value


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
@click.option("--name", type=Answer("name"), prompt="Name of the job", help="Name of the job.")
@click.option(
    "--date",
    type=Answer("date"),
    prompt="Day of the survey",
    default=lambda: datetime.datetime.now().astimezone().date().isoformat(),
    help="Day of the survey, such as 2026-03-02; today where left out.",
)
@click.option(
    "--profile",
    type=click.Choice(RULE_SETS, case_sensitive=False),
    prompt="Rule set, GB for BS 7671",
    default=RULE_SETS[0],
    help="Rule set that judges the house: IEC 60364, or BS 7671 for GB.",
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
@click.option(
    "--voltage",
    type=Answer("nominal_voltage"),
    prompt="Voltage line to neutral",
    default="230 V",
    help="Voltage line to neutral, U_0.",
)
@click.option(
    "--frequency",
    type=Answer("frequency"),
    prompt="Frequency",
    default="50 Hz",
    help="Frequency.",
)
@click.option(
    "--main-board",
    type=Answer("main_board"),
    prompt="Board where the supply arrives",
    default="main board",
    help="Board where the supply arrives.",
)
@click.option(
    "--backed-up-board",
    type=Answer("backed_up_board"),
    prompt="Board that stays alive in an outage",
    default="backed-up board",
    help="Board that stays alive in an outage.",
)
def start(
    job: str,
    name: str,
    date: str,
    profile: str,
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
        name=name,
        date=date,
        profile=profile,
        form=form,
        system_earthing=earthing,
        nominal_voltage=voltage,
        frequency=frequency,
        main_board=main_board,
        backed_up_board=backed_up_board,
    )
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
