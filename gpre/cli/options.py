"""Options that several commands share."""

from __future__ import annotations

from pathlib import Path

import click

program_argument = click.argument("file", metavar="FILE")
mill_option = click.option(
    "--mill",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Mill profile; else your own at the default place, else a guess.",
)
units_option = click.option(
    "--units",
    type=click.Choice(["mm", "inch"]),
    help="Units in force before the first G20 or G21 of the program.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON.")
certificate_option = click.option(
    "--certificate",
    metavar="FILE",
    help="Write a certificate of the proof to FILE (JSON where it ends with .json).",
)
