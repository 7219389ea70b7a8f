"""Figures as JSON text and back: the names of a dataclass's fields are the keys, in their order."""

from __future__ import annotations

import json
import re
import types
from collections.abc import Mapping
from dataclasses import Field, fields, is_dataclass
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

Figures = TypeVar("Figures")

EMPTY_WHERE_NONE: Mapping[str, Any] = {"none": {}}
"""Metadata of a field for a part that may not have been made: its None is told as ``{}``, and so read back."""

_NUMBERS = re.compile(r"\[\n[-+.\deE,\s]+\]")
"""A list of numbers alone, a line for each; no text holds one, since a line's end is escaped in it."""

_ACCEPTED = {float: (int, float)}
"""JSON has one kind of number: 0 is a length like any other."""


def as_json(figures: object) -> str:
    """Return a dataclass of figures as indented JSON text (RFC 8259), each list of numbers on one line."""
    text = json.dumps(figures, indent=2, ensure_ascii=False, allow_nan=False, default=members)
    return _NUMBERS.sub(lambda found: "[" + " ".join(found[0][1:-1].split()) + "]", text) + "\n"


def members(figures: Any) -> dict[str, Any]:
    """Return the fields of a dataclass by their keys, for ``json.dumps``; raises TypeError for anything else.

    A field that would have a name of the language's own ends in an underscore, which isn't told (PEP 8).
    """
    return {_key(field): _told(field, getattr(figures, field.name)) for field in fields(figures)}


def from_json(kind: type[Figures], text: bytes) -> Figures:
    """Return figures read back, as far as the dataclass ``kind`` has fields for them.

    Raises ValueError for what isn't JSON, lacks a field, or holds something else than the field's type.
    """
    try:
        figures: Figures = _read(kind, json.loads(text))
    except (KeyError, TypeError, ValueError) as problem:
        raise ValueError(f"these are no {kind.__name__}: {problem}") from None
    return figures


def _key(field: Field[Any]) -> str:
    return field.name.rstrip("_")


def _told(field: Field[Any], value: Any) -> Any:
    return field.metadata.get("none") if value is None else value


def _read(kind: Any, told: Any) -> Any:
    hints = get_type_hints(kind)
    return kind(**{f.name: _value(hints[f.name], told[_key(f)]) for f in fields(kind)})


def _value(hint: Any, told: Any) -> Any:
    """Return a value of JSON as the type that a field's hint names."""
    if get_origin(hint) in (Union, types.UnionType):
        (made,) = (kind for kind in get_args(hint) if kind is not types.NoneType)
        return None if told in (None, {}) else _value(made, told)
    if get_origin(hint) is tuple:
        kinds = get_args(hint)
        if kinds[-1] is Ellipsis:
            return tuple(_value(kinds[0], entry) for entry in told)
        return tuple(_value(kind, entry) for kind, entry in zip(kinds, told, strict=True))
    if isinstance(hint, type) and is_dataclass(hint):
        return _read(hint, told)
    fits = told in get_args(hint) if get_origin(hint) is Literal else isinstance(told, _ACCEPTED.get(hint, hint))
    if not fits:
        raise TypeError(f"{told!r} is no {hint}")
    return told
