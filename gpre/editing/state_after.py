"""What an edit of whole rows needs: its blocks to itself, and what stands behind it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gpre.editing.editable import Editable
from gpre.editing.modes import MOTION_CODES, Modes
from gpre.editing.word_edits import g_codes, letters_in
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.events import EventKind
from gpre.motion.motion import Kind
from gpre.program.words import BlockFlag

_AHEAD = 32  # blocks looked at
_QUIET = BlockFlag.BLANK | BlockFlag.COMMENT


@dataclass(frozen=True, slots=True)
class Freedom:
    """What the blocks behind an edit state themselves, before any of it matters.

    z: the height, by a rapid in absolute terms. xy: the place, by rapids in absolute terms, while
    the height is at the clearance or rising to it.
    """

    z: bool
    xy: bool


def wanted_after(editable: Editable, block: int, left: Modes) -> Modes:
    """Return the modes that the blocks behind `block` need.

    Those that `block` leaves; but the motion code and the feed may be whatever `left` has where
    the next block with words states its own.
    """
    return _wanted(editable, editable.modes.after(block), block + 1, left)


def wanted_before(editable: Editable, block: int, left: Modes) -> Modes:
    """Return the modes that `block` and those behind it need; the same as `wanted_after` else.

    Not those that the block before it in the text leaves: that may be a call.
    """
    return _wanted(editable, editable.modes.before(block), block, left)


def _wanted(editable: Editable, wanted: Modes, block: int, left: Modes) -> Modes:
    following = _next_with_words(editable, block)
    if following is None:
        return wanted
    if any(code in MOTION_CODES for code in g_codes(editable, following)):
        wanted = replace(wanted, motion=left.motion)
    if "F" in letters_in(editable, following):
        wanted = replace(wanted, feed=left.feed)
    return wanted


def why_not_rows(editable: Editable, first: int, last: int) -> str:
    """Say why the rows cannot be written anew as whole blocks, or ""."""
    motion = editable.motion
    first_block, last_block = motion.blocks_of(first, last)
    if first and motion.block[first - 1] == first_block:
        return "a block makes more than one move"
    if last < len(motion) and motion.block[last] == last_block:
        return "a block makes more than one move"
    return editable.why_not_replace(first_block, last_block)


def freedom_after(editable: Editable, row: int, clearance: float) -> Freedom:
    """Tell what the moves from `row` on state themselves.

    Only rapids in G90 count, with nothing between that does more than move; the place only where
    the height stated before it is not below the clearance, mm.
    """
    motion = editable.motion
    if any(event.kind is EventKind.CALL for event in editable.events_before(row)):
        return Freedom(z=False, xy=False)
    z = False
    stated: set[str] = set()
    for each in range(row, min(row + _AHEAD, len(motion))):
        block = motion.block_of(each)
        if motion.kind[each] != Kind.RAPID or motion.role[each] or editable.events_in(block):
            break
        plain = not editable.program.blocks.flags[block] & ~(_QUIET | BlockFlag.NUMBERED)
        if not plain or motion.state_of(each).distance != 90 or editable.row_count[block] != 1:
            break
        if each > row and editable.barrier_between(each - 1, each):
            break
        letters = letters_in(editable, block)
        z |= "Z" in letters
        if not z or motion.end[each, 2] < clearance - RESOLUTION:
            break
        stated |= letters
        delta = np.abs(motion.end[each, :2] - motion.start[each, :2])
        if {"X", "Y"} <= stated:
            return Freedom(z, xy=True)
        if delta.max() > 0:
            break
    return Freedom(z, xy=False)


def place_stated(editable: Editable, row: int) -> bool:
    """Return whether a move is a level or rising rapid that states X and Y in G90, next to happen.

    Nothing may happen between the move before it and its own block, and its block only moves.
    """
    motion = editable.motion
    block = motion.block_of(row)
    if motion.kind[row] != Kind.RAPID or motion.role[row] or editable.row_count[block] != 1:
        return False
    if motion.state_of(row).distance != 90 or editable.why_not_touch(block):
        return False
    if motion.end[row, 2] < motion.start[row, 2] - RESOLUTION or editable.events_before(row):
        return False
    return {"X", "Y"} <= letters_in(editable, block)


def _next_with_words(editable: Editable, block: int) -> int | None:
    flags = editable.program.blocks.flags
    for each in range(block, min(block + _AHEAD, len(editable.program))):
        if flags[each] & ~(_QUIET | BlockFlag.NUMBERED):
            return None
        if editable.program.blocks.first_word[each + 1] > editable.program.blocks.first_word[each]:
            return each
    return None
