"""`gpre predict`: what the backlash of the mill will do to the part."""

from __future__ import annotations

from pathlib import Path

import click

from gpre.cli.options import (
    FileName,
    job_option,
    job_options,
    json_option,
    mill_option,
    program_argument,
    units_option,
)


@click.command()
@program_argument
@mill_option
@units_option
@job_option
@job_options
@click.option(
    "--intended",
    metavar="FILE",
    type=FileName(),
    help="The program that FILE was made from, where FILE carries take-ups.",
)
@json_option
def predict(
    file: str,
    mill: Path | None,
    units: str | None,
    job: Path | None,
    tools: tuple[str, ...],
    stock: str | None,
    origins: tuple[str, ...],
    lengths: tuple[str, ...],
    intended: str | None,
    as_json: bool,
) -> int:
    """Predict what the backlash of the mill will do to the part.

    FILE is the program; - reads standard input. Lengths of options are in the units of the program.

    Tells which cuts come out off size and by how much, where holes lie, how far circles are out
    of round, where the cutter stands and rubs, what time is lost, which take-ups are too quick,
    what it comes to if the backlash was measured wrong, and where a climbing cutter can pull the
    table. All of it is predicted from the profile; measure the part.

    Exits with 3 where the program has errors: then only what could be followed is predicted.
    """
    from gpre.cli.console import show, write_text
    from gpre.cli.predicting import PredictingRequest, predicted
    from gpre.mill.job_file import JobOptions
    from gpre.report.count import opening_line, stops_early
    from gpre.report.diagnostics import has_errors, render_findings, summary
    from gpre.report.predict import render_predict
    from gpre.report.records.encode import json_text
    from gpre.report.records.predicting import predict_record
    from gpre.report.rewrite import cautions
    from gpre.report.settings import render_settings

    options = JobOptions(tools, stock, None, origins, lengths)
    outcome = predicted(PredictingRequest(file, mill, units, job, options, intended))
    if as_json:
        write_text(json_text(predict_record(outcome.found, outcome.mill, outcome.job)))
    else:
        counted = outcome.found.counted
        for source, findings in outcome.unstated:
            show(render_findings(source, findings), talk=True)
        show(render_settings(outcome.mill), talk=True)
        show(render_settings(outcome.job), talk=True)
        for (source, findings), (_, unstated) in zip(
            outcome.findings, outcome.unstated, strict=True
        ):
            show(render_findings(source, findings), talk=True)
            told = (*unstated, *findings)
            if told:
                show(f"{summary(told)}; gpre explain CODE says more\n\n", talk=True)
        show(opening_line(counted.program, counted.motion))
        line = stops_early(counted.program, counted.motion)
        if line is not None:
            show(f"predicted up to line {line - 1} only; what follows could not be followed")
        show(render_predict(outcome.found, outcome.mill.name))
        show(f"\n{cautions()}")
    return 3 if any(has_errors(findings) for _, findings in outcome.findings) else 0
