"""`gpre predict`: what the backlash of the mill will do to the part."""

from __future__ import annotations

from typing import Any

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
def predict(**asked: Any) -> int:
    """Predict what the backlash of the mill will do to the part.

    FILE is the program; - reads standard input. Lengths of options are in the units of the program.

    Tells which cuts come out off size and by how much, where holes lie, how far circles are out
    of round, where the cutter dwells and rubs, what time is lost, which take-ups are too quick,
    what it comes to if the backlash was measured wrong, and where a climbing cutter can pull the
    table. All of it is predicted from the profile; measure the part.

    Exits with 3 where the program has faults: then only what could be followed is predicted.
    """
    from gpre.cli.course import finish
    from gpre.cli.predicting import PredictAsked, predicted

    return finish(predicted(PredictAsked(**asked)), as_json=asked["as_json"])
