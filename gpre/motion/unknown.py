"""Where an axis stands is known, or not known since a block for a reason.

A place that depends on what nobody has told (the origin of a work system, the length of a tool,
home, where a tool change leaves the axes) is not known from that word on, until the program states
it under what is in force then. In the columns of Motion such a place is NaN; two places that are
not known are never the same place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

UNTOLD = "a number in the program is not known"


@dataclass(frozen=True, slots=True)
class Lost:
    """From here on an axis stands at a place that is not known.

    axis: 0 X, 1 Y, 2 Z. block: where that came about. move: the next move (row of Motion). reason:
    what is not known, for people.
    """

    axis: int
    block: int
    move: int
    reason: str


@dataclass(frozen=True, slots=True)
class Unknown:
    """A stretch of moves that begin or end where an axis is not known.

    axis: 0 X, 1 Y, 2 Z. block: since which block. first, last: rows of Motion, half open. reason:
    what is not known, for people.
    """

    axis: int
    block: int
    first: int
    last: int
    reason: str


def unknown_stretches(
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    block: NDArray[np.int32],
    lost: Sequence[Lost],
) -> tuple[Unknown, ...]:
    """Return where axes are not known, in order of the moves.

    start, end: (n, 3) mm, NaN where not known. block: (n,). lost: in order of the moves.
    """
    found: list[Unknown] = []
    for axis in range(3):
        # column by column: the rows of a long program need no copy
        odd = np.flatnonzero(~(np.isfinite(start[:, axis]) & np.isfinite(end[:, axis])))
        if len(odd):
            found += _of_axis(axis, odd, block, [each for each in lost if each.axis == axis])
    return tuple(sorted(found, key=lambda each: (each.first, each.axis)))


def _of_axis(
    axis: int, odd: NDArray[np.intp], block: NDArray[np.int32], lost: list[Lost]
) -> list[Unknown]:
    """Cut the moves `odd` into stretches: a new one where a row is left out or the axis is lost."""
    moves = np.array([each.move for each in lost], np.intp)
    cause = np.searchsorted(moves, odd, side="right") - 1
    new = np.ones(len(odd), bool)
    new[1:] = (np.diff(odd) > 1) | (cause[1:] != cause[:-1])
    firsts = np.flatnonzero(new)
    result = []
    reached = -1  # the last cause that a stretch was put down to
    for at, until in zip(firsts.tolist(), [*firsts[1:].tolist(), len(odd)], strict=True):
        first, last, why = int(odd[at]), int(odd[until - 1]) + 1, int(cause[at])
        if why > reached:  # the first stretch after it is due to it
            reached = why
            result.append(Unknown(axis, lost[why].block, first, last, lost[why].reason))
        else:
            result.append(Unknown(axis, int(block[first]), first, last, UNTOLD))
    return result
