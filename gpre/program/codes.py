"""High G and M codes of a program, and the letters that a mill does not know: few, mostly."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.program.expression import Number
from gpre.program.program import Program
from gpre.program.words import BlockFlag

CODES = 50  # the least code that is kept

Piece = tuple[NDArray[np.uint8], NDArray[np.float64], NDArray[np.int32]]


@dataclass(frozen=True)
class Codes:
    """G and M words of CODES or more, in no order; plain numbers alone.

    letter: (n,) uint8. value: (n,) float64. block: (n,) int32.
    """

    letter: NDArray[np.uint8]
    value: NDArray[np.float64]
    block: NDArray[np.int32]

    def blocks(self, letter: str, values: Iterable[float]) -> set[int]:
        """Return the blocks that hold one of these codes."""
        wanted = (self.letter == ord(letter)) & np.isin(self.value, list(values))
        return set(self.block[wanted].tolist())


def find_codes(program: Program, pieces: list[Piece]) -> Codes:
    """Put the codes of plain blocks, which come in pieces, and those of statements together.

    Blocks outside the program are left out.
    """
    rows = [
        (ord(word.letter), word.value.value, block)
        for block, statement in program.statements.items()
        for word in statement.words
        if word.letter in "GM" and isinstance(word.value, Number) and word.value.value >= CODES
    ]
    letter = np.array([row[0] for row in rows], np.uint8)
    value = np.array([row[1] for row in rows], np.float64)
    block = np.array([row[2] for row in rows], np.int32)
    letter = np.concatenate([*(piece[0] for piece in pieces), letter])
    value = np.concatenate([*(piece[1] for piece in pieces), value])
    block = np.concatenate([*(piece[2] for piece in pieces), block])
    inside = (program.blocks.flags[block] & np.uint16(BlockFlag.OUTSIDE)) == 0
    return Codes(letter[inside], value[inside], block[inside])
