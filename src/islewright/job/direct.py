"""Parts made straight from their texts, as the library that holds the model would make them.

That library asks a function for every single field, and a job says the same few texts at the
same keys over and over. Here a part is put together by looking up what its keys and texts were
read as before; the kinds of field that read them are the same. Whatever is odd raises, and the
file is then read with care. Does not belong here: any message.
"""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from islewright.job.part import NONE, UNKNOWN, Named, Part
from islewright.job.plan import Inner, Order, Plan, plan_of

Raw = dict[str, Any]

_new = object.__new__
_set_held = BaseModel.__dict__["__dict__"].__set__
_set_stated = BaseModel.__dict__["__pydantic_fields_set__"].__set__
_set_extra = BaseModel.__dict__["__pydantic_extra__"].__set__
_set_private = BaseModel.__dict__["__pydantic_private__"].__set__


def make(part: type[Part], raw: Any, path: str, weighed: list[Part]) -> Any:
    """Make a part and all that lie below it, each with its place in the file.

    Parameters
    ----------
    raw : its keys and what stands there, or its short form
    path : where it stands in its file
    weighed : gets those that have cross-sections or ratings, which may be none that are made

    Raises
    ------
    Odd, LookupError, TypeError, ValueError, AttributeError : it must be read with care
    """
    return _make(plan_of(part), raw, path, weighed)


def _make(plan: Plan, raw: Any, path: str, weighed: list[Part]) -> Part:
    if raw.__class__ is str:
        raw = plan.short(raw)
    keys = tuple(raw)
    order = plan.orders.get(keys) or plan.order(keys)
    held = order.held.copy()
    held["_path"] = path
    unknown: list[str] = []
    try:
        for key, name, known in order.known:
            held[name] = known[raw[key]]
    except KeyError:
        _read_leaves(order, raw, held, unknown)
    for inner in order.inner:
        _make_inner(inner, raw, path, weighed, held, unknown)
    stated = order.stated.copy()
    if unknown:
        for name in unknown:
            del held[name]
        stated.difference_update(unknown)
        held["_unknown"] = plan.unknown(keys, unknown)
    part = _new(plan.part)
    _set_held(part, held)
    _set_stated(part, stated)
    _set_extra(part, None)
    _set_private(part, None)
    if plan.can_be_unlisted:
        weighed.append(part)
    return part


def _read_leaves(order: Order, raw: Raw, held: Raw, unknown: list[str]) -> None:
    """Read texts of which one was not read before, or says `unknown`."""
    for key, name, texts in order.leaves:
        text = raw[key]
        if text == UNKNOWN:
            unknown.append(name)
        else:
            held[name] = texts.take(text)


def _make_inner(
    inner: Inner, raw: Raw, path: str, weighed: list[Part], held: Raw, unknown: list[str]
) -> None:
    """Make the parts or figures that lie at one field of a part."""
    key, name, known, plan, figures = inner
    below = raw[key]
    at = f"{path}.{key}" if path else key
    if below == UNKNOWN:
        unknown.append(name)
    elif below == NONE:
        held[name] = inner.none()
    elif figures is not None:
        if UNKNOWN in below.values():  # one unknown figure makes its group unknown
            unknown.append(name)
        else:
            held[name] = Named({k: figures.take(text) for k, text in below.items()})
    elif plan is not None and known.named:
        held[name] = Named({k: _make(plan, v, f"{at}.{k}", weighed) for k, v in below.items()})
    elif plan is not None:
        held[name] = _make(plan, below, at, weighed)
