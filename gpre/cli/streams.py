"""The three standard streams of the process, which whoever started it may have closed.

A stream that is closed is None in `sys`. Without standard output a command does nothing: there is
nowhere to give the result. Without standard error the talk goes to standard output where that has
text for people, and nowhere where it has JSON or the program.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import TextIO

try:
    import fcntl
except ImportError:  # on Windows
    fcntl = None  # type: ignore[assignment]

_FLAGS = frozenset(("--json", "--plan", "--no-comments", "--force", "--list", "--"))


def prepare_streams() -> None:
    """See to it that no character of a user's file can stop a stream, whatever its encoding.

    A stream that is open the wrong way counts as closed: so it is where a shell that runs a script
    put that script into the place of a closed one. The numbers of closed streams are taken: else
    the next file to be opened would get one, and what some library prints would go into that file.
    """
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        stream = getattr(sys, name)
        if stream is not None and _wrong_way(number, stream):
            setattr(sys, name, None)
            os.dup2(os.open(os.devnull, os.O_RDWR), number)
        elif stream is None:
            _take(number)
        elif number and isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _wrong_way(number: int, stream: TextIO) -> bool:
    """Return whether standard input can only be written, or one of the others only be read."""
    if sys.platform == "win32" or fcntl is None:
        return False
    with suppress(OSError, ValueError):
        if stream.fileno() == number:
            way = fcntl.fcntl(number, fcntl.F_GETFL) & os.O_ACCMODE
            return way == (os.O_RDONLY if number else os.O_WRONLY)
    return False


def _take(number: int) -> None:
    try:
        os.fstat(number)
    except OSError:  # the lowest free number is given, and the lower ones are taken by now
        os.open(os.devnull, os.O_RDWR)


def replace_closed_error(arguments: Sequence[str]) -> None:
    """Where standard error is closed, let what goes there go to standard output, or nowhere."""
    if sys.stderr is None:
        kept = "--json" in arguments or program_goes_to_output(arguments)
        sys.stderr = _Nowhere() if kept else sys.stdout


class _Nowhere(io.TextIOBase):
    """Takes text, and it is gone."""

    encoding = "utf-8"

    def write(self, text: str) -> int:
        return len(text)


def drop_stream(stream: TextIO | None) -> None:
    """Send what a stream still holds nowhere, where it cannot go its way any more."""
    if stream is None:
        return
    with suppress(OSError, ValueError):
        stream.flush()
    with suppress(OSError, ValueError):
        number = stream.fileno()
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, number)
        os.close(nowhere)


def program_goes_to_output(arguments: Sequence[str]) -> bool:
    """Return whether standard output is kept for the rewritten program.

    So it is with `--output -`, and with `-` as FILE where no output is named. This must be known
    before the arguments are understood, since wrong ones are told too.
    """
    output, from_input = None, False
    before = "--"
    for each in arguments:
        if before in {"--output", "-o"}:
            output = each
        elif each.startswith("--output="):
            output = each.removeprefix("--output=")
        elif each.startswith("-o") and len(each) > 2:
            output = each[2:]
        elif each == "-":
            from_input = from_input or not before.startswith("-") or before in _FLAGS
        before = each
    if output is None:
        return from_input and "rewrite" in arguments and "--plan" not in arguments
    return output == "-"
