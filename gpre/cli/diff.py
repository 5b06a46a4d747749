"""`gpre diff`: what differs between two programs."""

from __future__ import annotations

from typing import Any

import click

from gpre.cli.options import FileName, json_option, mill_option, units_option


@click.command()
@click.argument("before", metavar="A", type=FileName())
@click.argument("after", metavar="B", type=FileName())
@mill_option
@units_option
@json_option
def diff(**asked: Any) -> int:
    """Tell what differs between two programs: blocks, reversals, paths.

    A and B are programs; one of them may be - for standard input.

    Exits with 0 where both make the same motion, with 1 where they differ.
    """
    from gpre.cli.comparing import DiffAsked, compared
    from gpre.cli.course import finish

    return finish(compared(DiffAsked(**asked)), as_json=asked["as_json"])
