"""Reads no more than can be held: what has no end must come to one before the memory does."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

MOST_STREAMED = 500_000_000  # bytes of what is no plain file: a pipe, a device, standard input
PER_BYTE = 3  # bytes of memory that every command takes for each byte of a program, at the least
_PIECE = 1 << 20
_MEMORY, _AVAILABLE = Path("/proc/meminfo"), b"MemAvailable:"
_LIMITS = (Path("/sys/fs/cgroup/memory.max"), Path("/sys/fs/cgroup/memory/memory.limit_in_bytes"))


class TooLongError(Exception):
    """There is more to read than may be. most: bytes; memory: it is the memory that sets them."""

    def __init__(self, most: int, *, memory: bool) -> None:
        """Keep the bound and where it comes from."""
        super().__init__(f"more than {most} bytes")
        self.most = most
        self.memory = memory


def read_bounded(file: BinaryIO, most: int | None = None) -> bytes:
    """Read an open file to its end; raise TooLongError where that lies too far off.

    A plain file may be as large as the memory bears, anything else has MOST_STREAMED bytes at the
    most; `most`, in bytes, lowers both. Reading stops behind the first piece with a zero byte in
    it: no text has one, and devices that never end give little else.
    """
    size = _size(file)
    bears = memory_bears()
    allowed = MOST_STREAMED if size is None else None
    bounds = [bound for bound in (most, allowed, bears) if bound is not None]
    bound = min(bounds, default=None)
    by_memory = bound is not None and bound == bears
    if bound is not None and size is not None and size > bound:
        raise TooLongError(bound, memory=by_memory)
    if size:
        data = file.read(size)
        rest = file.read(_PIECE) if len(data) == size else b""  # it may have grown
        if not rest:
            return data
    else:
        data, rest = b"", file.read(_PIECE)
    gathered = BytesIO()
    gathered.write(data)
    while rest:
        gathered.write(rest)
        if bound is not None and gathered.tell() > bound:
            raise TooLongError(bound, memory=by_memory)
        rest = b"" if 0 in rest else file.read(_PIECE)
    return gathered.getvalue()


def _size(file: BinaryIO) -> int | None:
    """Return the size of a plain file, bytes; None for anything else."""
    try:
        found = os.fstat(file.fileno())
    except OSError:  # it lives in memory alone
        return None
    return found.st_size if stat.S_ISREG(found.st_mode) else None


def memory_bears() -> int | None:
    """Return how long a program can be at the most, bytes; None where the system does not say."""
    found = []
    with suppress(OSError, ValueError, IndexError):
        lines = _MEMORY.read_bytes().splitlines()
        line = next(line for line in lines if line.startswith(_AVAILABLE))
        found.append(int(line.split()[1]) * 1024)
    for place in _LIMITS:
        with suppress(OSError, ValueError):  # `max` is no number
            found.append(int(place.read_bytes()))
    return min(found) // PER_BYTE if found else None
