"""`gpre prove`: does the second program make the same part as the first."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from gpre.cli.options import (
    FileName,
    certificate_option,
    job_options,
    json_option,
    mill_option,
    units_option,
)


@click.command()
@click.argument("before", metavar="A", type=FileName())
@click.argument("after", metavar="B", type=FileName())
@mill_option
@units_option
@click.option(
    "--job",
    metavar="FILE",
    type=FileName(Path),
    help="Job file (tools, stock); else NAME.job.toml beside A, or beside B.",
)
@job_options
@certificate_option
@json_option
def prove(**asked: Any) -> int:
    """Prove that program B makes the same part as program A, as safely.

    A is the program to compare with, B the other one, whoever changed it, gpre or you by hand;
    one of them may be - for standard input. Lengths of options are in the units of A.

    Nothing is taken from how B came about: both are read and run through afresh. Comments, block
    numbers and spelling may differ, which is said. Where a tool that cuts is not named the metal
    cannot be looked at, and the proof is the weaker one, of the paths alone.

    Exits with 0 where it is proved, with 4 where it is not, with 3 where a program has faults.

    Before cutting: dry run above the part with a hand on feed hold, wear eye protection, never
    leave a first run alone; climb milling can pull a loose table.
    """
    from gpre.cli.course import finish
    from gpre.cli.proving import ProveAsked, proved

    return finish(proved(ProveAsked(**asked)), as_json=asked["as_json"])
