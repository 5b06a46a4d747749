"""Columns of words that grow while a text is read, and what is noted beside them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from gpre.program.codes import CODES, Piece
from gpre.program.repeats import crowded, doubled
from gpre.program.words import Words

_FIELDS = (
    ("value", np.dtype(np.float64)),
    ("start", np.dtype(np.int64)),
    ("end", np.dtype(np.int64)),
    ("block", np.dtype(np.int32)),
    ("letter", np.dtype(np.uint8)),
)
_ROW = sum(dtype.itemsize for _, dtype in _FIELDS)
_SMALL = 1 << 22  # bytes; beyond it one block is asked for that the system backs with large pages
_LARGE = 40 << 20  # bytes; what is not written to takes no memory


class Columns:
    """Columns of words that grow; they share one block of memory, first touched as it fills."""

    value: NDArray[np.float64]
    start: NDArray[np.int64]
    end: NDArray[np.int64]
    block: NDArray[np.int32]
    letter: NDArray[np.uint8]

    def __init__(self, room: int) -> None:
        self.count = 0
        self.room = 0
        self.grow(room)

    def grow(self, room: int) -> None:
        """Make room for so many rows; keep those that stand."""
        size = room * _ROW + 8 * len(_FIELDS)
        memory = np.empty(size if size < _SMALL else max(size, _LARGE), np.uint8)
        at = 0
        for name, dtype in _FIELDS:
            width = room * dtype.itemsize
            column = memory[at : at + width].view(dtype)
            if self.room:
                column[: self.count] = getattr(self, name)[: self.count]
            setattr(self, name, column)
            at += (width + 7) // 8 * 8
        self.room = room

    def reserve(self, more: int) -> slice:
        """Make room for more rows and give their place."""
        first, last = self.count, self.count + more
        if last > self.room:
            self.grow(max(last, self.room * 3 // 2))
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
    to the one-line scanner, in order. codes: letter, value and block of the G and M words of
    CODES or more, in pieces. doubled, crowded: see `gpre.program.repeats`.
    """

    columns: Columns
    counts: NDArray[np.int64]
    flags: NDArray[np.uint16]
    number: NDArray[np.int64]
    long_numbers: list[int] = field(default_factory=list)
    declined: list[int] = field(default_factory=list)
    codes: list[Piece] = field(default_factory=list)
    doubled: list[int] = field(default_factory=list)
    crowded: list[int] = field(default_factory=list)

    def look_at(
        self, letters: NDArray[np.uint8], values: NDArray[np.float64], blocks: NDArray[np.int32]
    ) -> None:
        """Note what is to be looked at again among words in the order of the text."""
        self.doubled += doubled(letters, blocks)
        self.crowded += crowded(letters, blocks)
        high = values >= CODES
        high &= (letters == ord("G")) | (letters == ord("M"))
        if high.any():
            self.codes.append((letters[high], values[high], blocks[high]))
