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
    from gpre.cli.console import show, write_text
    from gpre.compare.diff import diff as compare
    from gpre.diagnostics.faults import UsageFault
    from gpre.mill.profile import find_mill
    from gpre.report.diff import diff_json, render_diff
    from gpre.report.machine import json_text
    from gpre.report.settings import render_settings
    from gpre.source.files import read_program_text

    if before == after == "-":
        raise UsageFault("only one of the two programs can be standard input")
    loaded = find_mill(mill)
    comparison = compare(read_program_text(before), read_program_text(after), loaded.mill)
    if as_json:
        write_text(json_text(diff_json(comparison)))
    else:
        show(render_settings(loaded, notes=False), talk=True)
        show(render_diff(comparison))
    return 0 if comparison.same_motion else 1
