"""`gpre job`: a job file to begin with."""

from __future__ import annotations

from typing import Any

import click

from gpre.cli.options import FileName, json_option, mill_option, program_argument, units_option


@click.command()
@program_argument
@click.option(
    "-o",
    "--output",
    metavar="OUT",
    type=FileName(),
    help="Write the job file to OUT, - for standard output; else NAME.job.toml beside FILE.",
)
@mill_option
@units_option
@json_option
def job(**asked: Any) -> int:
    """Propose a job file: the tools of a program, and where it cuts.

    FILE is the program; - reads standard input, and the job file goes to standard output.

    Tools are read from the program's own comments. Stock, ramp angles and tools that no comment
    tells are written behind a #, as a guess about metal breaks cutters: measure them, and take the
    # away. A file that is there already is never written over.
    """
    from gpre.cli.course import finish
    from gpre.cli.proposing import JobAsked, proposed

    return finish(proposed(JobAsked(**asked)), as_json=asked["as_json"])
