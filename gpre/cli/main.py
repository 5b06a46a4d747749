"""The command `gpre`. A command's module is imported when the command is asked for, not before."""

from __future__ import annotations

import signal
import sys
import warnings
from importlib import import_module
from typing import NoReturn

import click

from gpre import __version__
from gpre.cli.bridge import run

_COMMANDS = ("count", "predict", "rewrite", "prove", "diff", "job", "explain")
_PAGE = 80  # columns of the help pages


class _LazyGroup(click.Group):
    """Commands by name, each in the module of its name."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in _COMMANDS:
            return None
        command = getattr(import_module(f"gpre.cli.{cmd_name}"), cmd_name)
        assert isinstance(command, click.Command)
        return command


@click.group(
    cls=_LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": _PAGE},
)
@click.version_option(__version__, prog_name="gpre", message="%(prog)s %(version)s")
def gpre() -> None:
    """Run an RS-274 program through before it goes to a mill with backlash (lost motion).

    Counts the reversals of the axes, predicts what the backlash does to the part, rewrites the
    program so that fewer reversals happen while cutting, proves that the part stays the same, and
    tells what differs between two programs.

    Exit status: 0 done; 1 a limit exceeded, or a difference; 2 wrong usage; 3 a fault in an
    input file; 4 not proved (rewrite then writes nothing); 70 a fault of gpre itself.

    Before cutting: dry run above the part with a hand on feed hold, wear eye protection, and
    never leave a first run alone.
    """


def _interrupt(_number: int, _frame: object) -> NoReturn:
    raise KeyboardInterrupt


def main() -> NoReturn:
    """Run `gpre` with the arguments of the process and exit."""
    from gpre.cli.streams import prepare_streams

    prepare_streams()
    for name in ("SIGTERM", "SIGHUP"):  # so that a half-written file is taken away then too
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _interrupt)
    warnings.simplefilter("ignore")
    sys.exit(run(gpre, sys.argv[1:]))


if __name__ == "__main__":
    main()
