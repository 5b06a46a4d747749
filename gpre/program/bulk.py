"""The bulk scanner: plain blocks read with numpy over the bytes, a chunk of blocks at a time.

A chunk is copied into a buffer, comments are blanked there, each byte is classed by comparisons,
and pairs of neighbours tell whether every letter has one number right behind it. A block with
anything else in it is declined: it is blanked in the buffer and left to the one-line scanner.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from gpre.program.numbers import PAD, read_numbers
from gpre.program.words import BlockFlag, Words
from gpre.source.text import SourceText

CHUNK = 1 << 18  # bytes; small enough for the arrays of one chunk to stay in the cache
LONGEST = 4096  # bytes; longer lines go to the one-line scanner

_COMMENT = re.compile(rb"\([^()\r\n]*\)|;[^\r\n]*")
_SPACE = 32
_DELETE, _COMMENTED, _PERCENT, _NUMBERED = (
    np.uint16(flag)
    for flag in (BlockFlag.DELETE, BlockFlag.COMMENT, BlockFlag.PERCENT, BlockFlag.NUMBERED)
)


class Columns:
    """Columns of words that grow."""

    def __init__(self, room: int) -> None:
        self.count = 0
        self.letter = np.empty(room, np.uint8)
        self.value = np.empty(room, np.float64)
        self.start = np.empty(room, np.int64)
        self.end = np.empty(room, np.int64)
        self.block = np.empty(room, np.int32)

    def reserve(self, more: int) -> slice:
        """Make room for more rows and give their place."""
        first, last = self.count, self.count + more
        if last > len(self.letter):
            room = max(last, len(self.letter) * 3 // 2)
            for name in ("letter", "value", "start", "end", "block"):
                old = getattr(self, name)
                new = np.empty(room, old.dtype)
                new[:first] = old[:first]
                setattr(self, name, new)
        self.count = last
        return slice(first, last)

    def words(self) -> Words:
        """Give the rows so far."""
        last = self.count
        return Words(
            self.letter[:last],
            self.value[:last],
            self.start[:last],
            self.end[:last],
            self.block[:last],
        )


@dataclass
class Bulk:
    """What the bulk scanner made of a text.

    counts: (m,) int64, words of each block. flags: (m,) uint16. number: (m,) int64.
    long_numbers: blocks whose block number has more than five digits. declined: the blocks left
    to the one-line scanner, in order.
    """

    columns: Columns
    counts: NDArray[np.int64]
    flags: NDArray[np.uint16]
    number: NDArray[np.int64]
    long_numbers: list[int] = field(default_factory=list)
    declined: list[int] = field(default_factory=list)


Decline = Callable[[int], bool]


def scan_bulk(source: SourceText, chunk: int = CHUNK, decline: Decline | None = None) -> Bulk:
    """Read the plain blocks of a text.

    chunk: bytes, about; chunks end where blocks do. decline: tells of a block whether to leave it
    to the one-line scanner though it is plain.
    """
    blocks = len(source)
    bulk = Bulk(
        Columns(0),
        np.zeros(blocks, np.int64),
        np.zeros(blocks, np.uint16),
        np.full(blocks, -1, np.int64),
    )
    first = 0
    while first < blocks:
        target = int(source.starts[first]) + chunk
        last = max(int(np.searchsorted(source.starts, target)), first + 1)
        _Chunk(source, bulk, first, last, decline).scan()
        if first == 0:
            share = len(source.data) / max(int(source.ends[last - 1] - source.starts[0]), 1)
            _grow(bulk.columns, int(bulk.columns.count * share * 1.05) + 64)
        first = last
    return bulk


def _grow(columns: Columns, room: int) -> None:
    """Make room at once for about as many words as the first chunk lets expect."""
    kept = columns.count
    columns.reserve(max(room - kept, 0))
    columns.count = kept


class _Chunk:
    """Blocks `first` to `last`, half open. Places within it count from the buffer's start."""

    def __init__(
        self, source: SourceText, bulk: Bulk, first: int, last: int, decline: Decline | None
    ) -> None:
        self.bulk = bulk
        self.first, self.last = first, last
        self.low = int(source.starts[first])
        self.offset = self.low - PAD
        self.starts = source.starts[first:last] - self.offset
        self.ends = source.ends[first:last] - self.offset
        self.declined = np.zeros(last - first, bool)
        lengths = self.ends - self.starts
        if int(lengths.max()) > LONGEST:
            self.declined |= lengths > LONGEST
        if decline is not None:
            self.declined |= np.array([decline(block) for block in range(first, last)], bool)
        high = int(source.ends[last - 1])
        if self.declined.all():
            high = self.low
        size = high - self.low
        self.buffer = np.full((PAD + size + 8) // 8 * 8, _SPACE, np.uint8)
        self.buffer[PAD : PAD + size] = np.frombuffer(source.data, np.uint8, size, self.low)
        self.data, self.high = source.data, high

    def scan(self) -> None:
        """Read the chunk; again without the blocks that turn out not to be plain."""
        if self.declined.any():
            self.blank(np.flatnonzero(self.declined))
        self.comments()
        while (bad := self.attempt()) is not None:
            rows = np.unique(bad)
            self.declined[rows] = True
            self.blank(rows)
        if self.declined.any():
            gone = np.flatnonzero(self.declined)
            self.bulk.flags[self.first + gone] = 0
            self.bulk.number[self.first + gone] = -1
            self.bulk.declined += (self.first + gone).tolist()

    def blank(self, rows: NDArray[np.int64]) -> None:
        """Blank whole blocks in the buffer."""
        size = len(self.buffer)
        for start, end in zip(self.starts[rows].tolist(), self.ends[rows].tolist(), strict=True):
            if start < size:
                self.buffer[start:end] = _SPACE

    def lines_of(self, places: NDArray[np.int64]) -> NDArray[np.int64]:
        """Give the rows of the blocks that hold places of the buffer."""
        return np.searchsorted(self.starts, places, side="right") - 1

    def comments(self) -> None:
        """Blank the comments in the buffer and flag their blocks."""
        data, low, high = self.data, self.low, self.high
        if data.find(b"(", low, high) < 0 and data.find(b";", low, high) < 0:
            return
        buffer, offset = self.buffer, self.offset
        places = []
        for found in _COMMENT.finditer(data, low, high):
            start, end = found.span()
            buffer[start - offset : end - offset] = _SPACE
            places.append(start)
        if places:
            rows = self.lines_of(np.array(places) - offset)
            self.bulk.flags[self.first + rows] |= _COMMENTED

    def attempt(self) -> NDArray[np.int64] | None:
        """Read what is not blanked; give the rows of blocks that are not plain, if there are any."""
        octets = self.buffer
        letter = ((octets | 32) - 97) < 26
        sign = (octets == 43) | (octets == 45)
        value = ((octets - 48) < 10) | (octets == 46)
        number = value | sign
        wordy = number | letter
        other = ~(wordy | (octets == 32) | ((octets - 9) < 2) | (octets == 13))
        bad = np.empty_like(letter)
        bad[0] = False
        head = letter | sign
        np.greater(head[:-1], number[1:], out=bad[1:])
        bad[1:] |= sign[1:] > letter[:-1]
        bad[1:] |= value[1:] > wordy[:-1]
        if other.any():
            self.marks(np.flatnonzero(other), bad)
        if bad.any():
            return self.lines_of(np.flatnonzero(bad))
        np.greater(number[:-1], number[1:], out=bad[:-1])
        bad |= letter
        places = np.flatnonzero(bad)
        return self.rows(places[0::2], places[1::2])

    def marks(self, places: NDArray[np.int64], bad: NDArray[np.bool_]) -> None:
        """Take `/` at the start of a block and `%` alone on a line; all else is bad."""
        rows = self.lines_of(places)
        octets = self.buffer[places]
        first = places == self.starts[rows]
        slash = first & (octets == ord("/"))
        percent = first & (octets == ord("%")) & (self.ends[rows] == places + 1)
        flags = self.bulk.flags
        flags[self.first + rows[slash]] |= _DELETE
        flags[self.first + rows[percent]] |= _PERCENT
        bad[places[~(slash | percent)]] = True

    def rows(
        self, letters: NDArray[np.int64], lasts: NDArray[np.int64]
    ) -> NDArray[np.int64] | None:
        """Turn places of letters and of the last characters of numbers into words."""
        bounds = np.searchsorted(letters, self.starts)
        counts = np.diff(bounds, append=len(letters))
        names = self.buffer.take(letters)
        names &= 0xDF
        odd = ((names - 85) < 3) | (names == 69) | (names == 79)  # U V W, E, O
        numbered = names == 78
        if numbered.any():
            at = np.flatnonzero(numbered)
            rows = self.lines_of(letters[at])
            values, whole, faulty = read_numbers(self.buffer, letters[at], lasts[at])
            odd[at] = ~whole | faulty | (bounds[rows] != at) | (values > 1e15)
            digits = lasts[at] - letters[at]
        else:
            at = rows = digits = np.zeros(0, np.int64)
            values = np.zeros(0)
        if odd.any():
            return self.lines_of(letters[odd])
        if len(at):
            keep = np.flatnonzero(~numbered)
            letters, lasts, names = letters[keep], lasts[keep], names[keep]
            counts[rows] -= 1
        numbers, _, faulty = read_numbers(self.buffer, letters, lasts)
        if faulty.any():
            return self.lines_of(letters[faulty])
        bulk, columns = self.bulk, self.bulk.columns
        bulk.number[self.first + rows] = values
        bulk.flags[self.first + rows] |= _NUMBERED
        bulk.long_numbers += (self.first + rows[digits > 5]).tolist()
        bulk.counts[self.first : self.last] = counts
        place = columns.reserve(len(letters))
        columns.letter[place] = names
        columns.value[place] = numbers
        np.add(letters, self.offset, out=columns.start[place])
        np.add(lasts, self.offset + 1, out=columns.end[place])
        columns.block[place] = np.repeat(
            np.arange(self.first, self.last, dtype=np.int32), counts
        )
        return None
