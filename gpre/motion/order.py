"""The order in which the blocks of a program run, which is not that of the text where it calls.

A *step* is one run of one block. Without calls, block and step are the same number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.motion.events import Event
from gpre.motion.motion import Motion

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class RunOrder:
    """Steps, m blocks and n moves.

    steps: (k,) the block of each step; the first `ran` of them run, behind them stand the blocks
    that never do, in the order of the text. first: (m,) the first step of each block. runs: (m,)
    how often each block runs. of_row: (n,) the step that makes each move. row_at: (k,) the first
    move made from each step on, n where there is none.
    """

    steps: Ints
    ran: int
    first: Ints
    runs: Ints
    of_row: Ints
    row_at: Ints

    def in_line(self, first: int, last: int) -> bool:
        """Return whether the blocks `first` to `last` run once, one after the other."""
        once = (self.runs[first : last + 1] == 1).all()
        return bool(first <= last and once and self.first[last] - self.first[first] == last - first)

    def follows(self, block: int) -> bool:
        """Return whether a block runs right behind the one before it in the text, or runs first."""
        step = int(self.first[block])
        return step == 0 or int(self.steps[step - 1]) == block - 1

    def of_events(self, events: Sequence[Event]) -> Ints:
        """(e,): the step in which each event happens; the last that can be where several can."""
        block = np.array([event.block for event in events], np.int64)
        move = np.array([event.move for event in events], np.int64)
        if (self.runs[block] <= 1).all():
            return self.first[block]
        # steps by block and by the moves made before them; both grow together within a block
        wide = len(self.of_row) + 1
        keys = self.steps * wide + self.row_at
        order = np.argsort(keys, kind="stable")
        at = np.searchsorted(keys[order], block * wide + move, side="right") - 1
        return order[np.maximum(at, 0)].astype(np.int64)


def run_order(blocks: int, motion: Motion) -> RunOrder:
    """Find the order in which the `blocks` of a program ran to make a motion."""
    walked = motion.walked.astype(np.int64)
    if not len(walked):
        walked = np.array([[0, motion.followed_to or blocks, 0]], np.int64)
    first, length, row = walked[:, 0], walked[:, 1] - walked[:, 0], walked[:, 2]
    begins = np.cumsum(length) - length  # the step with which each stretch begins
    ran = int(length.sum())
    steps = np.arange(ran) + np.repeat(first - begins, length)
    runs = np.bincount(steps, minlength=blocks).astype(np.int64)
    steps = np.concatenate((steps, np.flatnonzero(runs == 0)))
    first_step = np.zeros(blocks, np.int64)
    first_step[steps[::-1]] = np.arange(len(steps))[::-1]
    which = np.searchsorted(row, np.arange(len(motion)), side="right") - 1
    of_row = begins[which] + motion.block - first[which]
    row_at = np.searchsorted(of_row, np.arange(len(steps)), side="left")
    return RunOrder(steps, ran, first_step, runs, of_row, row_at.astype(np.int64))
