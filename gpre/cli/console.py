"""The two streams of a command: standard output has the product, standard error the talk."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import suppress

import click
from rich.console import Console, RenderableType

from gpre.cli.streams import drop_stream
from gpre.report.fault import render_fault
from gpre.report.wording import WIDTH
from gpre.source.files import os_fault


def show(what: RenderableType, *, talk: bool = False) -> None:
    """Print to standard output, or to standard error where it is talk."""
    write_text(rendered(what, talk=talk), talk=talk)


def rendered(what: RenderableType, *, talk: bool = False) -> str:
    """Lay something out for the stream that it is going to; no line is broken.

    What is a text already stays as it is. An empty one stays empty; any other one ends with a line
    end.
    """
    if isinstance(what, str) and what.endswith("\n"):
        return what
    stream = sys.stderr if talk else sys.stdout
    console = Console(file=stream, highlight=False, markup=False, emoji=False)
    console.width = max(console.width, WIDTH)
    with console.capture() as capture:
        console.print(what, soft_wrap=True, end="")
    text = capture.get()
    return text if text.endswith("\n") or not text else text + "\n"


def write_text(text: str, *, talk: bool = False) -> None:
    """Write text as it is."""
    stream = sys.stderr if talk else sys.stdout
    stream.write(text)


def deliver(text: str, written: Sequence[str], *, talk: bool = False) -> None:
    """Write text at the end of a command that has written files; say so where the text is lost.

    written: the names of the files. Where the stream cannot be written that is told on the other
    one, and click's Exit is raised with the status.
    """
    stream = sys.stderr if talk else sys.stdout
    said = f"{' and '.join(written)} {'was' if len(written) == 1 else 'were'} written before that"
    try:
        stream.writelines(text.splitlines(keepends=True))  # a pipe that closes ends it at once
        stream.flush()
    except (BrokenPipeError, KeyboardInterrupt):
        if written and not talk:
            sys.stderr.write(f"the report was not read to its end; {said}\n")
            sys.stderr.flush()
        raise
    except OSError as error:
        name = "standard error" if talk else "standard output"
        fault = os_fault(error, name, "write", said if written else "")
        drop_stream(stream)
        with suppress(OSError):
            show(render_fault(fault), talk=True)
        raise click.exceptions.Exit(fault.exit_status) from error


def write_bytes(data: bytes) -> None:
    """Write bytes to standard output, exactly."""
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()
