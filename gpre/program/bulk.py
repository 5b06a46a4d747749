"""The bulk scanner: plain blocks read with numpy over the bytes, a chunk of blocks at a time.

A chunk is copied into a buffer, comments are blanked there, each byte is classed by comparisons,
and a few counts tell whether every letter has one number right behind it and nothing else is there.
A block that is not so is declined: it is blanked in the buffer and left to the one-line scanner.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from gpre.program.columns import Bulk
from gpre.program.numbers import PAD, WIDEST, read_numbers
from gpre.program.words import BlockFlag
from gpre.source.text import SourceText

CHUNK = 1 << 18  # bytes; small enough for the arrays of one chunk to stay in the cache
LONGEST = 4096  # bytes; longer lines go to the one-line scanner
MANY_COMMENTS = 100  # in one chunk; fewer are blanked one by one

_COMMENT = re.compile(rb"\([^()\r\n]*\)|;[^\r\n]*")
_SPACE = 32
_DELETE, _COMMENTED, _PERCENT, _NUMBERED = (
    np.uint16(flag)
    for flag in (BlockFlag.DELETE, BlockFlag.COMMENT, BlockFlag.PERCENT, BlockFlag.NUMBERED)
)

Decline = Callable[[int], bool]


def scan_bulk(source: SourceText, chunk: int = CHUNK, decline: Decline | None = None) -> Bulk:
    """Read the plain blocks of a text.

    chunk: bytes, about; chunks end where blocks do. decline: tells of a block whether to leave it
    to the one-line scanner though it is plain.
    """
    blocks = len(source)
    bulk = Bulk.empty(blocks, len(source.data))
    first, estimated = 0, False
    while first < blocks:
        target = int(source.starts[first]) + chunk
        last = max(int(np.searchsorted(source.starts, target)), first + 1)
        if source.ends[last - 1] - source.starts[last - 1] > LONGEST:  # it may be of any size
            if last - 1 == first:
                bulk.declined.append(first)
                first = last
                continue
            last -= 1
        _Chunk(source, bulk, first, last, decline).scan()
        if not estimated:
            estimated = True
            share = len(source.data) / max(int(source.ends[last - 1] - source.starts[0]), 1)
            bulk.columns.grow(int(bulk.columns.count * share * 1.05) + 64)
        first = last
    return bulk


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
        while (places := self.attempt()) is not None:
            self.decline(places)
        if self.declined.any():
            gone = np.flatnonzero(self.declined)
            self.bulk.flags[self.first + gone] = 0
            self.bulk.declined += (self.first + gone).tolist()

    def decline(self, places: NDArray[np.int64]) -> None:
        """Leave the blocks that hold these places to the one-line scanner; all, if none is."""
        rows = np.unique(self.lines_of(places)) if len(places) else np.flatnonzero(~self.declined)
        self.declined[rows] = True
        self.blank(rows)

    def blank(self, rows: NDArray[np.int64]) -> None:
        """Blank whole blocks in the buffer."""
        for start, end in zip(self.starts[rows].tolist(), self.ends[rows].tolist(), strict=True):
            self.buffer[start:end] = _SPACE

    def lines_of(self, places: NDArray[np.int64]) -> NDArray[np.int64]:
        """Return the rows of the blocks that hold places of the buffer."""
        return np.searchsorted(self.starts, places, side="right") - 1

    def comments(self) -> None:
        """Blank the comments in the buffer and flag their blocks."""
        data, low, high = self.data, self.low, self.high
        if data.find(b"(", low, high) < 0 and data.find(b";", low, high) < 0:
            return
        places = self.many_comments()
        if places is None:
            places = self.few_comments()
        self.bulk.flags[self.first + self.lines_of(places)] |= _COMMENTED

    def few_comments(self) -> NDArray[np.int64]:
        """Blank comments one by one and give their starts."""
        buffer, offset = self.buffer, self.offset
        starts: list[int] = []
        past = 0
        for place in np.flatnonzero((buffer == ord("(")) | (buffer == ord(";"))).tolist():
            if place < past:
                continue
            if found := _COMMENT.match(self.data, place + offset, self.high):
                past = found.end() - offset
                buffer[place:past] = _SPACE
                starts.append(place)
        return np.array(starts, np.int64)

    def many_comments(self) -> NDArray[np.int64] | None:
        """Blank comments by arithmetic and give their starts; None where they are few or not plain.

        Plain are those whose brackets take turns, each pair in one block, without semicolons.
        """
        buffer = self.buffer
        opening, closing = buffer == ord("("), buffer == ord(")")
        starts, ends = np.flatnonzero(opening), np.flatnonzero(closing)
        if len(starts) < MANY_COMMENTS or len(starts) != len(ends):
            return None
        if (starts > ends).any() or (ends[:-1] > starts[1:]).any():
            return None
        if (self.lines_of(starts) != self.lines_of(ends)).any() or self.tally(b";"):
            return None
        inside = np.cumsum(opening.view(np.int8) - closing.view(np.int8), dtype=np.int8)
        np.putmask(buffer, inside.view(np.bool_) | closing, _SPACE)
        return starts

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

    def attempt(self) -> NDArray[np.int64] | None:
        """Read what is not blanked; give places in blocks that are not plain, if there are any.

        Counts tell whether there are none: letters and ends of numbers take turns, the numbers are
        as long as the ways from letters to ends, and each other byte is a blank or a line end.
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
        self.rows(letters, lasts, names)
        return None

    def tally(self, octets: bytes) -> int:
        """Count bytes of the buffer that are one of a few."""
        data, low, high = self.data, self.low, self.high
        return sum(
            int(np.count_nonzero(self.buffer == octet))
            for octet in octets
            if octet == _SPACE or data.find(octet, low, high) >= 0
        )

    def odd_bytes(self, number: NDArray[np.bool_], letter: NDArray[np.bool_]) -> NDArray[np.int64]:
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
    ) -> None:
        """Turn letters and the last characters of their numbers into words.

        Blocks with letters or numbers that are not plain are declined here.
        """
        bounds = np.searchsorted(letters, self.starts)
        counts = np.empty_like(bounds)
        np.subtract(bounds[1:], bounds[:-1], out=counts[:-1])
        counts[-1] = len(letters) - bounds[-1]
        numbers = read_numbers(self.buffer, letters, lasts)
        odd = ((names - 85) < 3) | (names == 69) | (names == 79)  # U V W, E, O
        if numbers.faulty is not None:
            odd |= numbers.faulty
        numbered = names == ord("N")
        at = np.flatnonzero(numbered)
        rows = self.lines_of(letters[at])
        if len(at):
            odd[at] |= ~numbers.whole[at] | (bounds[rows] != at)
            odd[at] |= lasts[at] - letters[at] > WIDEST
        if odd.any():
            self.declined[self.lines_of(np.compress(odd, letters))] = True
        if np.count_nonzero(numbers.signed) != self.tally(b"+-"):
            self.declined[self.lines_of(self.odd_signs())] = True
        if self.declined.any():
            numbered |= np.repeat(self.declined, counts)
            inside = ~self.declined[rows]
            at, rows = at[inside], rows[inside]
            counts[self.declined] = 0
        if len(rows):
            self.bulk.name(self.first + rows, numbers.value[at])
        self.bulk.flags[self.first + rows] |= _NUMBERED
        long = rows[lasts[at] - letters[at] > 5]
        self.bulk.long_numbers += (self.first + long).tolist()
        counts[rows] -= 1
        self.bulk.counts[self.first : self.last] = counts
        values = numbers.value
        if numbered.any():
            kept = np.flatnonzero(~numbered)
            letters, lasts = letters.take(kept), lasts.take(kept)
            names, values = names.take(kept), values.take(kept)
        self.keep(letters, lasts, names, values, counts)

    def odd_signs(self) -> NDArray[np.int64]:
        """Find the signs that do not stand right behind a letter."""
        signs = np.flatnonzero((self.buffer == ord("+")) | (self.buffer == ord("-")))
        before = self.buffer[signs - 1]
        odd: NDArray[np.int64] = signs[((before | 32) - 97) >= 26]
        return odd

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
