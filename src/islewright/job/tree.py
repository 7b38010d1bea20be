"""YAML as this program admits it: groups of keys, lists and text, each with its position.

Every scalar is text; the field's kind reads it. Refused are anchors, aliases, tags, merge
keys, a second document, a key that stands twice, and words that other readers of YAML take
for true, false or nothing. Does not belong here: what the keys mean (`read`).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Protocol

from islewright.job.problem import Problem

if TYPE_CHECKING:
    from yaml import MarkedYAMLError

DEEPEST = 16
MOST_PROBLEMS = 100

_WORDS = ("yes", "no", "on", "off", "true", "false")
_TRUTHS = frozenset(f for word in _WORDS for f in (word, word.capitalize(), word.upper()))
_NOTHING = frozenset(("", "~", "null", "Null", "NULL"))
#: stands inside for a text that could not be read, so no file may state it
_NO_SIGN = "\0"
#: what no scalar may be as it stands, so that everything else needs no further look
NO_TEXT = _TRUTHS | _NOTHING | {_NO_SIGN}
_GAPS = ("unknown", "none")
NO_NAME = _TRUTHS.union(_GAPS)
_COMMON_NAME = re.compile("[A-Za-z][A-Za-z0-9 .'-]{0,79}")
UNREADABLE = re.compile(
    "[\0-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufeff\ufffe\uffff]"
)

#: what the library says, and what to say instead
_SYNTAX = {
    "\\t": "a tab stands here; indent with blanks",
    "mapping values are not allowed": "a second `:` on one line; quote the text, or begin a line",
    "expected ','": "a bracket is not closed, or a comma is missing before this place",
    "expected ':'": "a key without `:` after it",
    "expected key": "the line does not fit those above it; check its indentation",
    "expected <block end>": "the line does not fit those above it; check its indentation",
    "end of stream": "a quotation mark or bracket is not closed",
    "escape": "a backslash within double quotation marks; write it in single ones",
    "cannot start any token": "no text begins with this sign; put it in quotation marks",
}
_DEEPER = (
    "the line begins further in than the one above, which opens no group; "
    "begin it in the same column, or write the key above it that it belongs to"
)
_SYNTAX_ELSE = "this is not YAML; check indentation, `:` after each key, brackets and quotes"


class Refused:
    """Stands where a problem has been noted already, so that it is not noted twice."""


REFUSED = Refused()


class Mark(Protocol):
    """A place as the YAML library keeps it: line and column from 0."""

    line: int
    column: int


def _place(mark: Mark) -> tuple[int, int]:
    return mark.line + 1, mark.column + 1


class Node:
    """A text, list or group of keys, and where it and its key begin."""

    __slots__ = ("key_mark", "mark", "value")

    def __init__(self, value: Any, mark: Mark, key_mark: Mark) -> None:
        self.value: Any = value
        self.mark = mark
        self.key_mark = key_mark

    @property
    def place(self) -> tuple[int, int]:
        """Line and column from 1."""
        return _place(self.mark)

    @property
    def key_place(self) -> tuple[int, int]:
        """Line and column of its key; its own where it has none."""
        return _place(self.key_mark)

    def plain(self) -> Any:
        """Nested dicts, lists and texts without positions."""
        value = self.value
        if value.__class__ is dict:
            return {
                key: node.value if node.value.__class__ is str else node.plain()
                for key, node in value.items()
            }
        if value.__class__ is list:
            return [node.plain() for node in value]
        return value


class _Stop(Exception):
    """Reading on makes no sense."""


def read_tree(data: bytes, file: str, problems: list[Problem]) -> Node | None:
    """Read one file; what is wrong goes to `problems`, and the rest is read on.

    Returns
    -------
    the file's outermost group of keys; None where there is nothing to go on with
    """
    before = len(problems)
    text = _decode(data, file, problems)
    if text is None:
        return None
    reader = _Reader(text, file, problems)
    try:
        root = reader.read()
    except _Stop:
        root = None
    if root is None or root.value.__class__ is not dict:
        if len(problems) == before:
            reader.note(1, 1, "", "", "the file must hold keys, such as `job:` and `supply:`")
        return None
    return root


def _decode(data: bytes, file: str, problems: list[Problem]) -> str | None:
    allowed = "the file must be text in UTF-8; save it so"
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as bad:
        line = data.count(b"\n", 0, bad.start) + 1
        at = bad.start - (data.rfind(b"\n", 0, bad.start) + 1)
        problems.append(Problem(
            file=file, line=line, column=at + 1, path="", found=f"byte 0x{data[bad.start]:02x}",
            why=f"byte {bad.start + 1} of the file, which is not UTF-8", allowed=allowed,
        ))  # fmt: skip
        return None
    odd = UNREADABLE.search(text)
    if odd is not None:
        line = text.count("\n", 0, odd.start()) + 1
        problems.append(Problem(
            file=file, line=line, column=odd.start() - text.rfind("\n", 0, odd.start()), path="",
            found=odd[0], why="a sign that cannot be printed", allowed="remove it",
        ))  # fmt: skip
        return None
    return text


class _Reader:
    """Turns the events of the YAML library into nodes."""

    def __init__(self, text: str, file: str, problems: list[Problem]) -> None:
        import yaml

        self.whole = text
        self.common: set[str] = set()
        self.file, self.problems = file, problems
        self.yaml = yaml
        self.scalar: Any = yaml.ScalarEvent
        # the parser in C where it is there, else the slower one
        self.next = getattr(yaml, "CLoader", yaml.Loader)(text).get_event

    def note(self, line: int, column: int, path: str, found: str, allowed: str) -> None:
        """Keep a problem; give up where there are too many to read."""
        self.problems.append(
            Problem(
                file=self.file, line=line, column=column, path=path, found=found, allowed=allowed
            )
        )
        if len(self.problems) >= MOST_PROBLEMS:
            raise _Stop

    def at(self, event: Any, path: str, found: str, allowed: str) -> None:
        """Keep a problem at an event."""
        line, column = _place(event.start_mark)
        self.note(line, column, path, found, allowed)

    def read(self) -> Node | None:
        """Read the one document of the file; bad syntax ends the reading."""
        try:
            return self.document()
        except self.yaml.MarkedYAMLError as bad:
            self.syntax(bad)
        except self.yaml.YAMLError:
            self.note(1, 1, "", "", _SYNTAX_ELSE)
        raise _Stop

    def document(self) -> Node | None:
        """Take events up to the end of the file."""
        root: Node | None = None
        while True:
            event = self.next()
            kind = event.__class__
            if kind is self.yaml.StreamEndEvent:
                return root
            if kind is self.yaml.DocumentStartEvent:
                if root is not None:
                    self.at(event, "", "---", "one file holds one job; nothing may follow it")
                    raise _Stop
                if event.version or event.tags:
                    self.at(event, "", "%", "a directive is not admitted; leave it out")
                root = self.value(self.next(), None, "", 0)

    def syntax(self, bad: MarkedYAMLError) -> None:
        """Say in plain words why the file is not YAML."""
        mark = bad.problem_mark or bad.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        said = f"{bad.context} {bad.problem}"
        if mark and "\t" in "".join(self.whole.splitlines()[line - 1 : line])[mark.column :][:1]:
            said = "\\t"
        plain = next((ours for theirs, ours in _SYNTAX.items() if theirs in said), _SYNTAX_ELSE)
        if "mapping values" in said and (deeper := self.deeper_than_before(line, column)):
            column, plain = deeper, _DEEPER
        begun = bad.context_mark
        if begun is not None and mark is not None and begun.line != mark.line:
            plain += f" (what is open here began in line {begun.line + 1})"
        self.note(line, column, "", "", plain)

    def deeper_than_before(self, line: int, column: int) -> int:
        """Column at which a line begins whose first `:` is the one that misfits; else 0."""
        text = self.whole.splitlines()[line - 1]
        before = text[: column - 1]
        return 0 if ":" in before or "{" in before else len(text) - len(text.lstrip()) + 1

    def value(self, event: Any, key_mark: Mark | None, path: str, depth: int) -> Node:
        """Read one node with all that lies in it."""
        mark = event.start_mark
        node = Node(REFUSED, mark, key_mark or mark)
        kind = event.__class__
        if kind is self.yaml.AliasEvent:
            self.at(event, path, f"*{event.anchor}", "an alias is not admitted; write it out")
            return node
        if event.anchor is not None:
            self.at(event, path, f"&{event.anchor}", "an anchor is not admitted; leave it out")
        if event.tag is not None:
            self.at(event, path, event.tag, "a tag is not admitted; leave it out")
        if kind is self.scalar:
            node.value = self.text(event, path)
            return node
        if depth >= DEEPEST:
            self.at(event, path, "", f"nothing lies deeper than {DEEPEST} groups of keys")
            raise _Stop
        if kind is self.yaml.MappingStartEvent:
            self.group(node, path, depth)
        else:
            node.value = self.items(path, depth)
        if node.value is not REFUSED and not node.value:
            self.at(event, path, "", "an empty group; write `none` where there is nothing")
            node.value = REFUSED
        return node

    def text(self, event: Any, path: str) -> str | Refused:
        """Read one scalar; only plain ones can be mistaken for something else."""
        text: str = event.value
        if text == _NO_SIGN:
            self.at(event, path, "\\0", "no sign that anyone could read; write words")
            return REFUSED
        if event.style is not None and event.style not in ("", "plain"):
            return text
        if text in _TRUTHS:
            allowed = "this word reads as true or false elsewhere; write what is meant, "
            self.at(event, path, text, f"{allowed}such as `none` for what is not there")
        elif text in _NOTHING:
            allowed = "state it, write `unknown` or `none`, or leave the key out"
            self.at(event, path, text or "nothing", allowed)
        else:
            return text
        return REFUSED

    def items(self, path: str, depth: int) -> list[Node]:
        """Read a list up to its end."""
        nodes: list[Node] = []
        while (event := self.next()).__class__ is not self.yaml.SequenceEndEvent:
            nodes.append(self.value(event, None, f"{path}[{len(nodes) + 1}]", depth + 1))
        return nodes

    def group(self, node: Node, path: str, depth: int) -> None:
        """Read a group of keys up to its end.

        Nearly all keys are plain names with plain texts; these are taken here and now.
        """
        held: dict[str, Node] = {}
        node.value = held
        last = ""
        advance: Callable[[], Any] = self.next
        scalar, end = self.scalar, self.yaml.MappingEndEvent
        common = self.common
        while (event := advance()).__class__ is not end:
            plain = event.__class__ is scalar and event.tag is None is event.anchor
            key = event.value if plain else self.key(event, path)
            following = advance()
            if following.__class__ is scalar and following.tag is None is following.anchor:
                text = following.value
                taken = text in NO_TEXT or key in held
                if not taken and (key in common or self.is_common(key)):
                    held[key] = Node(text, following.start_mark, event.start_mark)
                    last = key
                    continue
            if self.cut_figure(key, following, held.get(last), f"{path}.{last}".lstrip(".")):
                continue
            self.member(held, key, (event, following), path, depth)
            last = key

    def is_common(self, key: str) -> bool:
        """Whether a key is a name beyond doubt, quoted or not; what is, is remembered."""
        if key in NO_NAME or _COMMON_NAME.fullmatch(key) is None:
            return False
        self.common.add(key)
        return True

    def member(
        self, held: dict[str, Node], key: str, events: tuple[Any, Any], path: str, depth: int
    ) -> None:
        """Read one key of a group, and what lies below it."""
        event, following = events
        inner = f"{path}.{key}" if path else key
        first = held.get(key)
        if first is not None:
            allowed = f"the key stands in line {first.key_place[0]} already; each key stands once"
            self.at(event, inner, key, allowed)
        else:
            self.hold_key(event, key, inner)
        value = self.value(following, event.start_mark, inner, depth + 1)
        if first is None:
            held[key] = value

    def key(self, event: Any, path: str) -> str:
        """Take a key: a text, without anchor or tag."""
        if event.__class__ is not self.scalar:
            self.at(event, path, "", "a key must be one text")
            raise _Stop
        key: str = event.value
        if event.anchor is not None or event.tag is not None:
            self.at(event, path, key, "a key has neither anchor nor tag")
        return key

    def hold_key(self, event: Any, key: str, path: str) -> None:
        """Note a key that can be no name; it is kept, so that nothing else misses it."""
        plain = event.style in (None, "", "plain")
        if key == "<<":
            allowed = "a merge key is not admitted; write the keys out"
        elif plain and key in _TRUTHS:
            allowed = "this word reads as true or false elsewhere; choose another name"
        elif key in _GAPS:
            allowed = "this word stands for a gap; choose another name"
        elif not key[:1].isalpha() or not key.isprintable() or "/" in key or len(key) > 80:
            allowed = "a key or name begins with a letter and holds at most 80 signs, none a `/`"
        else:
            return
        self.at(event, path, key, allowed)

    def cut_figure(self, key: str, following: Any, before: Node | None, path: str) -> bool:
        """Whether a comma cut a figure in two: `{length: 24,5 m}` reads as two keys."""
        empty = following.__class__ is self.scalar and not following.value
        if before is None or not empty or not key[:1].isdigit():
            return False
        if before.value.__class__ is not str:
            return False
        found = f"{before.value},{key}"
        allowed = f'a figure has a decimal point; write "{before.value}.{key}"'
        line, column = before.place
        self.note(line, column, path, found, allowed)
        before.value = REFUSED
        return True
