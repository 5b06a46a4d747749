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

from gpre.program.codes import CODES, Piece
from gpre.program.line import MOST_NUMBER_DIGITS
from gpre.program.numbers import PAD, read_numbers
from gpre.program.repeats import crowded, doubled
from gpre.program.words import BlockFlag, Words
from gpre.source.text import SourceText

CHUNK = 1 << 18  # bytes; small enough for the arrays of one chunk to stay in the cache
LONGEST = 4096  # bytes; longer lines go to the one-line scanner
MOST_INDENT = 8  # blanks before a block number; more go to the one-line scanner

_COMMENT = re.compile(rb"\([^()\r\n]*\)|;[^\r\n]*")
_SPACE = 32
_DELETE, _COMMENTED, _PERCENT, _NUMBERED = (
    np.uint16(flag)
    for flag in (BlockFlag.DELETE, BlockFlag.COMMENT, BlockFlag.PERCENT, BlockFlag.NUMBERED)
)


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
            bulk.columns.grow(int(bulk.columns.count * share * 1.05) + 64)
        first = last
    return bulk


def _whole(
    buffer: NDArray[np.uint8], letters: NDArray[np.int64], ends: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Give the whole numbers between letters and ends, which digits fill."""
    values = np.zeros(len(letters), np.int64)
    for step in range(1, int((ends - letters).max())):
        within = letters + step < ends
        digit = buffer[np.minimum(letters + step, ends - 1)] - np.int64(48)
        values = np.where(within, values * 10 + digit, values)
    return values


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
        self.long_numbers = np.zeros(last - first, bool)
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
        self.marks()
        self.block_numbers()
        while (places := self.attempt()) is not None:
            self.decline(places)
        if self.declined.any():
            gone = np.flatnonzero(self.declined)
            self.bulk.flags[self.first + gone] = 0
            self.bulk.number[self.first + gone] = -1
            self.long_numbers &= ~self.declined
            self.bulk.declined += (self.first + gone).tolist()
        if self.long_numbers.any():
            self.bulk.long_numbers += (self.first + np.flatnonzero(self.long_numbers)).tolist()

    def decline(self, places: NDArray[np.int64]) -> None:
        """Leave the blocks that hold these places to the one-line scanner; all, if none is given."""
        rows = np.unique(self.lines_of(places)) if len(places) else np.flatnonzero(~self.declined)
        self.declined[rows] = True
        self.blank(rows)

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

    def marks(self) -> None:
        """Blank a `/` at the start of a block and a `%` alone on its line, and flag the block."""
        data, low, high = self.data, self.low, self.high
        if data.find(b"/", low, high) < 0 and data.find(b"%", low, high) < 0:
            return
        places = np.flatnonzero((self.buffer == ord("/")) | (self.buffer == ord("%")))
        rows = self.lines_of(places)
        octets = self.buffer[places]
        first = places == self.starts[rows]
        slash = first & (octets == ord("/"))
        percent = first & (octets == ord("%")) & (self.ends[rows] == places + 1)
        flags = self.bulk.flags
        flags[self.first + rows[slash]] |= _DELETE
        flags[self.first + rows[percent]] |= _PERCENT
        self.buffer[places[slash | percent]] = _SPACE

    def block_numbers(self) -> None:
        """Read the block numbers and blank them; those that are not plain stay and are declined."""
        data, low, high = self.data, self.low, self.high
        if data.find(b"N", low, high) < 0 and data.find(b"n", low, high) < 0:
            return
        buffer = self.buffer
        places = np.flatnonzero((buffer | 32) == ord("n"))
        rows = self.lines_of(places)
        lead = self.starts[rows]
        for _ in range(MOST_INDENT):
            lead += (buffer[lead] == _SPACE) | (buffer[lead] == ord("\t"))
        ends = places + 1
        for _ in range(MOST_NUMBER_DIGITS + 1):
            digit = (buffer[ends] - 48) < 10
            if not digit.any():
                break
            ends += digit
        length = ends - places - 1
        good = (lead == places) & (length > 0) & (length <= MOST_NUMBER_DIGITS)
        good &= buffer[ends] != ord(".")
        places, ends, rows, length = places[good], ends[good], rows[good], length[good]
        if not len(places):
            return
        self.bulk.number[self.first + rows] = _whole(buffer, places, ends)
        self.bulk.flags[self.first + rows] |= _NUMBERED
        self.long_numbers[rows] = length > 5
        for step in range(int(length.max()) + 1):
            buffer[np.minimum(places + step, ends - 1)] = _SPACE

    def attempt(self) -> NDArray[np.int64] | None:
        """Read what is not blanked; give places in the blocks that are not plain, if there are any.

        Counts tell whether all are plain: letters and ends of numbers take turns, the numbers are
        as long as the ways from letters to ends, there are as many signs as numbers that begin
        with one, and each other byte is a blank or a line end.
        """
        octets = self.buffer
        number = (octets - 43) < 15  # + - . and digits; / and , are looked for below
        letter = ((octets | 32) - 97) < 26
        marks = np.empty_like(letter)
        np.greater(number[:-1], number[1:], out=marks[:-1])
        marks[-1] = False
        marks |= letter
        places = np.flatnonzero(marks)
        letters, lasts = places[0::2].copy(), places[1::2].copy()
        count, digits = len(letters), np.count_nonzero(number)
        names = octets.take(letters)
        names &= 0xDF
        if (
            len(lasts) != count
            or np.count_nonzero(letter) != count
            or not ((names - 65) < 26).all()
            or digits != int((lasts - letters).sum())
            or count + digits + self.tally(b" \n\r\t") != len(octets)
            or self.tally(b"/,")
        ):
            return self.odd_bytes(number, letter)
        return self.rows(letters, lasts, names)

    def tally(self, octets: bytes) -> int:
        """Count bytes of the buffer that are one of a few."""
        data, low, high = self.data, self.low, self.high
        return sum(
            int(np.count_nonzero(self.buffer == octet))
            for octet in octets
            if octet == _SPACE or data.find(octet, low, high) >= 0
        )

    def odd_bytes(
        self, number: NDArray[np.bool_], letter: NDArray[np.bool_]
    ) -> NDArray[np.int64]:
        """Find the bytes that may not stand behind the byte before them, or not at all."""
        octets = self.buffer
        strange = (octets == ord("/")) | (octets == ord(","))
        number &= ~strange
        sign = (octets == ord("+")) | (octets == ord("-"))
        value = number & ~sign
        blank = (octets == _SPACE) | ((octets - 9) < 2) | (octets == 13)
        odd = ~(number | letter | blank)
        head = letter | sign
        odd[1:] |= head[:-1] & ~number[1:]
        odd[1:] |= sign[1:] & ~letter[:-1]
        odd[1:] |= value[1:] & ~(number | letter)[:-1]
        return np.flatnonzero(odd)

    def rows(
        self, letters: NDArray[np.int64], lasts: NDArray[np.int64], names: NDArray[np.uint8]
    ) -> NDArray[np.int64] | None:
        """Turn letters and the last characters of their numbers into words.

        Give places in the blocks that are not plain, with nothing changed, if there are any.
        """
        bounds = np.searchsorted(letters, self.starts)
        counts = np.empty_like(bounds)
        np.subtract(bounds[1:], bounds[:-1], out=counts[:-1])
        counts[-1] = len(letters) - bounds[-1]
        odd = ((names - 85) < 3) | (names == 69) | (names == 78) | (names == 79)
        if odd.any():  # U V W, E, O, and N behind other words
            return letters[odd]
        numbers = read_numbers(self.buffer, letters, lasts)
        if numbers.faulty is not None:
            return letters[numbers.faulty]
        if np.count_nonzero(numbers.signed) != self.tally(b"+-"):
            return self.odd_signs()
        self.bulk.counts[self.first : self.last] = counts
        self.keep(letters, lasts, names, numbers.value, counts)
        return None

    def odd_signs(self) -> NDArray[np.int64]:
        """Find the signs that do not stand right behind a letter."""
        signs = np.flatnonzero((self.buffer == ord("+")) | (self.buffer == ord("-")))
        before = self.buffer[signs - 1]
        return signs[((before | 32) - 97) >= 26]

    def keep(
        self,
        letters: NDArray[np.int64],
        lasts: NDArray[np.int64],
        names: NDArray[np.uint8],
        values: NDArray[np.float64],
        counts: NDArray[np.int64],
    ) -> None:
        """Add words to the columns."""
        columns = self.bulk.columns
        place = columns.reserve(len(letters))
        columns.letter[place] = names
        columns.value[place] = values
        np.add(letters, self.offset, out=columns.start[place])
        np.add(lasts, self.offset + 1, out=columns.end[place])
        blocks = np.arange(self.first, self.last, dtype=np.int32).repeat(counts)
        columns.block[place] = blocks
        self.bulk.look_at(names, values, blocks)
