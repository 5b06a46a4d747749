"""Letters that come too often in one block, found in columns of words (NISTIR 6556, 3.3.5)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

M_LIMIT = 4  # M words of a block
OFTEN = "GM"  # the letters that may come more than once


def _ranks(order: bytes) -> bytes:
    """Return ranks by letter, in a block's usual order; odd where a letter may come but once."""
    table = bytearray(256)
    for place, letter in enumerate(order):
        table[letter] = 2 * place + (letter not in OFTEN.encode())
    return bytes(table)


_RANKS = _ranks(b"OGXYZUVWABCIJKRPQLDHEFSTMN")
_BIT = np.array(
    [1 << code - 65 if 65 <= code <= 90 and chr(code) not in OFTEN else 0 for code in range(256)],
    np.int64,
)


def doubled(letters: NDArray[np.uint8], blocks: NDArray[np.int32]) -> list[int]:
    """Return the blocks in which a letter other than G and M comes twice.

    letters, blocks: (n,), words in the order of the text. Where the letters of each block stand in
    the usual order, which one pass over neighbours tells, there is nothing more to do.
    """
    ranks = np.frombuffer(letters.tobytes().translate(_RANKS), np.uint8)
    falls = (ranks[1:] | 1) <= ranks[:-1]
    falls &= blocks[1:] == blocks[:-1]
    if not falls.any():
        return []
    candidates = np.unique(blocks[1:][falls])
    first = np.searchsorted(blocks, candidates)
    length = np.searchsorted(blocks, candidates, side="right") - first
    bounds = np.cumsum(length) - length
    rows = np.repeat(first - bounds, length) + np.arange(int(length.sum()))
    bits = _BIT[letters[rows]]
    # Powers of two add up to the same as they make by OR, unless one comes twice.
    double = np.add.reduceat(bits, bounds) != np.bitwise_or.reduceat(bits, bounds)
    result: list[int] = candidates[double].tolist()
    return result


def crowded(letters: NDArray[np.uint8], blocks: NDArray[np.int32]) -> list[int]:
    """Return the blocks with more than four M words. letters, blocks: (n,), as for `doubled`."""
    ms = letters == ord("M")
    if np.count_nonzero(ms) <= M_LIMIT:
        return []
    found = blocks[ms]
    result: list[int] = np.unique(found[M_LIMIT:][found[M_LIMIT:] == found[:-M_LIMIT]]).tolist()
    return result
