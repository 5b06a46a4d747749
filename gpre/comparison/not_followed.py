"""Differences that no motion shows: they stand where the programs cannot be followed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.codes import is_error
from gpre.motion.events import EventKind
from gpre.program.words import BlockFlag
from gpre.proof.blocks import Hunk
from gpre.proof.side import Side

_DARK = int(BlockFlag.UNREADABLE | BlockFlag.FLOW | BlockFlag.LATHE)


def hidden_difference(before: Side, after: Side, hunks: Sequence[Hunk]) -> str:
    """Name the first changed block that is not understood or not followed, or give ""."""
    dark = _not_understood(before), _not_understood(after)
    for hunk in hunks:
        for side, blocks, first, last, which in (
            (before, dark[0], hunk.before, hunk.before_end, "first"),
            (after, dark[1], hunk.after, hunk.after_end, "second"),
        ):
            found = np.flatnonzero(blocks[first:last])
            if len(found):
                line = first + int(found[0]) + 1
                told = "is not understood" if _has_fault(side, line - 1) else "cannot be followed"
                return f"line {line} of the {which} program differs, and it {told}"
    return ""


def _not_understood(side: Side) -> NDArray[np.bool_]:
    """(m,): blocks of which the motion says nothing, or nothing that holds."""
    result: NDArray[np.bool_] = (side.program.blocks.flags & _DARK) > 0
    for block in _faulty(side):
        result[block] = True
    if not any(event.kind is EventKind.END for event in side.motion.events):
        result[side.motion.followed_to :] = True
    return result


def _faulty(side: Side) -> set[int]:
    return {
        side.program.source.block_of(finding.span.start)
        for finding in (*side.program.findings, *side.motion.findings)
        if finding.span is not None and is_error(finding)
    }


def _has_fault(side: Side, block: int) -> bool:
    flags = int(side.program.blocks.flags[block])
    return bool(flags & int(BlockFlag.UNREADABLE)) or block in _faulty(side)
