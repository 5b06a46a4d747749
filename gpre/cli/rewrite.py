"""`gpre rewrite`: the same part with fewer reversals while cutting."""

from __future__ import annotations

from typing import Any

import click

from gpre.cli.options import (
    FileName,
    NumberOf,
    certificate_option,
    job_option,
    job_options,
    json_option,
    mill_option,
    program_argument,
    units_option,
)


@click.command()
@program_argument
@click.option(
    "-o",
    "--output",
    metavar="OUT",
    type=FileName(),
    help="Write the new program to OUT, - for standard output; else to NAME_new beside FILE.",
)
@click.option("--force", is_flag=True, help="Write over OUT even if gpre did not write it.")
@click.option(
    "--plan",
    "plan_only",
    is_flag=True,
    help="Print what would be done, cut by cut too; write nothing.",
)
@mill_option
@units_option
@job_option
@job_options
@click.option(
    "--cut",
    type=click.Choice(["climb", "conventional", "as-is"]),
    help="How passes are to be cut.",
)
@click.option(
    "--tolerance", metavar="MM", type=NumberOf(), help="How far a path may leave the intended one."
)
@click.option("--only", metavar="NAMES", help="Run these rewrites alone (names with commas).")
@click.option("--skip", metavar="NAMES", help="Leave these rewrites out.")
@click.option("--full", is_flag=True, help="List the proof, figure by figure.")
@click.option("--no-comments", is_flag=True, help="New blocks carry no comment.")
@certificate_option
@json_option
def rewrite(**asked: Any) -> int:
    """Rewrite a program so that fewer reversals happen while cutting.

    FILE is the program; - reads standard input. Lengths of options are in the units of the program.

    Without --output the new program goes to a file beside FILE, plate_new.ngc for plate.ngc, and
    that of standard input to standard output. FILE is never written over, and no other file that
    gpre did not write unless --force is given: gpre knows its own programs by the comments of new
    blocks, by the same bytes as it would write now, or by a certificate beside them.

    The new program is proved against the old one, from the two texts alone; where the proof fails
    nothing is written and the exit status is 4. What cannot be done safely is skipped, with the
    reason.

    Before cutting: dry run above the part with a hand on feed hold, wear eye protection, never
    leave a first run alone; climb milling can pull a loose table.
    """
    from gpre.cli.course import finish
    from gpre.cli.rewriting import RewriteAsked, rewritten

    return finish(rewritten(RewriteAsked(**asked)), as_json=asked["as_json"])
