"""Where holes come to lie under backlash, and how far apart their errors are.

One error for all holes moves the pattern as a whole, which the touch-off may take in; what the
pattern itself is out by is the spread: the greatest distance between the errors of two holes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.cuts import Cut, Shape
from gpre.geometry.arc import Floats, Ints
from gpre.geometry.tolerance import DUST
from gpre.motion.motion import Motion
from gpre.prediction.deviation import Deviation

_DIRECTIONS = 720  # in half a turn; the spread is met to 1 part in 400,000


@dataclass(frozen=True)
class Holes:
    """h holes along Z, in order, cycles and those written by hand; the pecks of one count once.

    row: (h,) the move into the hole. point: (h, 2) mm, program coordinates, X and Y as intended.
    low, high: (h, 2) mm, the error of the place, least and greatest. cycle: (h,) bool. spread_x,
    spread_y, spread: mm, the greatest difference between two errors on X, on Y and in the plane.
    """

    row: Ints
    point: Floats
    low: Floats
    high: Floats
    cycle: NDArray[np.bool_]
    spread_x: float
    spread_y: float
    spread: float

    def __len__(self) -> int:
        """Return the number of holes."""
        return len(self.row)


def holes_of(motion: Motion, cuts: Sequence[Cut], found: Deviation) -> Holes:
    """Find the holes of a program and their errors."""
    row = _rows(motion, cuts)
    at = np.searchsorted(found.row, row, side="right") - 1
    measured = (at >= 0) & (len(found) > 0)
    measured[measured] = found.row[at[measured]] == row[measured]
    row, at = row[measured], at[measured]
    near = np.isfinite(found.offset_low[at, 0])
    row, at = row[near], at[near]
    low, high = found.offset_low[at, :2], found.offset_high[at, :2]
    both = np.concatenate((low, high))
    spread_x, spread_y = np.ptp(both, axis=0) if len(both) else (0.0, 0.0)
    return Holes(
        row=row,
        point=found.point[at, :2],
        low=low,
        high=high,
        cycle=motion.role[row] != 0,
        spread_x=float(spread_x),
        spread_y=float(spread_y),
        spread=greatest_distance(low, high),
    )


def greatest_distance(low: Floats, high: Floats) -> float:
    """Return the greatest distance, mm, between two of h places (h, 2), known within bounds."""
    if not len(low):
        return 0.0
    angle = np.arange(_DIRECTIONS) * (np.pi / _DIRECTIONS)
    greatest = 0.0
    for x, y in zip(np.cos(angle).tolist(), np.sin(angle).tolist(), strict=True):
        far = high[:, 0] * max(x, 0.0) + low[:, 0] * min(x, 0.0) + high[:, 1] * y
        near = low[:, 0] * max(x, 0.0) + high[:, 0] * min(x, 0.0) + low[:, 1] * y
        greatest = max(greatest, float(far.max() - near.min()))
    return greatest


def _rows(motion: Motion, cuts: Sequence[Cut]) -> Ints:
    """(h,): the first move into each hole; a peck at the place of the one before is none."""
    order = [number for number, cut in enumerate(cuts) if cut.shape is Shape.HOLE]
    if not order:
        return np.zeros(0, np.intp)
    number = np.array(order)
    row = np.array([cuts[each].first for each in order])
    point = motion.end[row, :2]
    again = np.zeros(len(row), np.bool_)
    again[1:] = (np.abs(np.diff(point, axis=0)) <= DUST).all(axis=1) & (np.diff(number) == 1)
    tool = np.array([state.tool for state in motion.states])[motion.state[row]]
    again[1:] &= np.diff(tool) == 0
    result: Ints = row[~again]
    return result
