"""Words that no move and no event shows: they must be the same wherever a block was changed.

The parameters of G64, the number of a cutter compensation, G10, codes that are not understood:
a change of these does not show in the motion, but the controller reads them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.driver.counting import Counted
from gpre.driver.spelling import NOT_PLAIN, goes_by_numbers, said, same_words
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.order import run_order
from gpre.program.items import Pairs, plain_words
from gpre.program.words import BlockFlag
from gpre.proof.blocks import compare_blocks

_LETTERS = frozenset("GMXYZABCIJKRFSTPQLHO")
# codes times ten whose effect shows in moves, in what is in force at them, or in an event
_SHOWN_G = frozenset(
    (
        *(0, 10, 20, 30, 40, 170, 180, 190, 200, 210, 280, 300, 382, 383, 384, 385, 400, 430, 490),
        *(530, 540, 550, 560, 570, 580, 590, 591, 592, 593, 610, 611, 640, 700, 710, 730),
        *range(800, 900, 10),
        *(900, 901, 910, 911, 920, 921, 922, 923, 930, 940, 950, 980, 990),
    )
)
_SHOWN_M = frozenset((0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 300, 480, 490, 600))

Blocks = NDArray[np.int64]
Key = tuple[bytes, tuple[float, ...], int]


@dataclass(frozen=True)
class Odd:
    """A difference that no move shows: what, and its blocks in the two programs."""

    what: str
    before: int | None
    after: int | None


def odd_words(
    before: Counted, after: Counted, texts: Sequence[list[bytes]] | None = None
) -> Odd | None:
    """Return the first difference of words that no move and no event shows, or None.

    texts: what `said` finds in both, where that is known already.
    """
    sides = before, after
    numbers = any(goes_by_numbers(side) for side in sides)
    if texts is None:
        texts = [said(side.program, numbers=numbers) for side in sides]
    if same_words(*texts):
        return None
    if numbers:
        what = "the program jumps, calls or cannot be followed, so its words must stay"
        return Odd(what, *_first(texts))
    common = _in_common(*sides)
    lists = [
        list(_not_shown(side, text, past))
        for side, text, past in zip(sides, texts, common, strict=True)
    ]
    hunks = compare_blocks(*([repr(key).encode() for key, _ in some] for some in lists)).hunks
    if not hunks:
        return None
    first, end, at, at_end = hunks[0]
    one = lists[0][first][1] if first < end else None
    other = lists[1][at][1] if at < at_end else None
    if one is None:
        what, shown = "new", _shown(after, lists[1][at][1])
    else:
        what, shown = "lost" if other is None else "changed or moved", _shown(before, one)
    return Odd(f"words that no move shows are {what}: {shown}", one, other)


def _shown(side: Counted, block: int) -> str:
    return side.program.source.line_text(block + 1).strip()


def _first(texts: Sequence[list[bytes]]) -> tuple[int | None, int | None]:
    """Return the first blocks that do not say the same, silent ones apart."""
    spoken = [[(key, block) for block, key in enumerate(text) if key] for text in texts]
    hunks = compare_blocks(*([key for key, _ in some] for some in spoken)).hunks
    if not hunks:
        return None, None
    first, end, at, at_end = hunks[0]
    one = spoken[0][first][1] if first < end else None
    return one, spoken[1][at][1] if at < at_end else None


def _in_common(before: Counted, after: Counted) -> tuple[Blocks, Blocks]:
    """(e,), (e,): the blocks of the events that both programs have, in order of the text."""
    keys = [[event.key for event in side.motion.events] for side in (before, after)]
    same = np.array(compare_blocks(*keys).same, np.intp).reshape(-1, 2)
    old, new = (
        np.sort(np.array([event.block for event in side.motion.events], np.int64)[rows])
        for side, rows in zip((before, after), same.T, strict=True)
    )
    return old, new


def _not_shown(side: Counted, text: list[bytes], past: Blocks) -> Iterator[tuple[Key, int]]:
    """Yield what is not shown of each block, with where the tool stands and what came before.

    past: the blocks of the events that count.
    """
    words, flags = plain_words(side.program), side.program.blocks.flags.tolist()
    where = _WordPlaces(side, past)
    for block, key in enumerate(text):
        if not key:
            continue
        if flags[block] & NOT_PLAIN:
            left = key
        else:
            left = _rest(words[block], key)
            if flags[block] & int(BlockFlag.PERCENT) and not left:
                yield (b"%", (), 0), block  # where the tool stands is nothing to it
                continue
        if left:
            yield (left, *where.of(block)), block


def _rest(words: Pairs, key: bytes) -> bytes:
    """Return what of a block's words is not shown, b"" where all of it is."""
    for letter, value in words:
        code = round(value * 10.0)
        if letter not in _LETTERS:
            return key
        if letter == "G" and code not in _SHOWN_G:
            return key
        if letter == "M" and code not in _SHOWN_M:
            return key
    if ("G", 64.0) not in words:
        return b""
    # how near the corners are to be cut; everything else in the block shows
    own = sorted(f"{letter}{value!r}" for letter, value in words if letter in "PQ")
    return " ".join(["G64", *own]).encode() if own else b""


class _WordPlaces:
    """Tells where the tool stands when a block first runs, and how many events stand before it."""

    def __init__(self, side: Counted, past: Blocks) -> None:
        self._end = side.motion.end
        self._order = run_order(len(side.program), side.motion)
        self._events = past

    def of(self, block: int) -> tuple[tuple[float, ...], int]:
        row = int(self._order.row_at[self._order.first[block]])
        place = np.nan_to_num(self._end[row - 1], nan=1e9).tolist() if row else []
        past = int(np.searchsorted(self._events, block))
        return tuple(round(each / RESOLUTION) * RESOLUTION for each in place), past
