"""`gpre diff`: two programs side by side."""

from __future__ import annotations

from pathlib import Path

import click

from gpre.cli.options import json_option, mill_option


@click.command()
@click.argument("before", metavar="A")
@click.argument("after", metavar="B")
@mill_option
@json_option
def diff(before: str, after: str, mill: Path | None, as_json: bool) -> int:
    """Show two programs side by side: changed blocks, reversals, paths.

    A and B are programs; one of them may be - for standard input.

    Exits with 0 where both make the same motion, with 1 where they differ.
    """
    from gpre.diagnostics.faults import UsageFault

    if before == after == "-":
        raise UsageFault("only one of the two programs can be standard input")
    raise UsageFault("not there yet")
