"""The bytes of a program and the way from an offset to a line and a column.

Offsets are bytes, half open, from 0. Lines and columns, from 1, exist only for people and are
made here alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

BYTE_ORDER_MARK = b"\xef\xbb\xbf"
LINE_FEED, CARRIAGE_RETURN = 10, 13
_PIECE = 1 << 18


class Place(NamedTuple):
    """Where something stands, for people: both counted from 1."""

    line: int
    column: int


@dataclass(frozen=True)
class SourceText:
    """A program's bytes with its lines found.

    A line ends with LF, CR LF or a lone CR (NISTIR 6556, 3.3). A block is a line; block `i` is
    `data[starts[i]:ends[i]]` without its line end. A byte order mark belongs to no block.

    starts, ends: (n,) int64, byte offsets.
    """

    data: bytes
    name: str
    starts: NDArray[np.int64]
    ends: NDArray[np.int64]

    @classmethod
    def of(cls, data: bytes, name: str = "-") -> SourceText:
        """Find the lines of `data`; `name` is what diagnostics call the file."""
        starts, ends = _find_lines(data)
        return cls(data, name, starts, ends)

    def __len__(self) -> int:
        """Return the number of blocks."""
        return len(self.starts)

    @cached_property
    def newline(self) -> bytes:
        """The line end that the file uses most; LF where it has none."""
        crlf = self.data.count(b"\r\n")
        lf = self.data.count(b"\n") - crlf
        cr = self.data.count(b"\r") - crlf
        if crlf >= max(lf, cr, 1):
            return b"\r\n"
        return b"\r" if cr > lf else b"\n"

    @cached_property
    def encoding(self) -> str:
        """`utf-8` where the bytes are that, else `latin-1`, which every byte is."""
        try:
            self.data.decode("utf-8")
        except UnicodeDecodeError:
            return "latin-1"
        return "utf-8"

    def block_of(self, offset: int) -> int:
        """Return the index of the block that holds the byte at `offset`."""
        if not len(self.starts):
            return 0
        return max(int(np.searchsorted(self.starts, offset, side="right")) - 1, 0)

    def block_bytes(self, block: int) -> bytes:
        """Return the bytes of one block without its line end."""
        return self.data[int(self.starts[block]) : int(self.ends[block])]

    def blocks(self) -> list[bytes]:
        """Return the bytes of all blocks, without their line ends."""
        places = zip(self.starts.tolist(), self.ends.tolist(), strict=True)
        return [self.data[start:end] for start, end in places]

    def block_end(self, block: int) -> int:
        """Return the offset just past the block's line end: where the next block starts."""
        return int(self.starts[block + 1]) if block + 1 < len(self.starts) else len(self.data)

    def place(self, offset: int) -> Place:
        """Turn a byte offset into a line and a column in characters, both from 1."""
        if not len(self.starts):
            return Place(1, 1)
        block = self.block_of(offset)
        start = int(self.starts[block])
        before = self.data[start : max(start, offset)]
        return Place(block + 1, len(before.decode(self.encoding, "replace")) + 1)

    def line_text(self, line: int) -> str:
        """Return the text of a line counted from 1, for people."""
        if not 1 <= line <= len(self.starts):
            return ""
        return self.block_bytes(line - 1).decode(self.encoding, "replace")


def _find_lines(data: bytes) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    first = len(BYTE_ORDER_MARK) if data.startswith(BYTE_ORDER_MARK) else 0
    feeds = _places(data, LINE_FEED)
    returns = _places(data, CARRIAGE_RETURN) if b"\r" in data else feeds[:0]
    ends, double = feeds, None
    if len(returns):  # the LF of a CR LF ends no line of its own
        octets = np.frombuffer(data, np.uint8)
        lone = feeds[(feeds == 0) | (octets[feeds - 1] != CARRIAGE_RETURN)]
        ends = np.sort(np.concatenate((lone, returns)), kind="stable")
        following = octets[np.minimum(ends + 1, len(data) - 1)] == LINE_FEED
        double = (octets[ends] == CARRIAGE_RETURN) & following & (ends + 1 < len(data))
    starts = np.empty(len(ends) + 1, np.int64)
    starts[0] = first
    np.add(ends, 1, out=starts[1:])
    if double is not None:
        starts[1:] += double
    if starts[-1] >= len(data):  # nothing stands behind the last line end
        starts = starts[:-1]
    else:
        ends = np.append(ends, len(data))
    return starts, ends


def _places(data: bytes, octet: int) -> NDArray[np.int64]:
    """Return the offsets of a byte; in pieces, which stay in the cache.

    They are counted first: so no memory is taken but for what is given.
    """
    octets = np.frombuffer(data, np.uint8)
    pieces = [octets[at : at + _PIECE] for at in range(0, len(data), _PIECE)]
    result = np.empty(sum(int(np.count_nonzero(piece == octet)) for piece in pieces), np.int64)
    count = 0
    for at, piece in enumerate(pieces):
        places = np.flatnonzero(piece == octet)
        np.add(places, at * _PIECE, out=result[count : count + len(places)])
        count += len(places)
    return result
