"""Shows the fault that ended a command."""

from __future__ import annotations

import textwrap

from rich.text import Text

from gpre.diagnostics.faults import Fault, FileFault
from gpre.report.diagnostics import in_order, render_findings
from gpre.report.wording import WIDTH, visible
from gpre.source.text import SourceText


def _filled(text: str) -> str:
    return textwrap.fill(
        text, WIDTH, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False
    )


def render_fault(fault: Fault) -> Text:
    """Show a fault; where it has places within a file, show those."""
    result = Text()
    if isinstance(fault, FileFault) and fault.diagnostics:
        source = SourceText.of(fault.data, fault.name)
        result.append_text(render_findings(source, in_order(fault.diagnostics)))
        if all(each.message == fault.message for each in fault.diagnostics):
            result.right_crop(1)
            return result
    result.append("error", "bold red")
    result.append(f": {visible(fault.message)}\n", "bold")
    if fault.help:
        result.append(f"{_filled(f'  = help: {visible(fault.help)}')}\n")
    return result
