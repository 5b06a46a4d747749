"""What a code of the table means, for people."""

from __future__ import annotations

import textwrap

from rich.text import Text

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.entry import Entry
from gpre.report.diagnostics import LABELS
from gpre.report.wording import WIDTH

_IN_THE_PROOF = textwrap.fill(
    "Controllers differ here. A program that has this where the original has not is not proved.",
    WIDTH,
    initial_indent="  ",
    subsequent_indent="  ",
)


def explain(entry: Entry) -> Text:
    """Lay out the four texts of an entry, and what it means to the proof."""
    result = Text()
    result.append(f"{entry.code} ", "bold")
    result.append(f"({LABELS[entry.severity].lower()}): {entry.title}\n")
    for head, text, verbatim in (
        ("What", entry.what, False),
        ("Why", entry.why, False),
        ("Example", entry.example, True),
        ("Instead", entry.instead, False),
    ):
        result.append(f"\n{head}\n", "bold")
        if verbatim:
            result.append(textwrap.indent(text, "    ") + "\n")
        else:
            result.append(
                textwrap.fill(text, WIDTH, initial_indent="  ", subsequent_indent="  ") + "\n"
            )
    if entry.controllers_differ:
        result.append("\nProof\n", "bold")
        result.append(f"{_IN_THE_PROOF}\n")
    return result


def list_codes() -> Text:
    """List all codes with their titles."""
    result = Text()
    for code in sorted(TABLE):
        entry = TABLE[code]
        result.append(code, "bold")
        result.append(f"  {LABELS[entry.severity].lower():<7}  {entry.title}\n")
    return result
