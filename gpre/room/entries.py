"""How a program comes down to a cut and leaves it, and where a tool may come down anew.

Three grounds for a descent: the tool stood there at this depth in the original, so nothing but
the stock can be in its column; a tool whose edge is clear of the stock is in the air; and where
the tool has just cut, its own slot is open.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, hypot

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.cuts import Cut
from gpre.cuts.levels import slopes_of
from gpre.geometry import path
from gpre.geometry.tolerance import COARSE_CHORD, DUST, RESOLUTION
from gpre.mill.job import Box, Job
from gpre.mill.mill import Mill
from gpre.motion.motion import Kind, Motion
from gpre.reversals.screw_side import FORGETS

RAPID_ENDS_ABOVE = 1.0  # mm above the metal; common practice, no source
_BACK = 10_000  # moves looked back to find which way an axis travelled last


@dataclass(frozen=True, slots=True)
class Reach:
    """How the original comes to a cut and leaves it.

    first: first row of the upright way down, or of the cut. clearance: Z at which it travels over
    the cut at rapid, the higher of before and after, mm. floor: Z where its descent at rapid ended.
    """

    first: int
    clearance: float
    floor: float


def reach_of(motion: Motion, cut: Cut) -> Reach | None:
    """Find the way in and out of a cut; None where a rapid does not lead to it and from it."""
    before, after = cut.first - 1, cut.last
    if before < 0 or motion.kind[before] != Kind.RAPID:
        return None
    down = before
    while down >= 0 and _upright_rapid(motion, down) and _rise(motion, down) <= RESOLUTION:
        down -= 1
    if down < 0 or motion.kind[down] != Kind.RAPID:
        return None
    while down < before and _rise(motion, down + 1) >= -RESOLUTION:
        down += 1  # a move of no length is not part of the way down
    start, floor = float(motion.end[down, 2]), float(motion.start[cut.first, 2])
    high = max(start, floor)
    if after < len(motion) and motion.kind[after] == Kind.RAPID:
        up = after
        while up < len(motion) and _upright_rapid(motion, up) and _rise(motion, up) >= -RESOLUTION:
            high = max(high, float(motion.end[up, 2]))
            up += 1
    if not np.isfinite(high) or not np.isfinite(motion.start[down + 1]).all():
        return None
    return Reach(down + 1, high, floor)


def _upright_rapid(motion: Motion, row: int) -> bool:
    rows = slice(row, row + 1)
    return bool(motion.kind[row] == Kind.RAPID and slopes_of(motion, rows).upright[0])


def _rise(motion: Motion, row: int) -> float:
    return float(motion.end[row, 2] - motion.start[row, 2])


@dataclass(frozen=True, slots=True)
class Air:
    """Where a tool of this radius is clear of the stock; lengths mm."""

    stock: Box
    radius: float

    def clear_of(self, point: NDArray[np.float64]) -> bool:
        """Return whether a tool whose centre stands at (x, y) touches no stock at any depth."""
        beyond = [
            max(self.stock.min[axis] - point[axis], point[axis] - self.stock.max[axis], 0.0)
            for axis in range(2)
        ]
        return hypot(*beyond) > self.radius

    def floor(self, reach: Reach, unit: float) -> float | None:
        """Z down to which a rapid stays above the stock, mm; None where the clearance is not.

        The program's own, if it is above the stock and below the clearance, so that the axis turns
        at rapid; else a height in round numbers of the program's unit (mm).
        """
        top = self.stock.max[2]
        if reach.clearance <= top + RESOLUTION:
            return None
        if top + RESOLUTION < reach.floor < reach.clearance - RESOLUTION:
            return reach.floor
        return above_stock(self.stock, reach.clearance, unit)


def above_stock(stock: Box, level: float, unit: float) -> float:
    """Z at which a descent at rapid from `level` ends, mm: a little above the stock.

    In hundredths of the program's unit (mm), or half way where `level` is lower than that.
    """
    top = stock.max[2]
    step = unit / 100.0
    return min((top + level) / 2.0, ceil((top + RAPID_ENDS_ABOVE) / step - DUST) * step)


def air_of(job: Job, motion: Motion, row: int) -> Air | tuple[str, ...]:
    """Return what is known of tool and stock at a move, or what the user must give."""
    number = motion.state_of(row).tool
    tool = job.tools.get(number)
    missing = ((f"tool {number}",) if tool is None else ()) + (
        ("stock",) if job.stock is None else ()
    )
    if tool is None or job.stock is None:
        return missing
    return Air(job.stock, tool.diameter / 2.0)


def one_zero(motion: Motion) -> bool:
    """Return whether all moves at feed count from the same zero, so that the stock box holds."""
    rows = np.unique(motion.state[motion.at_feed])
    origins = {motion.states[int(row)].frame for row in rows}
    return len(origins) <= 1


def first_ways(motion: Motion, first: int, last: int) -> NDArray[np.int8]:
    """(3,): the way in which each axis starts to travel in the rows, 0 where it does not."""
    ways = np.zeros(3, np.int8)
    at, size = first, 16
    while at < last and not ways.all():
        found = _ways(motion, slice(at, min(at + size, last)), 1, ways == 0)
        ways = np.where(ways == 0, found, ways).astype(np.int8)
        at, size = at + size, size * 4
    return ways


def last_ways(motion: Motion, first: int, last: int) -> NDArray[np.int8]:
    """(3,): the way in which each axis travels last in the rows, 0 where it does not."""
    ways = np.zeros(3, np.int8)
    at, size = last, 16
    while at > first and not ways.all():
        found = _ways(motion, slice(max(at - size, first), at), -1, ways == 0)
        ways = np.where(ways == 0, found, ways).astype(np.int8)
        at, size = at - size, size * 4
    return ways


def heading_before(motion: Motion, row: int) -> NDArray[np.int8]:
    """(3,): the way in which each axis travelled last before a move, 0 where it is not known."""
    forgotten = motion.moves_at(FORGETS)
    forgotten = forgotten[forgotten <= row]
    return last_ways(motion, max(row - _BACK, int(forgotten[-1]) if len(forgotten) else 0), row)


def _ways(motion: Motion, rows: slice, step: int, asked: NDArray[np.bool_]) -> NDArray[np.int8]:
    """(3,): the way of each axis asked about, (3,), in the first of the rows in which it moves."""
    result = np.zeros(3, np.int8)
    known = np.isfinite(motion.end[rows]).all() and np.isfinite(motion.start[rows]).all()
    if rows.start >= rows.stop or not known:
        return result
    # a straight move that keeps these axes where they are need not be looked at
    goes = (np.abs(motion.travel(rows)) > RESOLUTION)[:, asked].any(axis=1)
    goes |= (motion.sweep[rows] != 0.0) & _bends(motion, rows)[:, asked].any(axis=1)
    which = rows.start + np.flatnonzero(goes)
    moves = path.take(motion, which)
    row, _, points = path.sample(path.with_few_turns(moves), COARSE_CHORD)
    # small travels add up: a helix may fall by less than the resolution from chord to chord
    travel = (points - moves.start[row] if step > 0 else moves.end[row] - points)[::step]
    for axis in np.flatnonzero(asked).tolist():
        moving = np.flatnonzero(np.abs(travel[:, axis]) > RESOLUTION)
        if len(moving):
            result[axis] = np.sign(travel[moving[0], axis])
    return result


def _bends(motion: Motion, rows: slice) -> NDArray[np.bool_]:
    """(n, 3): the two axes of the plane in force for each move."""
    normal = 19 - motion.plane[rows].astype(np.intp)  # G17: Z, G18: Y, G19: X
    result: NDArray[np.bool_] = normal[:, None] != np.arange(3)
    return result


def take_up_point(
    mill: Mill,
    here: NDArray[np.float64],
    goal: NDArray[np.float64],
    heading: NDArray[np.int8],
    wanted: NDArray[np.int8],
    *,
    unit: float = 1.0,
) -> NDArray[np.float64]:
    """(2,) mm: where to go first so that `goal` is reached in the wanted way of X and of Y.

    heading: how each axis travelled last. An axis that reaches the goal in the wanted way with its
    backlash taken up keeps the goal's coordinate. unit: mm; distances are rounded up to hundredths.
    """
    point = goal[:2].copy()
    for axis in range(2):
        way, travel = int(wanted[axis]), float(goal[axis] - here[axis])
        if not way:
            continue
        distance = ceil(round(mill.overshoot(axis) / unit * 100.0, 6)) / 100.0 * unit
        onward = travel * way >= -RESOLUTION and heading[axis] == way
        if not onward and travel * way < distance:
            point[axis] = goal[axis] - way * distance
    return point
