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
    if any(event.kind is EventKind.HANDOVER for event in motion.events):
        return True
    return _names_numbers(program)


def _names_numbers(program: Program) -> bool:
    """Return whether it goes back to a block number: M99 with P, also in the main program."""
    words = program.words
    back = words.block[(words.letter == ord("M")) & (words.value == 99.0)]
    if np.isin(words.block[words.letter == ord("P")], back).any():
        return True
    # a statement may compute its code
    return any(word.letter == "M" for each in program.statements.values() for word in each.words)
