"""Reads files, and turns what the system says about a file into a fault with advice.

This is the one place where an OSError gets its words.
"""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.diagnostics.faults import FileFault
from gpre.source.bounded import MOST_STREAMED, TooLongError, read_bounded
from gpre.source.text import BYTE_ORDER_MARK, SourceText

STANDARD_INPUT = "-"
TOO_LARGE = "the program does not fit into the memory"
CUT_UP = "close other programs, or cut the program up at its tool changes"

_CODES = {
    errno.ENOENT: "FIL001",
    errno.ENOTDIR: "FIL001",
    errno.EISDIR: "FIL002",
    errno.EACCES: "FIL003",
    errno.EPERM: "FIL003",
    errno.EROFS: "FIL003",
    errno.ENOSPC: "FIL004",
    errno.EDQUOT: "FIL004",
    errno.EBADF: "FIL010",
}
_WORDS = {
    "FIL001": ("there is no such file", "check the spelling, the suffix and the folder"),
    "FIL002": ("this is a folder", "name one file"),
    "FIL003": ("the system does not allow it", "change the permissions or use another folder"),
    "FIL004": ("the disk is full", "make room or use another disk"),
    "FIL010": ("it is closed", "run gpre with it open; what nobody wants goes to the null device"),
}


def os_fault(error: OSError, name: str, doing: str, so_far: str = "") -> FileFault:
    """Make a fault of what the system says.

    doing: `read` or `write`. so_far: what has been done all the same, if anything.
    """
    code = _CODES.get(error.errno or 0, "FIL005")
    said = (error.strerror or type(error).__name__).lower()
    words, advice = _WORDS.get(code, (said, ""))
    if code == "FIL001" and doing == "write":
        words, advice = "there is no such folder", "make the folder first, or check its spelling"
    message = f"cannot {doing} {shown_name(name)}: {words}{'; ' if so_far else ''}{so_far}"
    return file_fault(code, message, name=name, help=advice)


def closed_fault(name: str, doing: str, so_far: str = "") -> FileFault:
    """Make a fault of a standard stream that was closed before gpre started."""
    return os_fault(OSError(errno.EBADF, os.strerror(errno.EBADF)), name, doing, so_far)


def file_fault(
    code: str,
    message: str,
    *,
    name: str,
    help: str = "",  # noqa: A002
    data: bytes = b"",
    span: Span | None = None,
) -> FileFault:
    """Make a fault about a file as a whole, or about one place of its `data`."""
    finding = Diagnostic(code, message, span, help=help)
    return FileFault(message, name=shown_name(name), data=data, diagnostics=(finding,))


def too_large_fault() -> FileFault:
    """Make a fault of a program that does not fit into the memory."""
    return file_fault("FIL008", TOO_LARGE, name="", help=CUT_UP)


def too_dense_fault() -> FileFault:
    """Make a fault of a program that has too much of one thing in one place."""
    message = "too many moves of the program lie over one another to look at all of them"
    return file_fault("FIL009", message, name="", help="give it in parts, a tool at a time")


def shown_name(name: str) -> str:
    """Return the name of a file as people see it."""
    return "standard input" if name == STANDARD_INPUT else name


def read_bytes(name: str, most: int | None = None) -> bytes:
    """Read a file, or standard input for `-`; raise FileFault where that cannot be.

    most: bytes, where there is less patience than the memory bears.
    """
    if not name:
        message = "the name of a file to read is empty"
        raise file_fault("FIL011", message, name="", help="name the file")
    try:
        if name == STANDARD_INPUT:
            if sys.stdin is None:
                raise closed_fault(name, "read")
            return read_bounded(sys.stdin.buffer, most)
        path = Path(name)
        if path.is_dir():  # some systems answer "permission denied" here
            raise IsADirectoryError(errno.EISDIR, "Is a directory")
        with path.open("rb") as file:
            return read_bounded(file, most)
    except OSError as error:
        raise os_fault(error, name, "read") from error
    except ValueError as error:  # a NUL byte in the name
        raise file_fault("FIL005", f"cannot read {name!r}: {error}", name=name) from error
    except TooLongError as error:
        raise _too_long(error, name) from error
    except MemoryError as error:
        message = f"cannot read {shown_name(name)}: not enough memory"
        raise file_fault("FIL008", message, name=name, help=CUT_UP) from error


def _too_long(error: TooLongError, name: str) -> FileFault:
    if error.memory:
        message = (
            f"cannot read {shown_name(name)}: not enough memory for more than {error.most:,} bytes"
        )
        return file_fault("FIL008", message, name=name, help=CUT_UP)
    message = f"{shown_name(name)} goes on after {error.most:,} bytes"
    if error.most != MOST_STREAMED:
        message = f"{shown_name(name)} is longer than {error.most:,} bytes, as no such file is"
        return file_fault("FIL012", message, name=name, help="see whether it is the file you mean")
    advice = "save the program as a file first, if it has an end, and name that"
    return file_fault("FIL012", message, name=name, help=advice)


def read_program_text(name: str) -> SourceText:
    """Read a part program; raise FileFault where the file is no text or holds nothing."""
    return program_text(read_bytes(name), shown_name(name))


def program_text(data: bytes, name: str) -> SourceText:
    """Return the bytes of a part program with its lines; raise FileFault as above."""
    if not data.removeprefix(BYTE_ORDER_MARK):
        message = f"{name} is empty"
        raise file_fault("FIL006", message, name=name, help="send or post the program again")
    at = data.find(0)
    if at >= 0:
        raise _no_text(data, at, name)
    return SourceText.of(data, name)


def _no_text(data: bytes, at: int, shown: str) -> FileFault:
    head = data[:128]
    if head[:2] in (b"\xff\xfe", b"\xfe\xff") or 0.4 < head.count(0) / len(head) < 0.6:
        advice = "it looks like UTF-16, two bytes a character: save it as plain text (UTF-8)"
    else:
        advice = "a part program is plain text; name the program itself"
    message = f"{shown} is no text: a byte of it is zero"
    span = Span(at, at + 1)
    return file_fault("FIL007", message, name=shown, help=advice, data=data, span=span)
