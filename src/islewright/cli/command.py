"""The command `islewright`: its sub-commands, and what each kind of end looks like.

Exit codes
----------
0   done; for `check` also: everything is met
1   `check` alone: something is near its limit, not met or undecided
2   the command or a file could not be taken, or the job does not state what the answer
    hangs on; all problems were printed
3   a defect of this program
130 stopped by the user
"""

from __future__ import annotations

import atexit
import errno
import gc
import os
import sys
from collections.abc import Sequence
from typing import Any

import click

import islewright
from islewright.cli.check import check
from islewright.cli.drawings import drawings
from islewright.cli.explain import explain
from islewright.cli.findings import findings
from islewright.cli.job import ask_lines
from islewright.cli.pack import pack
from islewright.cli.race import race
from islewright.cli.schema import schema
from islewright.cli.start import start
from islewright.cli.state import state
from islewright.cli.survey import survey
from islewright.cli.text import say, wrapped

NOT_MET, BAD_INPUT, DEFECT, STOPPED = 1, 2, 3, 130
#: a full disk, a drive that fails, a quota: where the answer went, not this program
_NOT_WRITTEN = (errno.ENOSPC, errno.EIO, errno.EDQUOT)
#: set to anything, it lets a defect show where it happened
TRACE = "ISLEWRIGHT_TRACE"


class Commands(click.Group):
    """Sub-commands in the order of the work; no traceback reaches a reader."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's own form
        """Order of the work, not of the alphabet."""
        return list(self.commands)

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,  # noqa: FBT001, FBT002 - click's own form
        **rest: Any,
    ) -> Any:
        """Run the whole command; stopped anywhere, it ends as one that was stopped."""
        try:
            code = super().main(args, prog_name, complete_var, standalone_mode=False, **rest)
        except click.ClickException as bad:
            if not standalone_mode:
                raise
            bad.show()
            code = bad.exit_code
        except (click.Abort, KeyboardInterrupt):
            if not standalone_mode:
                raise
            say("Stopped.", err=True)
            code = STOPPED
        if not standalone_mode:
            return code
        sys.exit(code if isinstance(code, int) else 0)

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; turn what a reader can mend into words, the rest into one sentence."""
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit):
            raise
        except (click.Abort, KeyboardInterrupt, EOFError):
            say("Stopped.", err=True)
            ctx.exit(STOPPED)
        except Exception as bad:
            if isinstance(bad, OSError) and bad.errno == errno.EPIPE:
                _close_pipe()
                ctx.exit(0)
            if os.environ.get(TRACE):
                raise
            ctx.exit(_told(bad))


def _told(bad: Exception) -> int:
    """Say what went wrong; return the exit code."""
    from islewright.job.gap import Unknown  # light, and only when something is wrong
    from islewright.job.problem import BadJob

    if isinstance(bad, BadJob):
        say(str(bad), err=True)
        return BAD_INPUT
    if isinstance(bad, Unknown):
        say("This cannot be shown yet: the job does not state what it hangs on.", err=True)
        for line in ask_lines(bad.questions):
            say(wrapped(line, hang=2), err=True)
        return BAD_INPUT
    if isinstance(bad, OSError) and bad.filename is None and bad.errno in _NOT_WRITTEN:
        say(f"What was printed could not be written: {bad.strerror}", err=True)
        return BAD_INPUT
    what = f"{type(bad).__name__}: {' '.join(str(bad).split())[:300]}".rstrip(".: ")
    say(
        f"This is a defect of Islewright, not of your file ({what}); rely on nothing that it "
        f"printed, set {TRACE}=1 to see where it happened, and report it.",
        err=True,
    )
    return DEFECT


def _close_pipe() -> None:
    """Nobody reads on: leave without a complaint at the end of the process."""
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="A job is one YAML file. `islewright COMMAND --help` tells more.",
)
@click.version_option(islewright.__version__, package_name="islewright", prog_name="islewright")
def main() -> None:
    """Check a house with backup power, with the public supply and without it.

    Write down the survey in a job file; Islewright says what is met, what is not, what is
    not known yet, shows the arithmetic, and typesets the job pack.
    """
    _travel_light()


def _travel_light() -> None:
    """Leave out what a command is over too soon to gain from; libraries are not loaded yet."""
    if gc.isenabled():
        gc.disable()
        click.get_current_context().call_on_close(gc.enable)
        atexit.register(gc.freeze)  # no search through all that the process leaves behind
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the matrices are small
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")


for each in (start, survey, check, explain, state, race, findings, drawings, pack, schema):
    main.add_command(each)
