"""`gpre count`: how often each axis turns round, and where."""

from __future__ import annotations

from typing import Any

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
def count(**asked: Any) -> int:
    """Count the reversals of a program, axis by axis.

    FILE is the program; - reads standard input.

    A reversal is a place where an axis starts to travel against its last direction. It counts
    as cutting where the axis travels in the new direction at feed.

    Exits with 3 where the program has faults: then only what could be followed is counted.
    """
    from gpre.cli.counting import CountAsked, counted
    from gpre.cli.course import finish

    return finish(counted(CountAsked(**asked)), as_json=asked["as_json"])
