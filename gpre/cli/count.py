"""`gpre count`: how often each axis turns round, and where."""

from __future__ import annotations

from pathlib import Path

import click

from gpre.cli.options import NumberOf, json_option, mill_option, program_argument, units_option


@click.command()
@program_argument
@click.option("--list", "listed", is_flag=True, help="List each reversal with its line.")
@click.option(
    "--limit",
    metavar="N",
    type=NumberOf(whole=True),
    help="Exit with 1 where more than N reversals happen while cutting.",
)
@mill_option
@units_option
@json_option
def count(
    file: str, listed: bool, limit: int | None, mill: Path | None, units: str | None, as_json: bool
) -> int:
    """Count the reversals of a program, axis by axis.

    FILE is the program; - reads standard input.

    A reversal is a place where an axis starts to travel against its last direction. It lies in
    the cut where the move that turns the axis is a move at feed.

    Exits with 3 where the program has errors: then only what could be followed is counted.
    """
    from gpre.cli.console import show, write_text
    from gpre.driver.course import Given, count_run
    from gpre.driver.not_stated import unstated_findings
    from gpre.report.count import (
        count_axes,
        count_table,
        list_lines,
        opening_line,
        stops_early,
    )
    from gpre.report.diagnostics import findings_of, has_errors, render_findings, summary
    from gpre.report.records.counting import count_record
    from gpre.report.records.encode import json_text
    from gpre.report.settings import render_settings
    from gpre.source.files import read_program_text

    given = Given.find(mill, units)
    found, given = count_run(read_program_text(file), given)
    loaded = given.mill
    unstated = unstated_findings(found)
    source, reversals = found.program.source, found.reversals
    others = findings_of(found)
    findings = (*unstated, *others)
    exceeded = limit is not None and found.in_cut > limit
    if as_json:
        write_text(json_text(count_record(found, loaded, limit=limit, listed=listed)))
    else:
        show(render_findings(source, unstated), talk=True)
        show(render_settings(loaded, notes=False), talk=True)
        show(render_findings(source, others), talk=True)
        if findings:
            show(f"{summary(findings)}; gpre explain CODE says more\n\n", talk=True)
        show(opening_line(found.program, found.motion))
        line = stops_early(found.program, found.motion)
        if line is not None:
            show(f"counted up to line {line - 1} only; what follows could not be followed")
        write_text("\n")
        show(count_table(count_axes(reversals)))
        if listed:
            write_text("\n")
            for text in list_lines(found.motion, reversals):
                write_text(text + "\n")
    if exceeded and not as_json:
        show(
            f"limit exceeded: {found.in_cut:,} reversals while cutting, limit {limit:,}", talk=True
        )
    if has_errors(findings):
        return 3
    return 1 if exceeded else 0
