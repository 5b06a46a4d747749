"""The keys of the mill profile and the job file, for people."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import MISSING, Field
from typing import Any, NamedTuple

from rich.text import Text

from gpre.mill.job import JOB_UNITS, Job
from gpre.mill.mill import Mill
from gpre.report.wording import WIDTH
from gpre.settings.keys import Key, Numbered, Section, keys_of


class KeyRow(NamedTuple):
    """One key. tables: those that have it, "" for the top of the file; takes, left_out: in words.

    old: the name that it had, or "".
    """

    file: str
    tables: tuple[str, ...]
    name: str
    takes: str
    left_out: str
    text: str
    old: str


def key_rows() -> Iterator[KeyRow]:
    """Yield all keys of both files, in the order of their tables."""
    yield from _rows("mill profile", Mill, ("",))
    units = JOB_UNITS
    yield KeyRow("job file", ("",), units.name, units.takes.wanted, units.left_out, units.text, "")
    yield from _rows("job file", Job, ("",))


def _rows(file: str, record: type[Any], tables: tuple[str, ...]) -> Iterator[KeyRow]:
    inner: dict[type[Any], tuple[str, ...]] = {}
    for name, each, told in keys_of(record):
        takes, table = told.takes, f"{tables[0]}.{name}".removeprefix(".")
        if isinstance(takes, Numbered) and isinstance(takes.item, Section):
            takes, table = takes.item, f"{table}.N"
        if isinstance(takes, Section):
            inner[takes.record] = (*inner.get(takes.record, ()), table)
        else:
            yield KeyRow(
                file, tables, name, takes.wanted, _left_out(each, told), told.text, told.old
            )
    for part, names in inner.items():
        yield from _rows(file, part, names)


def _left_out(each: Field[Any], told: Key) -> str:
    if told.left_out:
        return told.left_out
    return "it must be there" if each.default is MISSING else told.takes.shown(each.default)


def keys_named(name: str) -> list[KeyRow]:
    """Return the keys of a name, old names too; `x.travel` is that of one table."""
    plain = name.strip().lower().replace("[", "").replace("]", "")
    table, _, short = plain.rpartition(".")
    return [
        row
        for row in key_rows()
        if short in (row.name, row.old) and (not table or table in map(str.lower, row.tables))
    ]


def explain_keys(rows: list[KeyRow]) -> Text:
    """Lay out what each key means and takes."""
    return Text("\n").join(_explained(row) for row in rows)


def _explained(row: KeyRow) -> Text:
    result = Text()
    result.append(f"{row.name} ", "bold")
    result.append(f"({row.file}{where_of(row)})\n")
    told = (("What", row.text), ("Takes", row.takes), ("Left out", row.left_out))
    for head, text in (*told, ("Old name", row.old)):
        if text:
            result.append(f"\n{head}\n", "bold")
            result.append(textwrap.fill(text, WIDTH, initial_indent="  ", subsequent_indent="  "))
            result.append("\n")
    return result


def where_of(row: KeyRow) -> str:
    """Return the tables that have a key: `, [x], [y], [z]`."""
    return "".join(f", [{table}]" for table in row.tables if table)
