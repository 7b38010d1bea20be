"""What every part of a job has in common: its place in the file, and its gaps.

Belongs here: how a gap behaves. Does not belong here: any particular part (`model`).
"""

from __future__ import annotations

import functools
import typing
from collections.abc import Iterator
from typing import Any, ClassVar, NamedTuple, NoReturn

from pydantic import BaseModel, ConfigDict, Field, model_validator

from islewright.findings import Question
from islewright.job.gap import Gap, Unknown
from islewright.job.kinds import refuse

UNKNOWN, NONE = "unknown", "none"


class Misplaced:
    """A word for a gap where the file's rules do not admit it; no kind of field reads it."""

    def __init__(self, word: str, allowed: str) -> None:
        self.word, self.allowed = word, allowed

    def __str__(self) -> str:
        return self.word


_MUST_STATE = Misplaced(UNKNOWN, "nothing can be worked out without it, so it must be stated")
_NOT_NONE = Misplaced(NONE, f"it is always there; state it, or write `{UNKNOWN}`")


class Named(dict[str, Any]):
    """Parts by name, in the file's order; cannot be changed, like the part it lies in."""

    def _refuse(self, *_: object, **__: object) -> NoReturn:
        raise TypeError("a job that was read does not change")

    __setitem__ = __delitem__ = __ior__ = _refuse
    clear = pop = popitem = setdefault = update = _refuse


def fact(
    key: str,
    ask: str,
    how: str = "",
    *,
    whom: str = "the site",
    default: Any = Gap.LEFT_OUT,
) -> Any:
    """One field of a part: its key in the file, and the question that its gap becomes.

    `default` is only given where leaving the key out states something by the file's own
    rules (a cable without `device` has none); a missing fact has no default. With
    `default=...` the key must be there, and cannot be `unknown`.
    """
    return Field(
        default=default, alias=key, json_schema_extra={"ask": ask, "how": how, "whom": whom}
    )


MAKER = "the maker"


def sheet(key: str, ask: str, **rest: Any) -> Any:
    """A fact that only the maker's sheet or the maker can state."""
    how = "the maker's sheet; ask where it is silent"
    return fact(key, ask, how, whom=MAKER, **rest)


class Known(NamedTuple):
    """What the reader has to know of one field, worked out once for each class."""

    name: str
    required: bool
    nullable: bool
    named: bool
    figures: bool
    says_none: bool
    parts: bool


class Gaps(NamedTuple):
    """Where a class of parts can have gaps: fields without default, keys of named figures."""

    names: frozenset[str]
    figures: frozenset[str]


@functools.cache
def _gaps_of(part: type[Part]) -> Gaps:
    fields = part.model_fields.items()
    return Gaps(
        frozenset(name for name, info in fields if info.default is Gap.LEFT_OUT),
        frozenset(key for key, known in fields_of(part).items() if known.figures),
    )


@functools.cache
def fields_of(part: type[Part]) -> dict[str, Known]:
    """Fields of a class of parts by their key in the file."""
    fields = {}
    for name, info in part.model_fields.items():
        options = _options(info.annotation)
        named = next((o for o in options if typing.get_origin(o) is dict), None)
        held = () if named is None else _options(typing.get_args(named)[1])
        fields[info.alias or name] = Known(
            name=name,
            required=info.is_required(),
            nullable=type(None) in options,
            named=named is not None,
            figures=bool(held) and not any(map(_is_part, held)),
            parts=any(map(_is_part, (*options, *held))),
            says_none=any(NONE in typing.get_args(o) for o in options),
        )
    return fields


@functools.cache
def _words_of(part: type[Part], name: str) -> tuple[str, str, str, str]:
    """Key of a field, and what to ask about it, how, and whom."""
    info = part.model_fields[name]
    extra = info.json_schema_extra
    words = extra if isinstance(extra, dict) else {}
    ask, how = str(words.get("ask", "")), str(words.get("how", ""))
    return info.alias or name, ask, how, str(words.get("whom", "the site"))


@functools.cache
def groups_of(part: type[Part]) -> tuple[str, ...]:
    """Names of the fields that hold parts or figures by name."""
    return tuple(known.name for known in fields_of(part).values() if known.named)


@functools.cache
def _rooms_of(part: type[Part]) -> tuple[tuple[str, str], ...]:
    """Key and name of each field that holds parts."""
    return tuple((key, known.name) for key, known in fields_of(part).items() if known.parts)


def parts_in(part: Part) -> Iterator[tuple[tuple[str, ...], Part]]:
    """Parts that lie right below a part, each with its key, or key and name."""
    for key, name in _rooms_of(type(part)):
        value = part.__dict__.get(name)
        if value is None:
            continue
        if isinstance(value, dict):
            for each, held in value.items():
                yield (key, each), held
        elif isinstance(value, Part):
            yield (key,), value


