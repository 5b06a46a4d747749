"""The two streams of a command: standard output has the product, standard error the talk."""

from __future__ import annotations

import io
import sys

from rich.console import Console, RenderableType

from gpre.report.wording import WIDTH


def prepare_streams() -> None:
    """See to it that no character of a user's file can stop a stream, whatever its encoding."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def show(what: RenderableType, *, talk: bool = False) -> None:
    """Print to standard output, or to standard error where it is talk."""
    write_text(rendered(what, talk=talk), talk=talk)


def rendered(what: RenderableType, *, talk: bool = False) -> str:
    """Lay something out for the stream that it is going to; no line is broken.

    An empty text stays empty; any other one ends with a line end.
    """
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


def write_bytes(data: bytes) -> None:
    """Write bytes to standard output, exactly."""
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()
