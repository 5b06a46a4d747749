"""Keeps gpre from writing over a file that it did not write.

A program of gpre's own says so itself only where a rewrite wrote new blocks with comments, or put
the backlash into the coordinates. Else a certificate that lies beside it tells, by the SHA-256 of
its bytes. What cannot be known so is somebody else's work until `--force` says otherwise.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from contextlib import suppress
from pathlib import Path

from gpre.diagnostics.faults import FileFault, UsageFault
from gpre.source.files import STANDARD_INPUT, read_bytes

MOST_BESIDE = 50  # files whose names begin like the program's that are looked into
LARGEST_CERTIFICATE = 1_000_000  # bytes
SUFFIXES = (".txt", ".json")
# the comments of new blocks; a lift has one that anybody may write, so that alone is none
_COMMENTS = re.compile(
    rb"""[(;][ \t]*(?:
      gpre[ ]take-up:.*
    | take[ ]up[ ](?:backlash|backlash)
    | take[ ]up[ ][XYZ]{1,3}(?:,[ ]tool[ ]stands)?
    | take-up[ ]undone
    | approach[ ](?:[XYZ][+-][ ]?){1,3}
    | start[ ]moved
    | back[ ]to[ ]the[ ]old[ ]start
    | (?:lift[ ]over|corner[ ]loop)
    | (?:turned[ ]round|direction[ ]reversed)
    | [0-9.]+[ ]turns?[ ]fewer
    )[ \t]*(?:\)|[\r\n]|\Z)""",
    re.IGNORECASE | re.VERBOSE,
)
_TEXT_HEAD = b"CERTIFICATE: "
_TEXT_AFTER = re.compile(rb"^  after .*?^    sha256  ([0-9a-f]{64})\r?$", re.DOTALL | re.MULTILINE)


def refuse_foreign_program(
    output: str, data: bytes, original: bytes, certificate: str | None
) -> None:
    """Raise UsageFault where `data` would go over a program that is not known as gpre's own.

    output: the name of the file; what is no plain file, is not there or is empty may be written to.
    original: the program that `data` was made from; where nothing was rewritten a copy of it lies
    there, and nothing is lost with that. certificate: the name of one that may lie elsewhere than
    beside the program.
    """
    old = _content(output)
    if (
        not old
        or old in (data, original)
        or _COMMENTS.search(old)
        or _certified(output, old, certificate)
    ):
        return
    raise UsageFault(
        f"{output} is there already, and nothing shows that gpre wrote it",
        help="name another output, or add --force to write over it. gpre knows its own programs "
        "by the comments of new blocks, by the bytes that it would write now, or by a certificate "
        "beside them",
    )


def refuse_foreign_certificate(name: str, advice: str) -> None:
    """Raise UsageFault where a certificate would go over a file that is none; see above.

    advice: what to do about it.
    """
    old = _content(name)
    if old and not _is_certificate(old):
        raise UsageFault(f"{name} is there already, and is no certificate", help=advice)


def _content(name: str) -> bytes:
    """Return the bytes of a plain file; none for anything else, and where no file is."""
    if name == STANDARD_INPUT:
        return b""
    place = os.path.realpath(name)
    return read_bytes(place) if os.path.isfile(place) else b""  # noqa: PTH113


def _certified(output: str, old: bytes, certificate: str | None) -> bool:
    """Return whether a certificate names these bytes as the program after."""
    digest = hashlib.sha256(old).hexdigest()
    named = [] if certificate is None else [Path(certificate)]
    return any(_program_after(place) == digest for place in (*named, *_beside(Path(output))))


def _beside(output: Path) -> list[Path]:
    """Return files that may be certificates of a program: plate_new.ngc has plate_new*.txt."""
    names: list[Path] = []
    with suppress(OSError):
        names = sorted(output.parent.iterdir())
    found = [each for each in names if each.name.startswith(output.stem)]
    return [each for each in found if each.suffix.lower() in SUFFIXES][:MOST_BESIDE]


def _program_after(place: Path) -> str:
    """Return the SHA-256 of the program that a certificate was written for; "" where it is none."""
    data = b""
    with suppress(OSError, FileFault):
        if place.is_file():
            data = read_bytes(str(place), LARGEST_CERTIFICATE)
    if not _is_certificate(data):
        return ""
    if data.startswith(_TEXT_HEAD):
        found = _TEXT_AFTER.search(data)
        return found.group(1).decode() if found else ""
    with suppress(ValueError, KeyError, TypeError, RecursionError):
        return str(json.loads(data)["after"]["sha256"])
    return ""


def _is_certificate(data: bytes) -> bool:
    if data.startswith(_TEXT_HEAD):
        return True
    return re.match(rb'\s*\{\s*"certificate"\s*:', data) is not None
