"""JSON Schemas (draft 2020-12), made from the records of the commands."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import fields
from enum import Enum
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from gpre.report.records.encode import Absent, key_of
from gpre.report.records.values import Rule

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_TYPES: dict[object, str] = {
    str: "string",
    int: "integer",
    float: "number",
    bool: "boolean",
    NoneType: "null",
}

Schema = dict[str, Any]


def schema_of(title: str, printed: tuple[type, ...], written: tuple[type, ...] = ()) -> Schema:
    """Return the schema of what a command prints: one of `printed`.

    written: records that the command writes to files; they are among the definitions too.
    """
    records: dict[str, Schema] = {}
    for each in (*printed, *written):
        _define(each, records)
    return {
        "$schema": _DRAFT,
        "title": title,
        "anyOf": [_reference(each) for each in printed],
        "$defs": records,
    }


def _reference(record: type) -> Schema:
    return {"$ref": f"#/$defs/{record.__name__}"}


def _define(record: type, records: dict[str, Schema]) -> Schema:
    """Put a record, and those that it is made of, among the definitions; return its reference."""
    if record.__name__ not in records:
        records[record.__name__] = {}  # its place, before those of its parts
        kinds = get_type_hints(record, include_extras=True)
        parts = {each.name: tuple(_parts(kinds[each.name])) for each in fields(record)}
        records[record.__name__] = {
            "description": inspect.getdoc(record),
            "type": "object",
            "properties": {key_of(name): _of(kinds[name], records) for name, _ in parts.items()},
            "required": [key_of(name) for name, kind in parts.items() if Absent not in kind],
            "additionalProperties": False,
        }
    return _reference(record)


def _parts(kind: object) -> Iterator[object]:
    """Yield what a value may be: the members of a union, without what is said of them."""
    origin = get_origin(kind)
    if origin is Annotated:
        yield from _parts(get_args(kind)[0])
    elif origin in {Union, UnionType}:
        for each in get_args(kind):
            yield from _parts(each)
    else:
        yield kind


def _of(kind: object, records: dict[str, Schema]) -> Schema:
    """Return the schema of a kind of value; what is said of it, the outermost words first."""
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return _told(_of(inner[0], records), inner[1:])
    if origin in {Union, UnionType}:
        return _any_of([_of(each, records) for each in inner if each is not Absent])
    if origin is tuple:
        return _array(inner, records)
    if origin is dict:
        return _map(inner[0], inner[1], records)
    if kind in _TYPES:
        return {"type": _TYPES[kind]}
    assert isinstance(kind, type), kind
    if issubclass(kind, Enum):
        return {"type": "string", "enum": [each.value for each in kind]}
    return _define(kind, records)


def _told(schema: Schema, said: tuple[object, ...]) -> Schema:
    schema = dict(schema)
    words = [each for each in said if isinstance(each, str)][::-1]
    for rule in (each for each in said if isinstance(each, Rule)):
        if rule.one_of:
            schema["enum"] = list(rule.one_of)
        if rule.minimum is not None:
            schema["minimum"] = rule.minimum
        if rule.pattern:
            schema["pattern"] = rule.pattern
    words += [schema["description"]] if "description" in schema else []
    return schema | ({"description": "; ".join(words)} if words else {})


def _any_of(members: list[Schema]) -> Schema:
    """Return what is one of several; `null` beside a plain type is another type of it."""
    first, *rest = members
    if not rest:
        return first
    if rest == [{"type": "null"}] and "type" in first and first["type"] != "array":
        enum = {"enum": [*first["enum"], None]} if "enum" in first else {}
        return first | {"type": [first["type"], "null"]} | enum
    return {"anyOf": members}


def _array(items: tuple[object, ...], records: dict[str, Schema]) -> Schema:
    if items[1:] == (...,):
        return {"type": "array", "items": _of(items[0], records)}
    each = [_of(item, records) for item in items]
    size = {"minItems": len(each), "maxItems": len(each)}
    return {"type": "array", "prefixItems": each, **size}


def _map(key: object, value: object, records: dict[str, Schema]) -> Schema:
    """Return the schema of a dict: with the keys that a rule names, else with any."""
    each = _of(value, records)
    rules = [each for each in get_args(key) if isinstance(each, Rule)]
    names = [name for rule in rules for name in rule.one_of]
    if not names:
        return {"type": "object", "additionalProperties": each}
    return {
        "type": "object",
        "properties": dict.fromkeys(names, each),
        "required": names,
        "additionalProperties": False,
    }
