"""Writes a helix with turns left out: its blocks as they are but for Z, or new ones."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.helices import Helix, turns_of
from gpre.editing.context import Context
from gpre.editing.draft import Draft
from gpre.editing.editable import Editable
from gpre.editing.word_edits import FoundWord, decimals_of, exact, find_word, renumber, words_of
from gpre.motion.motion import Motion

_PLAIN = frozenset("XYZIJKRFG")


@dataclass(frozen=True)
class Shortened:
    """What is written, and the Z that each row that stays ends at, mm."""

    draft: Draft
    heights: tuple[float, ...]


def shortened(context: Context, old: Helix, kept: list[int], comment: str) -> Shortened:
    """Leave out the rows of a helix that are not kept, the others evenly down.

    Raises Skip, or the writer's UnwritableError, where the program does not allow it.
    """
    return _in_place(context, old, kept, comment) or _anew(context, old, kept, comment)


def _in_place(context: Context, old: Helix, kept: list[int], comment: str) -> Shortened | None:
    """Change the Z of the blocks that stay and drop the others; None where that does not do."""
    motion, editable = context.motion, context.editable
    rows = range(old.first, old.last)
    blocks = motion.block[old.first : old.last].tolist()
    feed = motion.feed[old.first : old.last]
    alone = all(
        editable.row_count[block] == 1 and not editable.events_in(block) for block in blocks
    )
    if not alone or np.ptp(feed) > 0.0 or kept[0] != old.first:
        return None
    if any(editable.why_not_touch(block) for block in blocks):
        return None
    gone = [motion.block_of(row) for row in rows if row not in kept]
    if any(
        editable.why_not_replace(block, block) or not _only_moves(editable, block) for block in gone
    ):
        return None
    depths = [word for block in blocks if (word := find_word(editable, block, "Z")) is not None]
    if len(depths) < len(blocks):
        return None
    found = [word for word, row in zip(depths, rows, strict=True) if row in kept]
    steps = motion.state_of(old.first).distance == 91
    if steps and not _come_back(editable, gone):
        return None
    heights = _heights(editable, old, kept, depths, steps=steps)
    numbers = [after - before for before, after in zip(heights, heights[1:], strict=False)]
    draft = Draft(context)
    draft.edits += [
        renumber(editable, word, number if steps else height)
        for word, number, height in zip(found, numbers, heights[1:], strict=True)
    ]
    draft.edits += [editable.dropped(block) for block in gone]
    writer = editable.writer(blocks[0], comments=context.comments)
    writer.remark(comment)
    if len(writer):
        draft.edits.append(editable.insertion(blocks[0], writer))
    scale = editable.modes.before(blocks[0]).scale
    top = float(motion.start[old.first, 2]) - float(heights[0]) * scale
    return Shortened(draft, tuple(float(each) * scale + top for each in heights[1:]))


def _only_moves(editable: Editable, block: int) -> bool:
    """Return whether a block that goes says nothing that those behind it need."""
    before, after = editable.modes.before(block), editable.modes.after(block)
    return before == after and {word.letter for word in words_of(editable, block)} <= _PLAIN


def _come_back(editable: Editable, blocks: list[int]) -> bool:
    """Return whether the X and the Y of blocks in G91 add up to nothing."""
    words = [word for block in blocks for word in words_of(editable, block)]
    return not any(
        sum((exact(editable, word) for word in words if word.letter == letter), Decimal(0))
        for letter in "XY"
    )


def _heights(
    editable: Editable, old: Helix, kept: list[int], depths: list[FoundWord], *, steps: bool
) -> list[Decimal]:
    """Return Z before the helix and behind each row that stays, in units; in G91 from 0 on."""
    motion = editable.motion
    numbers = [exact(editable, word) for word in depths]
    places = max(editable.manner.length.decimals, *(decimals_of(each) for each in numbers))
    if steps:
        top, bottom = Decimal(0), sum(numbers, Decimal(0))
    else:
        scale = editable.modes.before(motion.block_of(old.first)).scale
        top = round(Decimal(float(motion.start[old.first, 2]) / scale), 6)
        bottom = numbers[-1]
    shares = _shares(motion, old, kept)
    inner = [round(top + (bottom - top) * Decimal(float(share)), places) for share in shares[:-1]]
    return [top, *inner, bottom]


def _anew(context: Context, old: Helix, kept: list[int], comment: str) -> Shortened:
    """Write the rows that stay in new blocks, at the slowest of the old feeds."""
    motion, draft = context.motion, Draft(context)
    track = draft.track(old.first, old.last)
    track.writer.remark(comment)
    feed = float(motion.feed[old.first : old.last].min())
    heights = []
    for row, height in zip(kept, _evenly(motion, old, kept), strict=True):
        end = (*motion.end[row, :2].tolist(), height)
        track.arc(end, motion.centre[row].tolist(), float(motion.sweep[row]), feed)
        heights.append(float(track.position[2]))
    draft.replace(old.first, old.last, track)
    return Shortened(draft, tuple(heights))


def _evenly(motion: Motion, old: Helix, kept: list[int]) -> list[float]:
    """Return Z behind each row that stays, mm; the last one exactly."""
    top, bottom = float(motion.start[old.first, 2]), float(motion.end[old.last - 1, 2])
    shares = _shares(motion, old, kept)
    return [*(top + (bottom - top) * float(share) for share in shares[:-1]), bottom]


def _shares(motion: Motion, old: Helix, kept: list[int]) -> NDArray[np.float64]:
    """(k,): the share of the whole way down that has been gone behind each row that stays."""
    reached = np.cumsum(turns_of(motion, old)[np.array(kept) - old.first])
    result: NDArray[np.float64] = reached / reached[-1]
    return result
