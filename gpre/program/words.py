"""What the reader makes of a text: words in columns, and statements where columns do not do.

A plain block holds only words with plain numbers, comments, `%`, a block number or a block
delete; its words stand in the columns. A block with parameters, expressions or anything unusual
is a `Statement`; it has no words in the columns.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntFlag

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Span
from gpre.program.expression import Expression

Offsets = NDArray[np.int32] | NDArray[np.int64]


class BlockFlag(IntFlag):
    """What a block holds besides words."""

    DELETE = 1  # begins with /
    COMMENT = 2
    PERCENT = 4  # a % stands in it
    STATEMENT = 8  # read by the grammar: see Program.statements
    OUTSIDE = 16  # before the first % or after the one that ends the file; not executed
    UNREADABLE = 32  # not understood: named in a diagnostic, passed through, left alone
    FLOW = 64  # jumps, conditions, repeats, macro calls: named and left alone
    LATHE = 128  # words or codes of a lathe; named and left alone
    NUMBERED = 256  # starts with an N word
    BLANK = 512  # no words, no comment
    PROGRAM_NUMBER = 1024  # O1234 or :1234


# a block with one of these is more than its words, and is compared and moved as a whole
MORE_THAN_WORDS = int(
    BlockFlag.DELETE
    | BlockFlag.PERCENT
    | BlockFlag.STATEMENT
    | BlockFlag.OUTSIDE
    | BlockFlag.UNREADABLE
    | BlockFlag.FLOW
    | BlockFlag.LATHE
    | BlockFlag.PROGRAM_NUMBER
)


@dataclass(frozen=True)
class Words:
    """Words of all plain blocks, in order of the text. n words, one row each.

    letter: (n,) uint8, upper-case ASCII. value: (n,) float64, bit-equal to float(text).
    start, end: (n,) int32, bytes from the letter to past the last digit (blanks may lie between);
    int64 where the text is very long.
    block: (n,) int32. The N words are not among them: see Blocks.number. A program number is a word
    O. Blocks that are OUTSIDE, UNREADABLE, FLOW or LATHE may have words here: mind their flags.
    """

    letter: NDArray[np.uint8]
    value: NDArray[np.float64]
    start: Offsets
    end: Offsets
    block: NDArray[np.int32]


@dataclass(frozen=True)
class Blocks:
    """All blocks (lines) of the text. m blocks, one row each.

    first_word: (m + 1,) int32 (int64 where the text is very long): words of block i are rows
    first_word[i] to first_word[i + 1]. flags: (m,) uint16 of BlockFlag. number: (m,) int64, the N
    word's value, -1 where there is none; not to be written to.
    """

    first_word: Offsets
    flags: NDArray[np.uint16]
    number: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Word:
    """A letter and its value in a statement; the span covers both."""

    letter: str
    value: Expression
    span: Span


@dataclass(frozen=True, slots=True)
class Assignment:
    """`#parameter = value`; takes effect after all values of its block are read."""

    parameter: Expression
    value: Expression
    span: Span


@dataclass(frozen=True, slots=True)
class Statement:
    """A block that the grammar read, its items in the order of the text.

    `flow` names the construct where the block steers the run of the program
    (`IF`, `ELSE`, `ENDIF`, `WHILE`, `DO`, `END`, `GOTO`, `CALL`, `O-WORD`), else "". Then the
    words and assignments happen only if the run of the program comes to them. `condition` is what
    stands behind IF or WHILE, `target` the block number behind GOTO or the number of a DO or END.
    """

    words: tuple[Word, ...] = ()
    assignments: tuple[Assignment, ...] = ()
    flow: str = ""
    condition: Expression | None = None
    target: Expression | None = None
