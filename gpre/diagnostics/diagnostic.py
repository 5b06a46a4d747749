"""A finding about a user's file, as data; how it looks is the report's business."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple


class Severity(Enum):
    """How much a finding matters to the person at the mill."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


class Span(NamedTuple):
    """Bytes of a source text, half open, counted from 0."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One finding: what is wrong, where, and what to do about it.

    `code` is a key of `gpre.diagnostics.codes.TABLE`, which holds its severity.
    `span` is None where the finding is about the file as a whole.
    """

    code: str
    message: str
    span: Span | None = None
    label: str = ""
    help: str = ""