def _options(annotation: Any) -> tuple[Any, ...]:
    """Take a union apart, and what is annotated down to its type."""
    if typing.get_origin(annotation) is typing.Annotated:
        return _options(typing.get_args(annotation)[0])
    if typing.get_origin(annotation) in _UNIONS:
        return tuple(o for arg in typing.get_args(annotation) for o in _options(arg))
    return (annotation,)


_UNIONS = (typing.Union, type(int | str))


def _is_part(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, Part)


class Part(BaseModel):
    """A part of the job. Reading a field that is a gap raises `Unknown`."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        arbitrary_types_allowed=True,
        defer_build=True,
    )
    #: both lie beside the fields where reading has set them; as private attributes of the
    #: library they would cost as much as all fields together
    _path: ClassVar[str] = ""
    _unknown: ClassVar[tuple[str, ...]] = ()

    #: how the part may be written in one line of text; empty where it may not
    short_form: ClassVar[tuple[str, ...]] = ()

    if not typing.TYPE_CHECKING:  # else a misspelt field would pass the type checker

        def __getattr__(self, name: str) -> Any:
            """`Unknown` with its question: only what is stated lies in the part."""
            private = self.__pydantic_private__
            if private is not None and name in private:
                return private[name]
            if name in type(self).__pydantic_fields__:
                raise Unknown(self.question(name))
            return super().__getattr__(name)

    def gap(self, name: str) -> Gap | None:
        """The gap at this field, or None where something is stated; never raises."""
        if name in self.__dict__:
            return None
        _ = type(self).__pydantic_fields__[name]
        return Gap.UNKNOWN if name in self._unknown else Gap.LEFT_OUT

    def has(self, name: str) -> bool:
        """Whether something is stated there and it is not `none`; never raises."""
        held = self.__dict__
        if name in held:
            return held[name] is not None
        _ = type(self).__pydantic_fields__[name]  # which no misspelt name gets past
        return False

    def figure(self, name: str) -> float | None:
        """A figure, or None where it is a gap or not there; never raises."""
        held = self.__dict__
        value = held[name] if name in held else self.gap(name)
        return float(value) if isinstance(value, float) else None

    def question(self, name: str) -> Question:
        """What to ask about this field."""
        key, ask, how, whom = _words_of(type(self), name)
        return Question(field=f"{self._path}.{key}".lstrip("."), ask=ask, how=how, whom=whom)

    @property
    def path(self) -> str:
        """Where the part stands in the job file, such as `circuits.kitchen`."""
        return self._path

    @classmethod
    def from_text(cls, text: str) -> dict[str, Any]:
        """Turn one line of text that stands for the whole part into its keys.

        Raises
        ------
        PydanticCustomError : this part has no such short form
        """
        if text == UNKNOWN:
            return {k: UNKNOWN for k, known in fields_of(cls).items() if not known.required}
        keys = ", ".join(f"`{key}`" for key in list(fields_of(cls))[:4])
        raise refuse(text, f"here stands a group of keys, such as {keys}")

    @model_validator(mode="wrap")
    @classmethod
    def _read_gaps(cls, data: Any, handler: Any) -> Any:
        """Take `unknown` and `none` before the field's own kind sees them."""
        if data.__class__ is str:
            data = cls.from_text(data)
        if not isinstance(data, dict):
            return handler(data)
        unknown: list[str] = []
        known = _gaps_of(cls)
        values = data.values()
        figures = known.figures and not known.figures.isdisjoint(data)
        if figures or UNKNOWN in values or NONE in values:
            data, unknown = _without_gaps(data, fields_of(cls))
        part = handler(data)
        held = part.__dict__
        for name in known.names.difference(part.__pydantic_fields_set__):
            del held[name]
        if unknown:
            for name in unknown:
                held.pop(name, None)
            held["_unknown"] = tuple(unknown)
        return part

    def __repr_args__(self) -> Any:
        """Fields as they lie there, gaps included, so that printing never raises."""
        fields = type(self).__pydantic_fields__
        return [(name, self.__dict__.get(name, self.gap(name))) for name in fields]


def _without_gaps(
    data: dict[str, Any], fields: dict[str, Known]
) -> tuple[dict[str, Any], list[str]]:
    """Replace the words for gaps by what they mean; name the fields that are unknown."""
    stated = dict(data)
    unknown: list[str] = []
    for key, value in data.items():
        known = fields.get(key)
        if known is None or not _has_gap(value, known):
            continue
        if value == NONE:
            stated[key] = None if known.nullable else {} if known.named else _NOT_NONE
        elif known.required:
            stated[key] = _MUST_STATE
        else:
            del stated[key]
            unknown.append(known.name)
    return stated, unknown


def _has_gap(value: Any, known: Known) -> bool:
    """Whether the value is a word for a gap; one unknown figure makes its group unknown."""
    if value.__class__ is str:
        return value == UNKNOWN or (value == NONE and not known.says_none)
    return known.figures and isinstance(value, dict) and UNKNOWN in value.values()
