"""Words with a measure, and whether their numbers have a decimal point.

A measure is a length, a place or an angle; or a feed or the time of a dwell.

By the standard `Z-1` and `Z-1.` are the same number (NISTIR 6556, 3.3.2.1). Some older controllers
read a whole number without a point in their least unit, a thousandth of a mm or a ten-thousandth
of an inch (from memory, no source). Zero is zero either way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.program.comments import find_comments
from gpre.program.expression import Call, Expression, Number
from gpre.program.program import Program
from gpre.program.words import BlockFlag

LENGTHS = b"XYZABCUVWIJKRQ"
FEEDS = b"F"
TIMES = b"P"
_NOT_READ = np.uint16(BlockFlag.OUTSIDE | BlockFlag.UNREADABLE | BlockFlag.FLOW | BlockFlag.LATHE)
_POINT, _BRACKET = ord("."), ord("(")


@dataclass(frozen=True)
class Measures:
    """k words in the order of the text, those of value zero left out.

    block: (k,) int64. letter: (k,) uint8, upper-case ASCII. value: (k,) float64, as written.
    start, end: (k,) int64, bytes of the source. pointed: (k,) bool, the number has a point.
    """

    block: NDArray[np.int64]
    letter: NDArray[np.uint8]
    value: NDArray[np.float64]
    start: NDArray[np.int64]
    end: NDArray[np.int64]
    pointed: NDArray[np.bool_]

    def __len__(self) -> int:
        """Return the number of words."""
        return len(self.block)

    def take(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> Measures:
        """Return some of the words."""
        return Measures(*(column[rows] for column in vars(self).values()))


def measures_of(
    program: Program, wanted: NDArray[np.bool_] | None = None, *, letters: bytes = LENGTHS
) -> Measures:
    """Return the words of a program with a measure, those of `letters`.

    wanted: (m,) the blocks to look at; None: all. Blocks that are not read, jump, call, or never
    run because they stand outside the program have none.
    """
    is_measure = np.isin(np.arange(256), np.frombuffer(letters, np.uint8))
    read = (program.blocks.flags & _NOT_READ) == 0
    chosen = read if wanted is None else read & wanted
    words = program.words
    rows = np.flatnonzero(is_measure[words.letter] & (words.value != 0.0))
    rows = rows[chosen[words.block[rows]]]
    columns = (words.block, words.letter, words.value, words.start, words.end)
    block, letter, value, start, end = (column[rows] for column in columns)
    start, end = start.astype(np.int64), end.astype(np.int64)
    plain = Measures(
        block.astype(np.int64), letter, value, start, end, _pointed(program, start, end)
    )
    return _with_statements(program, chosen, plain, letters)


def writes_points(words: Measures) -> bool:
    """Return whether a program whose measures these are writes a point in each of them."""
    return bool(len(words) and words.pointed.all())


def _pointed(
    program: Program, starts: NDArray[np.int64], ends: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """(k,): whether a point stands in each stretch of the source, comments apart."""
    data = program.source.data
    octets = np.frombuffer(data, np.uint8)
    found = _holds(octets, _POINT, starts, ends)
    # a comment may stand between a letter and its number, and hold a point of its own
    for row in np.flatnonzero(found & _holds(octets, _BRACKET, starts, ends)).tolist():
        word = data[int(starts[row]) : int(ends[row])]
        found[row] = b"." in find_comments(word).blanked(word)
    return found


def _holds(
    octets: NDArray[np.uint8], wanted: int, starts: NDArray[np.int64], ends: NDArray[np.int64]
) -> NDArray[np.bool_]:
    places = np.flatnonzero(octets == wanted)
    if not len(places):
        return np.zeros(len(starts), np.bool_)
    at = np.searchsorted(places, starts)
    result: NDArray[np.bool_] = places[np.minimum(at, len(places) - 1)] < ends
    return result & (at < len(places))


def _with_statements(
    program: Program, chosen: NDArray[np.bool_], plain: Measures, wanted: bytes
) -> Measures:
    """Put the words of calculated blocks whose own number is plain between the others."""
    rows = [
        (block, ord(word.letter), value, word.span.start, word.span.end)
        for block, statement in program.statements.items()
        if chosen[block]
        for word in statement.words
        if word.letter.encode() in wanted and (value := _plain(word.value))
    ]
    if not rows:
        return plain
    blocks, letters, values, starts, ends = (np.array(column) for column in zip(*rows, strict=True))
    more = Measures(
        blocks.astype(np.int64),
        letters.astype(np.uint8),
        values.astype(np.float64),
        starts.astype(np.int64),
        ends.astype(np.int64),
        _pointed(program, starts.astype(np.int64), ends.astype(np.int64)),
    )
    both = Measures(
        *(
            np.concatenate((one, other))
            for one, other in zip(vars(plain).values(), vars(more).values(), strict=True)
        )
    )
    return both.take(np.argsort(both.start, kind="stable"))


def _plain(value: Expression) -> float:
    """Return the number of a word that holds one and nothing else, or 0."""
    if isinstance(value, Number):
        return value.value
    if (
        isinstance(value, Call)
        and value.function == "negate"
        and isinstance(value.arguments[0], Number)
    ):
        return -value.arguments[0].value
    return 0.0
