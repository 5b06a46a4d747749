"""`gpre diff`: two programs side by side."""

from __future__ import annotations

from pathlib import Path

import click

from gpre.cli.options import FileName, json_option, mill_option, units_option


@click.command()
@click.argument("before", metavar="A", type=FileName())
@click.argument("after", metavar="B", type=FileName())
@mill_option
@units_option
@json_option
def diff(before: str, after: str, mill: Path | None, units: str | None, as_json: bool) -> int:
    """Show two programs side by side: changed blocks, reversals, paths.

    A and B are programs; one of them may be - for standard input.

    Exits with 0 where both make the same motion, with 1 where they differ.
    """
    from gpre.cli.console import show, write_text
    from gpre.diagnostics.faults import UsageFault
    from gpre.driver.course import Given, compare_run
    from gpre.driver.not_stated import unstated_findings
    from gpre.report.diagnostics import render_findings
    from gpre.report.diff import render_diff
    from gpre.report.records.comparing import diff_record
    from gpre.report.records.encode import json_text
    from gpre.report.settings import render_settings
    from gpre.source.files import read_program_text

    if before == after == "-":
        raise UsageFault("only one of the two programs can be standard input")
    given = Given.find(mill, units)
    comparison, sides, given = compare_run(
        read_program_text(before), read_program_text(after), given
    )
    unstated = [(each, unstated_findings(each)) for each in sides]
    if as_json:
        write_text(json_text(diff_record(comparison, *sides)))
    else:
        for side, findings in unstated:
            show(render_findings(side.program.source, findings), talk=True)
        show(render_settings(given.mill, notes=False), talk=True)
        show(render_diff(comparison))
    return 0 if comparison.same_motion else 1
