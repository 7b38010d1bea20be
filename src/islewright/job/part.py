"""What every part of a job has in common: its place in the file, and its gaps.

Belongs here: how a gap behaves. Does not belong here: any particular part (`model`).
"""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, model_validator
from pydantic_core import PydanticCustomError

from islewright.findings import Question
from islewright.job.gap import Gap, Unknown


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
    rules (a cable without `device` has none); a missing fact has no default.
    """
    return Field(
        default=default, alias=key, json_schema_extra={"ask": ask, "how": how, "whom": whom}
    )


class Part(BaseModel):
    """A part of the job. Reading a field that is a gap raises `Unknown`."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=False, arbitrary_types_allowed=True
    )
    _path: str = PrivateAttr("")
    _keys: ClassVar[dict[str, str]] = {}

    def __getattribute__(self, name: str) -> Any:
        """The field's value; `Unknown` with its question where it is a gap."""
        value = super().__getattribute__(name)
        if value.__class__ is Gap:
            raise Unknown(self.question(name))
        return value

    def gap(self, name: str) -> Gap | None:
        """The gap at this field, or None where something is stated; never raises."""
        value = self.__dict__[name]
        return value if isinstance(value, Gap) else None

    def has(self, name: str) -> bool:
        """Whether something is stated there and it is not `none`; never raises."""
        value = self.__dict__[name]
        return value is not None and not isinstance(value, Gap)

    def question(self, name: str) -> Question:
        """What to ask about this field."""
        info = type(self).model_fields[name]
        extra = info.json_schema_extra
        words = extra if isinstance(extra, dict) else {}
        return Question(
            field=f"{self._path}.{info.alias or name}".lstrip("."),
            ask=str(words.get("ask", "")),
            how=str(words.get("how", "")),
            whom=str(words.get("whom", "the site")),
        )

    @property
    def path(self) -> str:
        """Where the part stands in the job file, such as `circuits.kitchen`."""
        return self._path

    @model_validator(mode="wrap")
    @classmethod
    def _read_gaps(cls, data: Any, handler: Any) -> Any:
        """Take `unknown` and `none` before the field's own kind sees them."""
        if not isinstance(data, dict):
            return handler(data)
        fields = {info.alias or name: (name, info) for name, info in cls.model_fields.items()}
        unknown = [key for key in data if key in fields and data[key] == "unknown"]
        for key in unknown:
            if fields[key][1].is_required():
                raise PydanticCustomError(
                    "not_allowed",
                    "{allowed}",
                    {"found": f"{key}: unknown", "allowed": f"`{key}` to be stated"},
                )
        plain = {
            key: (None if value == "none" and cls._may_be_none(fields.get(key)) else value)
            for key, value in data.items()
            if key not in unknown
        }
        part = handler(plain)
        for key in unknown:
            part.__dict__[fields[key][0]] = Gap.UNKNOWN
        return part

    @staticmethod
    def _may_be_none(field: Any) -> bool:
        return field is not None and type(None) in getattr(field[1].annotation, "__args__", ())

    def __repr_args__(self) -> Any:
        """Fields as they lie there, gaps included, so that printing never raises."""
        return list(self.__dict__.items())
