"""Findings, and the fault that ends a command."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from gpre.diagnostics.codes import severity_of
from gpre.diagnostics.diagnostic import Diagnostic, Severity
from gpre.diagnostics.faults import Fault, FileFault
from gpre.mill.job_file import LoadedJob
from gpre.mill.profile import LoadedMill
from gpre.report.records.values import Count, Line, Rule
from gpre.source.text import SourceText

Code = Annotated[str, Rule(pattern="^[A-Z]{3}[0-9]{3}$")]


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found in a file of yours: what is wrong, where, and what to do."""

    code: Annotated[Code, "gpre explain CODE says more"]
    severity: Annotated[
        str, Rule(one_of=tuple(each.value for each in Severity)), "how much it matters"
    ]
    message: Annotated[str, "what is wrong, a sentence"]
    label: Annotated[str, "of the place, in few words; may be empty"]
    help: Annotated[str, "what to do; may be empty"]
    file: Annotated[str | None, "the file; null: none by name"]
    line: Annotated[Line | None, "null: of the file as a whole"]
    column: Annotated[Line | None, "null: of the file as a whole"]
    start: Annotated[Count | None, "the first byte of the place, counted from 0"]
    end: Annotated[Count | None, "the first byte after the place"]

    def __str__(self) -> str:
        """Return it as one line of text."""
        place = f"line {self.line}" if self.line is not None else ""
        where = ", ".join(filter(None, (self.file, place)))
        return f"{where}{': ' if where else ''}{self.message} [{self.code}]"


Findings = Annotated[tuple[Finding, ...], "what was found in the files"]


@dataclass(frozen=True, slots=True)
class FaultCause:
    """Why a command ended without a result."""

    message: Annotated[str, "what is wrong, a sentence"]
    help: Annotated[str, "what to do; may be empty"]
    status: Annotated[int, Rule(one_of=(2, 3, 4)), "the exit status"]


@dataclass(frozen=True, slots=True)
class FaultRecord:
    """What any command prints instead of its result where it cannot go on."""

    fault: Annotated[FaultCause, "why the command ended"]
    findings: Findings


def finding_record(source: SourceText, finding: Diagnostic) -> Finding:
    """Return one finding in a file."""
    span = finding.span
    at = None if span is None else source.place(span.start)
    return Finding(
        finding.code,
        severity_of(finding.code).value,
        finding.message,
        finding.label,
        finding.help,
        source.name or None,
        None if at is None else at.line,
        None if at is None else at.column,
        None if span is None else span.start,
        None if span is None else span.end,
    )


def finding_records(source: SourceText, findings: Iterable[Diagnostic]) -> tuple[Finding, ...]:
    """Return all findings in a file, none left out."""
    return tuple(finding_record(source, each) for each in findings)


def settings_records(*loaded: LoadedMill | LoadedJob) -> tuple[Finding, ...]:
    """Return the findings in profile and job file."""
    return tuple(
        found
        for each in loaded
        for found in finding_records(SourceText.of(each.data, each.name), each.findings)
    )


def fault_record(fault: Fault) -> FaultRecord:
    """Return the fault that ended a command."""
    findings: tuple[Finding, ...] = ()
    if isinstance(fault, FileFault):
        findings = finding_records(SourceText.of(fault.data, fault.name), fault.diagnostics)
    return FaultRecord(FaultCause(fault.message, fault.help, fault.exit_status), findings)
