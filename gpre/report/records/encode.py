"""Records as JSON text: a field is a key, in the order of the record."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum


class Absent(Enum):
    """The value of a key that is left out, as `reversals` is where no list was asked for."""

    ABSENT = "absent"


ABSENT = Absent.ABSENT


def key_of(field_name: str) -> str:
    """Return the key of a field; `for_` is `for`, which Python keeps for itself."""
    return field_name.removesuffix("_")


def plain(value: object) -> object:
    """Return a record, or what a record holds, as dicts, lists, texts and numbers."""
    if value is None or isinstance(value, str | int | float):
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Mapping):
        return {key: plain(each) for key, each in value.items()}
    if isinstance(value, tuple | list):
        return [plain(each) for each in value]
    assert is_dataclass(value), value
    found = {key_of(each.name): getattr(value, each.name) for each in fields(value)}
    return {key: plain(each) for key, each in found.items() if each is not ABSENT}


def json_text(record: object) -> str:
    """Return a record, or a dict, as JSON text that ends with a line end."""
    return json.dumps(plain(record), indent=2, ensure_ascii=True, allow_nan=False) + "\n"
