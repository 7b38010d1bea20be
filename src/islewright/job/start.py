"""A new job file from a few answers: what is known is stated, the rest is asked in place.

Every other fact of the file stands there as a comment with its question, so that the file
reads at once and the survey can go through it line by line. Nothing is guessed: a fact that
nobody gave is left out, which leaves the rules undecided.

BadAnswer (ValueError)    an answer that no job file can hold
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from islewright.job.answers import CABLES, FIRST, Answers, BadAnswer, hold_all
from islewright.job.equipment import KINDS
from islewright.job.generator import GeneratorInlet
from islewright.job.isolation import Isolation
from islewright.job.keep import keep_text
from islewright.job.model import (
    Board,
    Cable,
    Circuit,
    Earthing,
    Head,
    Job,
    Placed,
    Placement,
    Site,
    Supply,
)
from islewright.job.part import UNKNOWN, Part, fields_of
from islewright.job.refusal import held_by, words_of

__all__ = ["Answers", "BadAnswer", "new_equipment_text", "new_job_text", "write_new_job"]

EQUIPMENT_FILE = "equipment.yaml"
SWITCH_MODEL, INVERTER_MODEL = "islanding switch to be chosen", "inverter to be chosen"
_DEEPEST = 4
_INVERTER_ONLY = ("line", "settings", "current sensors")


def write_new_job(path: Path, answers: Answers) -> tuple[Path, Path]:
    """Write a new job file and a skeleton of its equipment file beside it.

    Returns
    -------
    the two files written

    Raises
    ------
    BadAnswer : an answer that no job file can hold; nothing was written
    FileExistsError : one of the files is there already; nothing was written
    """
    shelf = path.parent / EQUIPMENT_FILE
    for file in (path, shelf):
        if file.exists():
            raise FileExistsError(f"{file} is there already; nothing was written")
    texts = new_job_text(answers), new_equipment_text(answers)
    keep_text(path, texts[0])
    keep_text(shelf, texts[1])
    return path, shelf


def new_job_text(answers: Answers) -> str:
    """Text of a new job file.

    Raises
    ------
    BadAnswer : an answer that no job file can hold
    """
    hold_all(answers)
    return "\n".join([*_opening(answers), *_boards(answers), *_cables(answers), ""])


def new_equipment_text(answers: Answers) -> str:
    """Text of the equipment file that belongs to it, with everything still to be filled in."""
    lines = [f"# Equipment of {answers.name}: one group of keys for each model.", ""]
    for model, kind in ((SWITCH_MODEL, "islanding switch"), (INVERTER_MODEL, "inverter")):
        lines += [f"{model}:", *_keys(KINDS[kind], {"kind": kind}, 1), ""]
    return "\n".join(lines)


def _opening(answers: Answers) -> list[str]:
    head = {
        "name": answers.name,
        "date": answers.date,
        "profile": answers.profile,
        "equipment file": EQUIPMENT_FILE,
    }
    supply = {
        "form": answers.form,
        "nominal voltage": answers.nominal_voltage,
        "frequency": answers.frequency,
        "system earthing": answers.system_earthing,
    }
    model = {"islanding switch": SWITCH_MODEL, "inverter": INVERTER_MODEL}
    lines = [
        f"# {answers.name}: a new job.",
        "# A line that begins with # asks for a fact. Take the # and the blank behind it away, and",
        "# write the fact after the colon: `unknown` where nobody knows it, `none` where there is",
        "# no such thing. Indented lines belong to the one above them, which loses its # as well.",
        "# A figure has its unit: `18 m`, `0.32 ohm`, `16 mm2`, `4 kVA`, `25 degC`, `20 %`.",
        "# A line left as it is counts as not known. Makers' sheets go to the equipment file.",
        "", "job:", *_keys(Head, head, 1),
        "", _opened(Job, "place"), *_asked(Site, 1),
        "", "supply:", *_keys(Supply, supply, 1),
        "", "earthing:", *_keys(Earthing, {"in island mode": "unknown"}, 1),
        "", "equipment:",
    ]  # fmt: skip
    for key, name in model.items():
        leave_out = () if key == "inverter" else _INVERTER_ONLY
        lines += [f"  {key}:", f"    model: {name}"]
        lines += _asked(Placed, 2, leave_out=("model", *leave_out))
    for key in ("battery", "PV array"):
        lines += [f"  {_opened(Placement, key)}", *_asked(Placed, 2, leave_out=_INVERTER_ONLY)]
    lines += ["", _opened(Job, "isolation"), *_asked(Isolation, 1)]
    return [*lines, "", _opened(Job, "generator inlet"), *_asked(GeneratorInlet, 1)]


def _boards(answers: Answers) -> list[str]:
    lines = ["", "boards:"]
    for board in (answers.main_board, answers.backed_up_board):
        lines += [f"  {_quoted(board)}:", *_keys(Board, {"state": "unknown"}, 2)]
    return lines


_SHARED = (
    "# What most cables or most circuits have in common can be said once; one that differs says so",
    "# itself:",
    "# same for all cables:",
    "#   material: copper",
    "# same for all circuits:",
    "#   material: copper",
    "#   earth: as line",
)
_HOW_CIRCUITS = (
    "# One group for each circuit: write its name in place of `first circuit`, and begin the next",
    "# the same way below it. A load is `kettle: 2 kW`, or `kettle:` with `power`, `leakage` and",
    "# more below it; a device is one line, or a group of `curve`, `rated current` and more.",
)


def _cables(answers: Answers) -> list[str]:
    """The four cables without which no island can be drawn, and a first circuit."""
    lines_of = {"one phase": "L1", "split phase": "L1 L2", "three phases": "L1 L2 L3"}
    lines = lines_of[answers.form]
    incoming = {"TN-C-S": "PEN", "TN-S": "N PE"}.get(answers.system_earthing, "N")
    ends = (
        ("supply", answers.main_board, f"{lines} {incoming}"),
        (answers.main_board, "islanding switch/grid", f"{lines} N PE"),
        ("islanding switch/house", answers.backed_up_board, f"{lines} N PE"),
        ("islanding switch/inverter", "inverter", f"{lines} N PE"),
    )
    text = ["", "cables:  # hold the cores against what is there"]
    for name, (start, end, cores) in zip(CABLES, ends, strict=True):
        given = {"from": start, "to": end, "cores": cores}
        text += [f"  {name}:", *_keys(Cable, given, 2)]
    first = {"board": answers.backed_up_board}
    text += [
        "",
        *_SHARED,
        "",
        *_HOW_CIRCUITS,
        "circuits:",
        f"  {FIRST}:",
        *_keys(Circuit, first, 2),
    ]
    return [*text, "", _opened(Job, "battery and PV cables")]


def _keys(part: type[Part], given: Mapping[str, str], depth: int) -> Iterator[str]:
    """Keys of a part: what is given as it reads, the rest as comments with questions."""
    pad = "  " * depth
    for key, value in given.items():
        yield f"{pad}{key}: {_quoted(value)}"
    yield from _asked(part, depth, leave_out=tuple(given))


def _asked(part: type[Part], depth: int, *, leave_out: tuple[str, ...] = ()) -> Iterator[str]:
    """Keys of a part as comments; a group of keys is opened one level down."""
    pad = "  " * depth
    for key, known in fields_of(part).items():
        info = part.model_fields[known.name]
        words: Any = info.json_schema_extra
        if key in leave_out or not words["ask"]:
            continue
        held = held_by(info.annotation)
        short = held.short_form if held is not None else ()
        allowed = () if held else words_of(info.annotation)
        yield f"{pad}# {key}:  # {_question(words, allowed, () if known.named else short)}"
        if known.named and held is not None:
            yield f"{pad}#   name of the first:{'  # such as ' + short[0] if short else ''}"
        if held is not None and not short and depth < _DEEPEST:
            yield from _asked(held, depth + (2 if known.named else 1))


def _opened(part: type[Part], key: str) -> str:
    """Comment that opens a group of keys, with its question."""
    words: Any = part.model_fields[fields_of(part)[key].name].json_schema_extra
    return f"# {key}:  # {_question(words, (), ())}"


def _question(words: Mapping[str, str], allowed: Sequence[str], short: Sequence[str]) -> str:
    how = f" ({words['how']})" if words["how"] else ""
    listed = f" One of: {', '.join(allowed)}." if allowed else ""
    such = f" Such as {', '.join(short)}." if short else ""
    return f"{words['ask']}{how}{listed}{such}"


_PLAIN = re.compile(r"[A-Za-z0-9](?:[\w ./()+-]*[\w.)])?")


def _quoted(text: str) -> str:
    """Write a text so that it reads as itself."""
    words = ("yes", "no", "on", "off", "true", "false", "null", "none", "unknown")
    if text == UNKNOWN or (_PLAIN.fullmatch(text) and text.casefold() not in words):
        return text
    return "'" + text.replace("'", "''") + "'"
