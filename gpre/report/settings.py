"""What was found in the mill profile and the job file."""

from __future__ import annotations

from rich.text import Text

from gpre.diagnostics.codes import severity_of
from gpre.diagnostics.diagnostic import Severity
from gpre.mill.job_file import LoadedJob
from gpre.mill.profile import LoadedMill
from gpre.report.diagnostics import render_findings
from gpre.source.text import SourceText


def render_settings(loaded: LoadedMill | LoadedJob, *, notes: bool = True) -> Text:
    """Show the findings of a profile or job file; `notes` False leaves out what is only a note."""
    shown = [
        each for each in loaded.findings if notes or severity_of(each.code) is not Severity.NOTE
    ]
    return render_findings(SourceText.of(loaded.data, loaded.name), shown)
