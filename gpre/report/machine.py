"""Findings and faults in the shape that other programs read."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from gpre.diagnostics.codes import severity_of
from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import Fault, FileFault
from gpre.source.text import SourceText


def json_text(value: dict[str, Any]) -> str:
    """Return a value as JSON text that ends with a line end."""
    return json.dumps(value, indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def finding_json(source: SourceText, finding: Diagnostic) -> dict[str, Any]:
    """Return a finding; lines and columns count from 1, start and end are bytes from 0."""
    result: dict[str, Any] = {
        "code": finding.code,
        "severity": severity_of(finding.code).value,
        "message": finding.message,
        "label": finding.label,
        "help": finding.help,
        "file": source.name or None,
        "line": None,
        "column": None,
        "start": None,
        "end": None,
    }
    if finding.span is not None:
        place = source.place(finding.span.start)
        result |= {
            "line": place.line,
            "column": place.column,
            "start": finding.span.start,
            "end": finding.span.end,
        }
    return result


def findings_json(source: SourceText, findings: Sequence[Diagnostic]) -> list[dict[str, Any]]:
    """Return all findings of a file, none left out."""
    return [finding_json(source, each) for each in findings]


def fault_json(fault: Fault) -> dict[str, Any]:
    """Return the fault that ended a command."""
    findings: list[dict[str, Any]] = []
    if isinstance(fault, FileFault):
        source = SourceText.of(fault.data, fault.name)
        findings = findings_json(source, fault.diagnostics)
    return {
        "fault": {"message": fault.message, "help": fault.help, "status": fault.exit_status},
        "findings": findings,
    }
