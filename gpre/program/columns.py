"""Columns of words that grow while a text is read, and what is noted beside them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gpre.program.codes import CODES, Piece
from gpre.program.repeats import crowded, doubled
from gpre.program.words import Blocks, Offsets, Words

FAR = 1 << 30  # bytes; offsets into a longer text, with what is added to them, need 64 bits
_SMALL = 1 << 22  # bytes; beyond it one block is asked for that the system backs with large pages
_LARGE = 40 << 20  # bytes; what is not written to takes no memory


def offset_type(size: int) -> np.dtype[np.int32] | np.dtype[np.int64]:
    """Return the type that holds the offsets into a text of `size` bytes."""
    return np.dtype(np.int32) if size < FAR else np.dtype(np.int64)


class Columns:
    """Columns of words that grow; they share one block of memory, first touched as it fills."""

    value: NDArray[np.float64]
    start: Offsets
    end: Offsets
    block: NDArray[np.int32]
    letter: NDArray[np.uint8]

    def __init__(self, room: int, size: int = 0) -> None:
        """Make room for so many words of a text of `size` bytes."""
        offset = offset_type(size)
        self.fields: tuple[tuple[str, np.dtype[Any]], ...] = (
            ("value", np.dtype(np.float64)),
            ("start", offset),
            ("end", offset),
            ("block", np.dtype(np.int32)),
            ("letter", np.dtype(np.uint8)),
        )
        self.count = 0
        self.room = 0
        self.grow(room)

    def grow(self, room: int) -> None:
        """Make room for so many rows; keep those that stand."""
        width = sum(dtype.itemsize for _, dtype in self.fields)
        size = room * width + 8 * len(self.fields)
        memory = np.empty(size if size < _SMALL else max(size, _LARGE), np.uint8)
        at = 0
        for name, dtype in self.fields:
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
        """Return the rows so far."""
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

    first_word: (m + 1,) as in Blocks once `blocks` is called; counts: (m,) a view of its rows from
    the second on, till then the words of each block. flags: (m,) uint16. number: (m,) int64, or
    None as long as no block has an N word. long_numbers: blocks whose block number has more than
    five digits. declined: the blocks left to the one-line scanner, in order. codes: letter, value
    and block of the G and M words of CODES or more, in pieces. doubled, crowded: see
    `gpre.program.repeats`.
    """

    columns: Columns
    first_word: Offsets
    flags: NDArray[np.uint16]
    number: NDArray[np.int64] | None = None
    long_numbers: list[int] = field(default_factory=list)
    declined: list[int] = field(default_factory=list)
    codes: list[Piece] = field(default_factory=list)
    doubled: list[int] = field(default_factory=list)
    crowded: list[int] = field(default_factory=list)

    @classmethod
    def empty(cls, blocks: int, size: int) -> Bulk:
        """Begin with a text of so many blocks and bytes."""
        first_word = np.zeros(blocks + 1, offset_type(size))
        return cls(Columns(0, size), first_word, np.zeros(blocks, np.uint16))

    @property
    def counts(self) -> Offsets:
        """(m,): words of each block, until they are summed up."""
        return self.first_word[1:]

    def name(self, rows: NDArray[np.intp] | int, numbers: NDArray[np.float64] | int) -> None:
        """Set the block numbers of some blocks."""
        if self.number is None:
            self.number = np.full(len(self.flags), -1, np.int64)
        self.number[rows] = numbers

    def blocks(self) -> Blocks:
        """Sum the counts up, and give the columns of the blocks."""
        counts = self.counts
        np.cumsum(counts, dtype=counts.dtype, out=counts)
        number = self.number
        if number is None:  # takes no memory
            number = np.broadcast_to(np.int64(-1), len(self.flags))
        return Blocks(self.first_word, self.flags, number)

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
