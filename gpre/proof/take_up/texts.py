"""The blocks of a program whose coordinates carry take-ups: all but its numbers is as it was."""

from __future__ import annotations

from itertools import zip_longest

import numpy as np

from gpre.motion.events import EventKind
from gpre.motion.jumps import goes_to_numbers
from gpre.program.words import MORE_THAN_WORDS
from gpre.proof.jump_targets import number_twice
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side

NAME = "untouched blocks"
# words and codes that only move the tool; whatever else a block says must still be said
_PLACE = frozenset(b"XYZIJKRFPQLABC")
_MOTION = frozenset(
    (0, 10, 20, 30, 170, 180, 190, 730, *range(800, 900, 10), 900, 901, 910, 911, 980, 990)
)


def kept_words(pair: Pair) -> Obligation:
    """Show that every block that does more than move still says so, in order, and no other does.

    What it says of places, of feed and of G0 to G3 may differ. A block that is not made of plain
    words must be the same bytes.
    """
    blocks = pair.blocks
    figure = (
        f"{len(blocks.same)} blocks the same, {blocks.changed} changed, "
        f"{blocks.added} added, {blocks.gone} gone"
    )
    if _may_jump(pair.before) and (twice := number_twice(pair)):
        return Obligation(NAME, holds=False, figure=f"{figure}; {twice}")
    for one, other in zip_longest(_said(pair.before), _said(pair.after)):
        if one is not None and other is not None and one[0] == other[0]:
            continue
        side, block = (pair.before, one[1]) if one is not None else (pair.after, other[1])
        shown = side.program.source.line_text(block + 1).strip()
        figure += f"; changed, gone or new though it is more than motion: {shown}"
        return Obligation(
            NAME,
            holds=False,
            figure=figure,
            before=None if one is None else one[1],
            after=None if other is None else other[1],
        )
    return Obligation(NAME, holds=True, figure=figure)


def _said(side: Side) -> list[tuple[bytes, int]]:
    """Return what blocks say besides moving, in order, each with its block."""
    program = side.program
    words = program.words
    codes = np.rint(words.value * 10.0)
    said: dict[int, list[bytes]] = {}
    for letter, code, value, block in zip(
        words.letter.tolist(),
        codes.tolist(),
        words.value.tolist(),
        words.block.tolist(),
        strict=True,
    ):
        if letter in _PLACE or (letter == ord("G") and int(code) in _MOTION):
            continue
        said.setdefault(block, []).append(f"{chr(letter)}{value:.9g}".encode())
    whole = np.flatnonzero(program.blocks.flags & MORE_THAN_WORDS)
    result = {block: b" ".join(sorted(each)) for block, each in said.items()}
    result.update((block, program.source.block_bytes(block)) for block in whole.tolist())
    return [(result[block], block) for block in sorted(result)]


def _may_jump(side: Side) -> bool:
    """Return whether a program may go to blocks by their numbers, or calls what may."""
    called = any(event.kind is EventKind.CALL for event in side.motion.events)
    return called or goes_to_numbers(side.program, side.motion)
