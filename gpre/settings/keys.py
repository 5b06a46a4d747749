"""The keys of a settings file as metadata of the fields that they fill, and records read by them.

A key is told in one place, the field of its record: its name, what it takes with unit and range,
its default, one sentence, and the name that it had. Reading, checking and `gpre explain` take it
from there::

    @dataclass(frozen=True)
    class Limits:
        tolerance: float = key(0.002, Amount("mm", 0, 1), "How far a path may leave the old one.")
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, Field, dataclass, field, fields
from typing import Any, NamedTuple, TypeVar

from gpre.settings.table import Settings
from gpre.settings.toml_places import Path
from gpre.settings.values import Setting

T = TypeVar("T")
_KEY = "key"


@dataclass(frozen=True)
class Key:
    """What is told of a key.

    text: what it means; a table has none. left_out: what holds without it, where that is not the
    field's default. old: the name that it had. name: its name, where that is not the field's.
    """

    takes: Setting
    text: str
    left_out: str = ""
    old: str = ""
    name: str = ""


def key(default: T, takes: Setting, text: str = "", left_out: str = "", *, old: str = "") -> T:
    """Return a field with a default, filled by a key; see `Key`."""
    return field(default=default, metadata=about(takes, text, left_out, old=old))


def about(
    takes: Setting, text: str = "", left_out: str = "", *, old: str = "", name: str = ""
) -> Mapping[str, Key]:
    """Return the metadata of a field that a key fills; without a default it must be there."""
    return {_KEY: Key(takes, text, left_out, old, name)}


def keys_of(record: type[Any]) -> Iterator[tuple[str, Field[Any], Key]]:
    """Yield the keys that fill a record: the name in the file, the field, and what is told."""
    for each in fields(record):
        told = each.metadata.get(_KEY)
        if told is not None:
            yield told.name or each.name, each, told


class Conflict(NamedTuple):
    """What values that are right one by one do not allow together; at a key, or at its value."""

    code: str
    key: str
    message: str
    label: str = ""
    advice: str = ""
    at_key: bool = False


@dataclass(frozen=True)
class Section(Setting):
    """A table that fills a record, which may have `conflicts() -> Iterator[Conflict]`."""

    record: type[Any]
    wanted = "a table"

    def checked(self, table: Settings, at: Path, value: object) -> Any:  # noqa: ANN401
        """Return the record; None where a key that must be there is missing or faulty."""
        inner = table.inner(at, value)
        return None if inner is None else read_record(inner, self.record)


@dataclass(frozen=True)
class Numbered(Setting):
    """A table of things by number.

    names: the names that there are, with their numbers, or a pattern with the number as its first
    group. name: of a number that fits a pattern; {} is the number. code, message, advice: of a name
    that does not fit it; {} is the name.
    """

    item: Setting
    names: Mapping[str, int] | re.Pattern[str]
    name: str = "{}"
    code: str = ""
    message: str = ""
    advice: str = ""

    @property
    def wanted(self) -> str:
        """Some names, and what each takes."""
        if isinstance(self.names, Mapping):
            some = " to ".join((*self.names,)[:: len(self.names) - 1])
        else:
            some = f"{self.name_of(1)}, {self.name_of(2)}, ..."
        return f"a table of {some}; each {self.item.wanted}"

    def name_of(self, number: object) -> str:
        """Return the name of a number."""
        if isinstance(self.names, Mapping):
            return next((name for name, each in self.names.items() if each == number), str(number))
        return self.name.format(number)

    def checked(self, table: Settings, at: Path, value: object) -> dict[int, Any] | None:
        """Return the things by their numbers."""
        inner = table.inner(at, value)
        if inner is None:
            return None
        found: dict[int, Any] = {}
        for name, number in self._named(inner):
            if number in found:
                message = f"[{inner.dotted()}] has {number} twice"
                inner.report_key("MIL507", message, name, "give it once")
            one = self.item.read(inner, name)
            if one is not None:
                found[number] = one
        inner.finish()
        return found

    def _named(self, table: Settings) -> Iterator[tuple[str, int]]:
        if isinstance(self.names, Mapping):
            yield from self.names.items()
            return
        for name in table.values:
            match = self.names.fullmatch(name)
            if match:
                yield name, int(match[1])
            else:
                table.take(name)
                table.report_key(self.code, self.message.format(name), name, self.advice)


def read_record(table: Settings, record: type[T]) -> T | None:
    """Return a record filled by a table; None where a key that must be there is missing or faulty.

    Each fault is a finding of the file, a key that the record does not have among them.
    """
    found: dict[str, Any] = {}
    complete = True
    for name, each, told in keys_of(record):
        if told.old:
            table.rename(told.old, name)
        value = told.takes.read(table, name)
        if value is not None:
            found[each.name] = value
        elif each.default is MISSING and each.default_factory is MISSING:
            complete = False
            if name not in table.values:
                message = f"[{table.dotted()}] lacks {name}"
                table.report("JOB604", message, (), "", f"add a line: {name} = ...")
    table.finish()
    if not complete:
        return None
    made = record(**found)
    for each in made.conflicts() if hasattr(made, "conflicts") else ():
        _report(table, each)
    return made


def _report(table: Settings, found: Conflict) -> None:
    if found.at_key:
        table.report_key(found.code, found.message, found.key, found.advice, found.label)
    else:
        table.report(found.code, found.message, (found.key,), found.label, found.advice)
