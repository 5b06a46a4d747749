"""What the table of codes holds for each code; `gpre explain CODE` prints it."""

from __future__ import annotations

from dataclasses import dataclass

from gpre.diagnostics.diagnostic import Severity


@dataclass(frozen=True, slots=True)
class Entry:
    """One code: its severity and the four texts of its explanation."""

    code: str
    severity: Severity
    title: str
    what: str
    why: str
    example: str
    instead: str
