"""What was found in the files of a command, before its report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import RenderableType

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.driver.counting import Counted
from gpre.driver.not_stated import unstated_findings
from gpre.mill.job_file import LoadedJob
from gpre.mill.profile import LoadedMill
from gpre.report.diagnostics import Unstated, findings_of, render_findings, summary
from gpre.report.settings import render_settings
from gpre.source.text import SourceText


@dataclass(frozen=True)
class ProgramFindings:
    """What nothing states in a program, and what else was found in it."""

    source: SourceText
    unstated: tuple[Diagnostic, ...]
    findings: tuple[Diagnostic, ...]

    @classmethod
    def of(cls, counted: Counted, unstated: Unstated = unstated_findings) -> ProgramFindings:
        """Gather them; unstated: tells what nothing states."""
        return cls(counted.program.source, unstated(counted), findings_of(counted))


def found_parts(
    programs: Sequence[ProgramFindings], *settings: LoadedMill | LoadedJob, notes: bool = True
) -> list[RenderableType]:
    """Show what was found in programs, profile and job file, and how much it is.

    notes: False leaves the notes of profile and job file out.
    """
    parts: list[RenderableType] = [render_findings(each.source, each.unstated) for each in programs]
    parts += [render_settings(each, notes=notes) for each in settings]
    parts += [render_findings(each.source, each.findings) for each in programs]
    told = [one for each in programs for one in (*each.unstated, *each.findings)]
    if told:
        parts.append(f"{summary(told)}; gpre explain CODE says more\n\n")
    return parts
