"""Shows the fault that ended a command."""

from __future__ import annotations

from rich.text import Text

from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.faults import Fault, FileFault
from gpre.report.diagnostics import DO, INDENT, LABELS, in_order, render_findings, told
from gpre.source.text import SourceText


def render_fault(fault: Fault) -> Text:
    """Show a fault; where it has places within a file, show those."""
    result = Text()
    if isinstance(fault, FileFault) and fault.diagnostics:
        source = SourceText.of(fault.data, fault.name)
        result.append_text(render_findings(source, in_order(fault.diagnostics)))
        if all(each.message == fault.message for each in fault.diagnostics):
            result.right_crop(1)
            return result
    label = LABELS[Severity.ERROR]
    result.append(f"{label:<{INDENT}}", "bold red")
    result.append(told(fault.message, label)[INDENT:], "bold")
    if fault.help:
        result.append(told(fault.help, DO))
    return result
