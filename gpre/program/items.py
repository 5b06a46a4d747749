"""Words of one block, whether it stands in the columns or among the statements."""

from __future__ import annotations

from itertools import pairwise

from gpre.diagnostics.diagnostic import Span
from gpre.program.expression import Number
from gpre.program.program import Program
from gpre.program.words import BlockFlag, Word

Pairs = tuple[tuple[str, float], ...]

_STATEMENT = int(BlockFlag.STATEMENT)
_LETTERS = tuple(chr(code) for code in range(256))


def plain_words(program: Program, first: int = 0, end: int | None = None) -> list[Pairs]:
    """Return letters and values of the words of the blocks `first` to `end`, to the last if None.

    Block numbers are left out; a block that is not plain has no words here.
    """
    rows = program.blocks.first_word[first : None if end is None else end + 1].tolist()
    mine = slice(rows[0], rows[-1])
    letters = program.words.letter[mine].tobytes().decode("latin-1")
    pairs = list(zip(letters, program.words.value[mine].tolist(), strict=True))
    return [tuple(pairs[one - rows[0] : other - rows[0]]) for one, other in pairwise(rows)]


def block_words(program: Program, block: int) -> tuple[Word, ...]:
    """Return the words of a block in the order of the text, without its block number.

    A word of a plain block has a Number; its span and that of its number are those of the columns.
    """
    if int(program.blocks.flags[block]) & _STATEMENT:
        return program.statements[block].words
    first, last = program.blocks.first_word[block : block + 2].tolist()
    if first == last:
        return ()
    words = program.words
    return tuple(
        Word(_LETTERS[letter], Number(value, Span(start + 1, end)), Span(start, end))
        for letter, value, start, end in zip(
            words.letter[first:last].tolist(),
            words.value[first:last].tolist(),
            words.start[first:last].tolist(),
            words.end[first:last].tolist(),
            strict=True,
        )
    )
