"""How parts are made of their texts: a plan for each class, drawn from the fields of the model.

Belongs here: what follows from a class and from the keys of a group, worked out once. Does not
belong here: making a part (`direct`), what a field admits (`kinds`).
"""

from __future__ import annotations

import dataclasses
import functools
import typing
from collections.abc import Callable
from typing import Any, NamedTuple

from pydantic import BeforeValidator, WithJsonSchema

from islewright.job.conductors import can_be_unlisted
from islewright.job.gap import Gap
from islewright.job.kinds import Quantity
from islewright.job.part import NONE, UNKNOWN, Known, Named, Part, fields_of
from islewright.job.ranges import Range

#: texts that are remembered for each field, and orders of keys for each class of parts
MOST_TEXTS = 256
MOST_ORDERS = 90

Read = Callable[[str], Any]


class Odd(Exception):
    """Something that has to be looked at with care."""


class Texts:
    """What the texts of a field were read as; `unknown` is never among them.

    Parameters
    ----------
    read : how a text is read that stands there for the first time
    """

    def __init__(self, read: Read) -> None:
        self._read = read
        self.known: dict[str, Any] = {}

    def take(self, text: Any) -> Any:
        """Read, or take what the same text was read as before."""
        known = self.known
        if text in known:
            return known[text]
        if text.__class__ is not str or text == UNKNOWN:
            raise Odd
        value = self._read(text)
        if len(known) >= MOST_TEXTS:
            known.clear()
        known[text] = value
        return value


class Leaf(NamedTuple):
    """A field that one text states."""

    key: str
    name: str
    texts: Texts


class Inner(NamedTuple):
    """A field that holds a part, parts by name, or figures by name."""

    key: str
    name: str
    known: Known
    plan: Plan | None
    figures: Texts | None

    def none(self) -> Any:
        """What `none` means there."""
        if self.known.nullable:
            return None
        if self.known.named:
            return Named()
        raise Odd


@dataclasses.dataclass(slots=True)
class Order:
    """What follows from the keys of a group, in the order of the file.

    Attributes
    ----------
    leaves, inner : its fields
    known : of each leaf its key, its name, and what its texts were read as
    held : what a part holds, by name: defaults of fields that are not stated, and room for those
        that are
    stated : names of the fields that are
    """

    leaves: tuple[Leaf, ...]
    inner: tuple[Inner, ...]
    known: tuple[tuple[str, str, dict[str, Any]], ...]
    held: dict[str, Any]
    stated: set[str]


class Plan:
    """How parts of one class are made; a field is planned when a file first states it."""

    def __init__(self, part: type[Part]) -> None:
        self.part = part
        self.can_be_unlisted = can_be_unlisted(part)
        self.orders: dict[tuple[str, ...], Order] = {}
        self.shorts: dict[str, dict[str, Any]] = {}
        self._fields: dict[str, Leaf | Inner] = {}
        self._defaults: dict[str, Any] = {}
        self._required: set[str] = set()
        for known in fields_of(part).values():
            default = part.model_fields[known.name].default
            if known.required:
                self._required.add(known.name)
            elif default is not Gap.LEFT_OUT:
                named = known.named and default is not None
                self._defaults[known.name] = Named(default) if named else default

    def field(self, key: str) -> Leaf | Inner:
        """Plan of one field.

        Raises
        ------
        LookupError : no field has this key
        TypeError : it is of a kind for which there is no plan
        """
        if key not in self._fields:
            known = fields_of(self.part)[key]
            info = self.part.model_fields[known.name]
            self._fields[key] = _field(key, known, info.annotation, tuple(info.metadata))
        return self._fields[key]

    def order(self, keys: tuple[str, ...]) -> Order:
        """Work out what follows from the keys of a group.

        Raises
        ------
        LookupError : a key is no field of the class
        Odd : one that must be there is not
        """
        fields = [self.field(key) for key in keys]
        stated = {field.name for field in fields}
        if not self._required <= stated:
            raise Odd
        leaves = tuple(field for field in fields if isinstance(field, Leaf))
        found = Order(
            leaves,
            tuple(field for field in fields if isinstance(field, Inner)),
            tuple((leaf.key, leaf.name, leaf.texts.known) for leaf in leaves),
            {**self._defaults, **dict.fromkeys(("_path", *stated))},
            stated,
        )
        if len(self.orders) >= MOST_ORDERS:
            self.orders.clear()
        self.orders[keys] = found
        return found

    def short(self, text: str) -> dict[str, Any]:
        """Keys for which a text stands; they must not be changed."""
        found = self.shorts.get(text)
        if found is None:
            if len(self.shorts) >= MOST_TEXTS:
                self.shorts.clear()
            found = self.shorts[text] = self.part.from_text(text)
        return found

    def unknown(self, keys: tuple[str, ...], names: list[str]) -> tuple[str, ...]:
        """Names of fields that are unknown, in the order of the file."""
        if not self._required.isdisjoint(names):
            raise Odd
        return tuple(name for key in keys if (name := self._fields[key].name) in names)


@functools.cache
def plan_of(part: type[Part]) -> Plan:
    """Plan of a class of parts."""
    return Plan(part)


def _field(key: str, known: Known, annotation: Any, marks: tuple[Any, ...]) -> Leaf | Inner:
    kind, marks = _kind(annotation, marks)
    if known.named:
        kind, marks = _kind(typing.get_args(kind)[1], ())
    if known.parts:
        return Inner(key, known.name, known, plan_of(kind), None)
    read = _reader(kind, marks)
    if known.named:
        return Inner(key, known.name, known, None, Texts(read))
    return Leaf(key, known.name, Texts(read if known.says_none else _unless_none(read, known)))


def _kind(annotation: Any, marks: tuple[Any, ...]) -> tuple[Any, tuple[Any, ...]]:
    """Type of a field, `None` left aside, and what it is marked with."""
    args = typing.get_args(annotation)
    options = [option for option in args if option is not type(None)]
    if len(options) == 1 < len(args):
        return _kind(options[0], marks)
    if typing.get_origin(annotation) is typing.Annotated:
        return _kind(args[0], (*args[1:], *marks))
    return annotation, marks


def _reader(kind: Any, marks: tuple[Any, ...]) -> Read:
    """How the kind of a field reads its text."""
    match [mark for mark in marks if not isinstance(mark, WithJsonSchema)]:
        case [Quantity() | Range() as mark]:
            return mark.taken
        case [BeforeValidator(func=read)]:
            return typing.cast("Read", read)
        case [] if kind is str:
            return str
        case [] if typing.get_origin(kind) is typing.Literal:
            return {word: word for word in typing.get_args(kind)}.__getitem__
    msg = f"no plan for {kind} with {marks}"
    raise TypeError(msg)


def _unless_none(read: Read, known: Known) -> Read:
    """Read `none` as the file's rules have it, and any other text as the field's kind does."""

    def taken(text: str) -> Any:
        if text != NONE:
            return read(text)
        if known.nullable:
            return None
        raise Odd

    return taken
