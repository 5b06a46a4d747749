"""What `gpre explain --json` prints."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.entry import Entry
from gpre.report.keys import KeyRow
from gpre.report.records.findings import Code
from gpre.report.records.values import Rule


@dataclass(frozen=True, slots=True)
class CodeRecord:
    """What a code of a finding means."""

    code: Annotated[Code, "the code"]
    severity: Annotated[Severity, "how much it matters"]
    title: Annotated[str, "what is wrong, in few words"]
    what: Annotated[str, "what is wrong"]
    why: Annotated[str, "why it matters"]
    example: Annotated[str, "lines that bring it about"]
    instead: Annotated[str, "what to write instead"]
    controllers_differ: Annotated[
        bool, "a program that has it newly is not proved, since controllers differ here"
    ]


@dataclass(frozen=True, slots=True)
class CodesRecord:
    """All codes."""

    codes: Annotated[tuple[CodeRecord, ...], "in the order of the alphabet"]


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """What a key of the mill profile or the job file means."""

    file: Annotated[str, Rule(one_of=("mill profile", "job file")), "where it stands"]
    tables: Annotated[tuple[str, ...], "those that have it; empty: the top of the file"]
    name: Annotated[str, "the key"]
    takes: Annotated[str, "what it takes, in words"]
    left_out: Annotated[str, "what counts where it is left out"]
    text: Annotated[str, "what it means"]
    old: Annotated[str, "the name that it had, or empty"]


@dataclass(frozen=True, slots=True)
class KeysRecord:
    """The keys of one name."""

    keys: Annotated[tuple[KeyRecord, ...], "one for each file and kind of table that has it"]


def code_record(entry: Entry) -> CodeRecord:
    """Return what a code means."""
    return CodeRecord(
        entry.code,
        entry.severity,
        entry.title,
        entry.what,
        entry.why,
        entry.example,
        entry.instead,
        entry.controllers_differ,
    )


def codes_record() -> CodesRecord:
    """Return what all codes mean."""
    return CodesRecord(tuple(code_record(TABLE[each]) for each in sorted(TABLE)))


def keys_record(rows: Iterable[KeyRow]) -> KeysRecord:
    """Return what the keys of a name mean."""
    return KeysRecord(tuple(KeyRecord(**row._asdict()) for row in rows))
