"""Whether block numbers matter to how a program runs."""

from __future__ import annotations

import numpy as np

from gpre.motion.events import EventKind
from gpre.motion.motion import Motion
from gpre.program.program import Program
from gpre.program.words import BlockFlag


def goes_to_numbers(program: Program, motion: Motion) -> bool:
    """Return whether jumps, calls or returns may go to blocks by their numbers."""
    if np.any(program.blocks.flags & int(BlockFlag.FLOW)):
        return True
    kinds = {event.kind for event in motion.events}
    return EventKind.HANDOVER in kinds or (EventKind.CALL in kinds and _names_numbers(program))


def _names_numbers(program: Program) -> bool:
    """Return whether calls or returns go by block numbers: M97, or M99 with P."""
    words = program.words
    codes = words.letter == ord("M")
    back = words.block[codes & (words.value == 99.0)]
    if (codes & (words.value == 97.0)).any():
        return True
    if np.isin(words.block[words.letter == ord("P")], back).any():
        return True
    # a statement may compute its code
    return any(word.letter == "M" for each in program.statements.values() for word in each.words)
