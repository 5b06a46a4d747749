"""Writes a program so that the file is either whole or as it was before."""

from __future__ import annotations

import errno
import os
import secrets
import stat
import time
from contextlib import suppress
from pathlib import Path

from gpre.diagnostics.faults import UsageFault
from gpre.source.files import STANDARD_INPUT, os_fault

FORSAKEN = 86_400.0  # s; a part that nobody has written to for so long belongs to no run
_PREFIX, _SUFFIX = ".gpre-", ".part"
_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)


def new_name(source: str) -> str:
    """Return where the program made from a file goes if nothing else is said: NAME_new beside it.

    Raise UsageFault where no such file can be: `source` is a device or a pipe.
    """
    if source == STANDARD_INPUT:
        return STANDARD_INPUT
    path = Path(source)
    with suppress(OSError, ValueError):
        if path.name and (path.is_file() or path.is_dir() or not path.exists()):
            return str(path.with_name(f"{path.stem}_new{path.suffix}"))
    raise UsageFault(
        f"no file can be written beside {source}", help="name the new program: --output OUT"
    )


def refuse_same_file(
    source: str, output: str, what: str = "the input", kind: str = "the output"
) -> None:
    """Raise UsageFault where the output is another file in use, by whatever name, links included.

    what: the other file. kind: what would be written. The original is what the new program was
    proved against, so it must stay.
    """
    if STANDARD_INPUT in (source, output):
        return
    same = False
    with suppress(OSError, ValueError):
        same = Path(source).samefile(output)
    if same or os.path.abspath(source) == os.path.abspath(output):  # noqa: PTH100
        raise UsageFault(
            f"{kind} {output} is {what}", help="each needs a file of its own: give another name"
        )


def write_program(data: bytes, output: str, so_far: str = "") -> None:
    """Write `data` to the file `output`; raise FileFault, with nothing changed, where that fails.

    so_far: what has been written all the same, for the words of the fault.

    The bytes go to a new file in the same folder, are forced to the disk, and then take the
    place of the old file in one step. The permissions of the old file are kept. A link is
    followed, so that it still points where it did. What is no plain file (a pipe, a device) is
    written to as it is.
    """
    try:
        target = Path(os.path.realpath(output))
        if target.is_symlink():  # it could not be followed to its end
            _refuse_loop()
        if target.is_dir():
            raise IsADirectoryError(errno.EISDIR, "Is a directory")
        if target.exists() and not target.is_file():
            _write_through(data, target)
        else:
            _replace(data, target)
    except OSError as error:
        raise os_fault(error, output, "write", so_far) from error


def _refuse_loop() -> None:
    raise OSError(errno.ELOOP, os.strerror(errno.ELOOP))


def _replace(data: bytes, target: Path) -> None:
    if target.exists() and not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, "Permission denied")
    # the name is known before the file is there: a signal at any time finds it to be removed
    part = target.parent / f"{_PREFIX}{secrets.token_hex(8)}{_SUFFIX}"
    try:
        with os.fdopen(os.open(part, _NEW, 0o600), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        _take_after(part, target)
        part.replace(target)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise
    _sync_folder(target.parent)
    _remove_forsaken(target.parent)


def _remove_forsaken(folder: Path) -> None:
    """Remove parts that a killed run left behind; one at work is never so old."""
    with suppress(OSError):
        for part in folder.glob(f"{_PREFIX}*{_SUFFIX}"):
            with suppress(OSError):
                if time.time() - part.stat().st_mtime > FORSAKEN:
                    part.unlink()


def _take_after(part: Path, target: Path) -> None:
    """Return the new file the permissions and owner of the old one, else those of any new file."""
    if not target.exists():
        mask = os.umask(0)
        os.umask(mask)
        part.chmod(0o666 & ~mask)
        return
    old = target.stat()
    if hasattr(os, "chown"):
        with suppress(OSError):
            os.chown(part, old.st_uid, old.st_gid)
    part.chmod(stat.S_IMODE(old.st_mode))


def _sync_folder(folder: Path) -> None:
    """Force the new name to the disk, where the system knows how."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _write_through(data: bytes, target: Path) -> None:
    with target.open("wb", buffering=0) as file:
        rest = memoryview(data)
        while rest:
            rest = rest[file.write(rest) or 0 :]
