"""The model's errors in the trade's words, at their places in the file.

Belongs here: which place an error means and what is said about it. Does not belong here:
reading files (`read`), checks over several fields (`check`).
"""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from islewright.job.part import NONE, Misplaced, Part, fields_of
from islewright.job.problem import Problem, nearest
from islewright.job.tree import REFUSED, Node

Loc = tuple[int | str, ...]

_FORMS = {
    "model_type": "here stands a group of keys",
    "dict_type": "here stand names, each with its own keys or figure",
    "tuple_type": "here stands a list",
    "string_type": "here stands one text",
}


class Places:
    """A file's tree as a map from paths to positions."""

    def __init__(
        self, root: Node, file: str, head: Loc = (), *, noted: Iterable[Problem] = ()
    ) -> None:
        self.root, self.file, self.head = root, file, head
        self.noted = {(p.line, p.column) for p in noted if p.file == file}

    def names(self, room: str) -> tuple[str, ...]:
        """Names in one room of the file, be their parts readable or not."""
        node = self.root.value.get(room)
        return tuple(node.value) if node and isinstance(node.value, dict) else ()

    def rcds_of(self, board: str) -> list[str]:
        """Names of a board's RCDs as they stand in the file."""
        node = self.root.value["boards"].value.get(board)
        rcds = node.value.get("RCDs") if node and isinstance(node.value, dict) else None
        return list(rcds.value) if rcds and isinstance(rcds.value, dict) else []

    def problem(
        self, loc: Loc, found: str, allowed: str, *, why: str = "", at_key: bool = False
    ) -> Problem:
        """A problem at the value of a path, or at its key; at the last that is there."""
        node = self.root
        line, column = node.place
        for step in loc:
            child, key_at = _step(node, step)
            if child is None:
                break
            node = child
            line, column = key_at if at_key else node.place
        return Problem(
            file=self.file, line=line, column=column, path=path_of((*self.head, *loc)),
            found=found, allowed=allowed, why=why,
        )  # fmt: skip


def path_of(loc: Loc) -> str:
    """Path as the user reads it, such as `circuits.kitchen.length`."""
    text = ""
    for step in loc:
        text += f"[{step + 1}]" if isinstance(step, int) else f".{step}"
    return text.lstrip(".")


def _step(node: Node, step: int | str) -> tuple[Node | None, tuple[int, int]]:
    value = node.value
    if isinstance(step, str) and isinstance(value, dict) and step in value:
        return value[step], value[step].key_place
    if isinstance(step, int) and isinstance(value, list) and step < len(value):
        return value[step], value[step].place
    return None, (0, 0)


def problems_of(error: ValidationError, part: type[Part], places: Places) -> list[Problem]:
    """Every error of one validation as a problem of the file.

    Parameters
    ----------
    error : what the model raised
    part : the class that was read
    places : the file's positions
    """
    # what was refused when the file was read is noted already, be it a value or a key
    wrong = [e for e in error.errors(include_url=False) if e["input"] is not REFUSED]
    found = [(each, _problem(each, part, places)) for each in wrong]
    return [
        problem
        for each, problem in found
        if each["type"] != "extra_forbidden" or (problem.line, problem.column) not in places.noted
    ]


def name_the_words(
    error: ValidationError, part: type[Part], places: Places, noted: list[Problem]
) -> None:
    """Where `yes` or `no` was refused before the field was known, say which words it takes."""
    for each in error.errors(include_url=False):
        if each["input"] is not REFUSED or each["type"] != "literal_error":
            continue
        words = _choices(each, part)
        here = places.problem(tuple(each["loc"]), "", "")
        for i, problem in enumerate(noted):
            same = (problem.file, problem.line, problem.column)
            if same == (here.file, here.line, here.column) and problem.found:
                noted[i] = replace(problem, allowed=_one_of(problem.found, words))


def _problem(error: Any, part: type[Part], places: Places) -> Problem:
    kind, loc, given = error["type"], tuple(error["loc"]), error["input"]
    context: Mapping[str, Any] = error.get("ctx") or {}
    if kind == "missing":
        return places.problem(loc[:-1], "", f"`{loc[-1]}` must be stated", at_key=len(loc) > 1)
    if kind == "extra_forbidden":
        holder = part_at(part, loc[:-1])
        keys = list(fields_of(holder)) if holder else []
        return places.problem(
            loc, str(loc[-1]), nearest(str(loc[-1]), keys, most=24),
            why="which is no key here", at_key=True,
        )  # fmt: skip
    if isinstance(given, Misplaced):
        return places.problem(loc, given.word, given.allowed)
    if kind == "literal_error":
        return places.problem(loc, _found(given), _one_of(given, _choices(error, part)))
    if kind == "not_allowed":
        return places.problem(loc, context["found"], context["allowed"], why=context["why"])
    return places.problem(loc, _found(given), _FORMS.get(kind, str(error["msg"])))


def _choices(error: Any, part: type[Part]) -> list[str]:
    """Words that the field of an error takes."""
    *above, key = error["loc"]
    holder = part_at(part, tuple(above))
    known = fields_of(holder).get(str(key)) if holder else None
    if holder is None or known is None:
        return re.findall(r"'([^']*)'", str((error.get("ctx") or {}).get("expected", "")))
    return words_of(holder.model_fields[known.name].annotation)


def _found(given: object) -> str:
    if isinstance(given, dict):
        return "a group of keys"
    return "a list" if isinstance(given, list) else str(given)


def _one_of(given: object, words: Sequence[str]) -> str:
    allowed = "one of: " + ", ".join(words) if len(words) > 1 else f"`{words[0]}`"
    close = nearest(str(given), words)
    return f"{allowed}; {close}" if close.startswith("nearest") and len(words) > 3 else allowed


def part_at(part: type[Part], loc: Loc) -> type[Part] | None:
    """Class of the part that lies at a path below a part of class `part`."""
    steps = iter(loc)
    for step in steps:
        known = fields_of(part).get(str(step))
        held = None if known is None else held_by(part.model_fields[known.name].annotation)
        if known is None or held is None:
            return None
        if known.named:
            next(steps, None)  # a name, which no class knows
        part = held
    return part


def words_of(annotation: Any) -> list[str]:
    """Words that a field takes where it is a choice, `none` among them where it admits that."""
    if typing.get_origin(annotation) is typing.Literal:
        return [str(word) for word in typing.get_args(annotation)]
    if typing.get_origin(annotation) not in (types.UnionType, typing.Union):
        return []
    options = typing.get_args(annotation)
    found = [word for option in options for word in words_of(option)]
    return [*found, NONE] if found and types.NoneType in options else found


def held_by(annotation: Any) -> type[Part] | None:
    """The class of parts that a field holds, alone or by name; None for plain facts."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation
    for argument in typing.get_args(annotation):
        held = held_by(argument)
        if held is not None:
            return held
    return None
