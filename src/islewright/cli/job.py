"""What every command does first: read the job, study it, find the place that is meant."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from islewright.rules.study import Study

F = TypeVar("F", bound=Callable[..., Any])

#: version of the JSON answers; a change that breaks a reader raises it
FORM = 1


def job_argument(command: F) -> F:
    """Give a command the job file as its first argument."""
    return click.argument("job", type=click.Path(), metavar="JOB")(command)


def json_option(command: F) -> F:
    """Give a command the option to answer in JSON."""
    told = "Answer in JSON (docs/json.md), for other programs."
    return click.option("--json", "as_json", is_flag=True, help=told)(command)


def studied(path: str, *, as_json: bool = False) -> Study:
    """Read a job and study it.

    Raises
    ------
    BadJob : the file cannot be taken as a job
    """
    from islewright.job.problem import BadJob
    from islewright.job.read import read_job
    from islewright.rules.study import study

    try:
        return study(read_job(path))
    except BadJob as bad:
        if as_json:
            print_json({"problems": [_problem(p) for p in bad.problems]})
        raise


def _problem(problem: Any) -> dict[str, Any]:
    keys = ("file", "line", "column", "path", "found", "allowed", "why")
    return {key: getattr(problem, key) for key in keys}


def print_json(answer: dict[str, Any]) -> None:
    """Print an answer with the version of its form; only ASCII, so that any terminal can."""
    click.echo(json.dumps(form_of(answer), indent=2, allow_nan=False))


def form_of(answer: dict[str, Any]) -> dict[str, Any]:
    """An answer with the version of its form and of the program before it."""
    import islewright

    return {"form": FORM, "islewright": islewright.__version__, **answer}


def job_head(of: Study) -> dict[str, Any]:
    """What every JSON answer says of its job."""
    head = of.job.head
    revision = head.revision if head.has("revision") else None
    return {
        "job": {"name": head.name, "date": head.date, "revision": revision},
        "profile": of.profile.name,
        "edition": of.profile.edition,
        "input_hash": of.job.input_hash,
    }


def finite(value: float) -> float | None:
    """A number for JSON; null where there is none."""
    return value if math.isfinite(value) else None


class Refused(click.ClickException):
    """The command asks for something that the job does not have."""

    exit_code = 2

    def show(self, file: Any = None) -> None:
        """Print the message, wrapped, where errors go."""
        from islewright.cli.text import say, wrapped

        say(wrapped(self.message, hang=2), err=True)
        _ = file


def refuse(message: str) -> Refused:
    """Make the error that ends a command with exit code 2."""
    return Refused(message)


def one_of(word: str, known: Sequence[str], what: str) -> str:
    """The known word that is meant, whatever its capitals; else the nearest are named.

    Raises
    ------
    Refused : no such word
    """
    from islewright.job.problem import nearest

    folded = {name.casefold(): name for name in known}
    found = folded.get(" ".join(word.split()).casefold())
    if found is None:
        raise refuse(f'no {what} "{word}"; {nearest(word, known, most=12)}')
    return found


def circuit_or_cable(of: Study, word: str) -> str:
    """What a person calls by its name alone, as `circuit NAME` or `cable NAME`.

    Raises
    ------
    Refused : no such circuit or cable
    """
    names = {f"circuit {name}": f"circuit {name}" for name in of.job.circuits}
    names |= {f"cable {name}": f"cable {name}" for name in of.job.cables}
    names |= {name: f"cable {name}" for name in of.job.cables}
    names |= {name: f"circuit {name}" for name in of.job.circuits}
    shown = [*of.job.circuits, *of.job.cables]
    known = [name for name in names if name.casefold() == " ".join(word.split()).casefold()]
    return names[known[0]] if known else names[one_of(word, shown, "circuit or cable")]


def ask_lines(questions: Iterable[Any]) -> list[str]:
    """Questions as they are printed below an answer."""
    return [f"Find out: {q.ask or q.field} ({q.field}; ask {q.whom})" for q in questions]
