"""Options and kinds of values that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])

if TYPE_CHECKING:
    _Kind = click.ParamType[object]
else:  # older releases of click have no parameters there
    _Kind = click.ParamType


class FileName(_Kind):
    """The name of a file, which is never empty; as a text, or as a Path."""

    name = "file"

    def __init__(self, kind: type[str | Path] = str) -> None:
        """Keep what the name is turned into."""
        self.kind = kind

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> str | Path:
        """Refuse an empty name."""
        name = str(value)
        if not name.strip():
            self.fail("the name of a file is empty", param, ctx)
        return self.kind(name)


class NumberOf(_Kind):
    """A number in plain digits; `whole` has none below zero and none behind the point."""

    name = "number"

    def __init__(self, *, whole: bool = False) -> None:
        """Keep which numbers are taken."""
        self.whole = whole

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> int | float:
        """Read the text of the option."""
        if not isinstance(value, str):
            assert isinstance(value, int | float)
            return value
        from gpre.source.decimals import read_option

        if self.whole:
            if not (value.isascii() and value.isdigit() and len(value) <= 15):
                self.fail(f"{value!r} is no whole number from 0 on", param, ctx)
            return int(value)
        found = read_option(value)
        if found is None:
            self.fail(f"{value!r} is no number", param, ctx)
        return found


class RenamedOption(click.Option):
    """An option whose old name is still taken, and shown in no help; the new one comes first."""

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        """Return the help with the new name alone."""
        shown = copy(self)
        shown.opts = self.opts[:1]
        return super(RenamedOption, shown).get_help_record(ctx)


program_argument = click.argument("file", metavar="FILE", type=FileName())
mill_option = click.option(
    "--mill",
    metavar="FILE",
    type=FileName(Path),
    help="Mill profile; else your own at the default place, else a guess.",
)
units_option = click.option(
    "--units",
    type=click.Choice(["mm", "inch"]),
    help="Units in force before the first G20 or G21 of the program.",
)
job_option = click.option(
    "--job",
    metavar="FILE",
    type=FileName(Path),
    help="Job file (tools, stock); else NAME.job.toml beside the program.",
)
_json = click.option("--json", "as_json", is_flag=True, help="Print JSON.")


def _print_schema(ctx: click.Context, _option: click.Parameter, asked: bool) -> None:
    if asked:
        from gpre.cli.console import write_text
        from gpre.report.records.encode import json_text
        from gpre.report.records.outputs import command_schema

        write_text(json_text(command_schema(ctx.info_name or "")))
        ctx.exit()


_schema = click.option(
    "--json-schema",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_schema,
    help="Print the JSON Schema of what --json prints, and exit.",
)


def json_option(command: Command) -> Command:
    """Return a command with --json, and --json-schema that says what that prints."""
    return _json(_schema(command))


certificate_option = click.option(
    "--certificate",
    metavar="FILE",
    type=FileName(),
    help="Write a certificate of the proof to FILE (JSON where it ends with .json).",
)
_tool = click.option(
    "--tool", "tools", metavar="N=DIAMETER", multiple=True, help="A tool of the program."
)
_ramp = click.option(
    "--ramp",
    "ramps",
    metavar="N=DEGREES",
    multiple=True,
    help="How steeply tool N may go down, on a ramp or a helix.",
)
_stock = click.option("--stock", metavar="XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX", help="The stock, a box.")
_origins = click.option(
    "--work-offset",
    "--origins",
    "origins",
    cls=RenamedOption,
    metavar="G55=X,Y,Z",
    multiple=True,
    help="The zero of a work offset, in machine coordinates.",
)
_lengths = click.option(
    "--tool-length",
    "--lengths",
    "lengths",
    cls=RenamedOption,
    metavar="H3=LENGTH",
    multiple=True,
    help="The length of a tool that G43 uses.",
)


def job_options(command: Command) -> Command:
    """Return a command with the options that stand over a job file; --cut is of rewrite alone."""
    for option in (_lengths, _origins, _stock, _ramp, _tool):  # the last one is shown first
        command = option(command)
    return command
