"""Which moves of a program a take-up may change, and why not."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.editing.editable import Editable
from gpre.editing.word_edits import HOMES, MACHINE, find_word, g_codes
from gpre.motion.events import EventKind
from gpre.motion.motion import Kind, Motion, Role

LEFT = {870: "G87 moves beside its hole", 880: "the operator takes the tool out in G88"}


def not_carried(motion: Motion) -> NDArray[np.bool_]:
    """(n,) bool: the moves at feed that stay as they are, as not enough is known of them.

    They start or end at a place that is not known, or come before any feed is set: a program may
    go up so at its head.
    """
    result: NDArray[np.bool_] = motion.at_feed & ~(motion.known & np.isfinite(motion.feed))
    return result


def free_rows(editable: Editable) -> NDArray[np.bool_]:
    """(n,) bool: the moves whose numbers may be written anew."""
    motion = editable.motion
    free = editable.touchable & motion.known & ~motion.called & ~not_carried(motion)
    arc = motion.kind == Kind.ARC
    free &= ~arc | (np.isfinite(motion.centre).sum(axis=1) >= 2)
    free &= (motion.role != Role.NONE) | (editable.row_count[motion.block] == 1)
    odd = {one.block for one in motion.events if one.kind in {EventKind.HOME, EventKind.PROBE}}
    odd |= _machine_blocks(editable)
    for row in np.flatnonzero(motion.role != Role.NONE).tolist():
        if motion.block_of(row) not in odd and _why_not_cycle(editable, row):
            odd.add(motion.block_of(row))
    if odd:
        free &= ~np.isin(motion.block, list(odd))
    return free


def _machine_blocks(editable: Editable) -> set[int]:
    words = editable.program.words
    codes = np.rint(words.value * 10.0)
    stated = (words.letter == ord("G")) & np.isin(codes, [MACHINE, *HOMES])
    return set(words.block[stated].tolist())


def _why_not_cycle(editable: Editable, row: int) -> str:
    motion, block = editable.motion, editable.motion.block_of(row)
    if motion.plane[row] != 17:
        return "the cycle does not drill along Z"
    code = motion.state_of(row).motion
    if code in LEFT:
        return LEFT[code]
    repeats = find_word(editable, block, "L")
    if repeats is not None and repeats.value > 1.5:
        return "the cycle repeats its hole"
    return ""


def why_not_free(editable: Editable, row: int) -> str:
    """Say why a move cannot be changed."""
    motion, block = editable.motion, editable.motion.block_of(row)
    if motion.called[row]:
        return "it belongs to a subprogram"
    if not motion.known[row]:
        return "the place of the tool there is not known"
    reason = editable.why_not_touch(block)
    if reason:
        return reason
    if motion.role[row] != Role.NONE:
        return _why_not_cycle(editable, row) or "the cycle cannot be written anew"
    if MACHINE in g_codes(editable, block):
        return "it counts from the machine's zero"
    return "the block does more than one move"
