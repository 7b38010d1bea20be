"""JSON Schema of the job file and of equipment files, made from the parts themselves.

An editor can use it while somebody types. It admits everything that `read_job` reads; the
units of figures, references and whatever takes two fields are checked on reading alone.
"""

from __future__ import annotations

from typing import Any

from islewright.job.equipment import KINDS
from islewright.job.model import Job
from islewright.job.part import NONE, UNKNOWN, Part, fields_of
from islewright.job.refusal import held_by

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_UNKNOWN = {"const": UNKNOWN}
_NONE = {"const": NONE}


def job_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a job file, all scalars taken as text.

    Returns
    -------
    a new dict; every property has its question as description, and admits `unknown`
    """
    schema = _schema_of(Job)
    return {"$schema": DIALECT, "title": "Job file", **schema}


def equipment_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of an equipment file, all scalars taken as text."""
    definitions: dict[str, Any] = {}
    sheets = []
    for sheet in KINDS.values():
        schema = _schema_of(sheet)
        definitions |= schema.pop("$defs", {})
        definitions[sheet.__name__] = schema
        sheets.append({"$ref": f"#/$defs/{sheet.__name__}"})
    return {
        "$schema": DIALECT,
        "title": "Equipment file",
        "type": "object",
        "minProperties": 1,
        "additionalProperties": {"anyOf": sheets},
        "$defs": definitions,
    }


def _schema_of(part: type[Part]) -> dict[str, Any]:
    """Schema of one class and of those below it, with the file's rules for gaps."""
    schema = part.model_json_schema(by_alias=True)
    classes = parts_below(part)
    definitions = schema.pop("$defs", {})
    finished = {
        name: _with_gaps(body, classes[name]) if name in classes else body
        for name, body in definitions.items()
    }
    schema = _with_gaps(schema, part)
    return {**schema, "$defs": finished} if finished else schema


def parts_below(part: type[Part]) -> dict[str, type[Part]]:
    """Classes of all parts that a class of parts holds, itself too, by class name."""
    found = {part.__name__: part}
    for info in part.model_fields.values():
        held = held_by(info.annotation)
        if held is not None and held.__name__ not in found:
            found |= parts_below(held)
    return found


def _with_gaps(body: dict[str, Any], part: type[Part]) -> dict[str, Any]:
    """Schema of one part: its fields admit the words for gaps, and its short form is there."""
    fields = fields_of(part)
    properties = {}
    for key, shape in body["properties"].items():
        known = fields[key]
        info = part.model_fields[known.name]
        words = info.json_schema_extra
        asked = str(words.get("ask", "")) if isinstance(words, dict) else ""
        options = [] if known.required else [_UNKNOWN]
        if known.nullable or known.named:
            options.append(_NONE)
        properties[key] = _property(shape, asked, options, named=known.named)
    whole: dict[str, Any] = {
        "type": "object",
        "description": (part.__doc__ or "").partition("\n")[0],
        "properties": properties,
        "required": [key for key, known in fields.items() if known.required],
        "additionalProperties": False,
        "minProperties": 1,
    }
    if not part.short_form:
        return whole
    return {"anyOf": [{"type": "string", "examples": list(part.short_form)}, whole]}


def _property(
    shape: dict[str, Any], asked: str, options: list[dict[str, Any]], *, named: bool
) -> dict[str, Any]:
    """One field: its own shape without defaults, and the words for gaps beside it."""
    own = {
        key: value
        for key, value in shape.items()
        if key not in ("default", "title", "ask", "how", "whom", "anyOf")
    }
    shapes = [s for s in shape.get("anyOf", []) if s != {"type": "null"}]
    shapes = [*shapes, *([own] if own else [])]
    if named:
        shapes = [_by_name(s) for s in shapes]
    if len(shapes) == 1 and not options:
        return {"description": asked, **shapes[0]}
    return {"description": asked, "anyOf": [*shapes, *options]}


def _by_name(shape: dict[str, Any]) -> dict[str, Any]:
    """Parts or figures by name: at least one, each may be `unknown`."""
    inner = shape.get("additionalProperties")
    if not isinstance(inner, dict):
        return shape
    return {
        **shape,
        "minProperties": 1,
        "propertyNames": {"pattern": r"^[^\s\d/][^/]{0,79}$", "not": {"enum": [UNKNOWN, NONE]}},
        "additionalProperties": {"anyOf": [inner, _UNKNOWN]},
    }
