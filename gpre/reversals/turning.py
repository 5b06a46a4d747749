"""Where an axis must turn along a path, whatever is done within a tolerance of the path.

A path within t mm of another turns each axis at least as often as that one does when a turn counts
once the axis has come back by more than 2 t. That is the allowance here. Lengths mm. Paths are
chains of points; those along an arc lie within `CHORD_SHARE` of the allowance of it, which the
counts allow for.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path
from gpre.geometry.arc import Floats, Ints
from gpre.geometry.tolerance import DUST
from gpre.motion.motion import Motion
from gpre.reversals.runs import turns_of

CHORD_SHARE = 0.05  # of the allowance
_MOST_LOOKED_AT = 4_000_000  # turns times points; beyond, what is asked is taken for granted


@dataclass(frozen=True)
class Turning:
    """Where one axis turns along a chain of n points, in order.

    at: (k,) the points that are the extremes. low, high: (k,), on either side, in fractions of a
    step from point to point, as far as the axis stays within the allowance of the extreme: a path
    that starts there has no turn there. bend: (k,) int8, +1 where the path bends left there, in the
    plane of X and Y, -1 right, 0 where it goes back as it came. size: n where the chain is a ring,
    which low and high may run beyond; else 0.
    """

    at: Ints
    low: Floats
    high: Floats
    bend: NDArray[np.int8]
    size: int = 0

    def __len__(self) -> int:
        """Return the number of turns."""
        return len(self.at)


def chain_of(motion: Motion, first: int, last: int, allowance: float) -> Floats:
    """(n, 3) mm: the points along the rows `first` to `last`, half open.

    Round a circle of hundreds of metres the chords may be longer than the allowance has it.
    """
    moves = path.take(motion, slice(first, last))
    away = moves.start - moves.centre
    radius = float(np.nan_to_num(np.abs(away)).max(initial=0.0))
    points = path.sample(moves, max(allowance * CHORD_SHARE, radius * DUST))[2]
    apart = np.abs(np.diff(points, axis=0)).max(axis=1, initial=0.0) > 0.0
    result: Floats = points[np.concatenate(([True], apart))]
    return result


def count_turns(values: Floats, allowance: float) -> int:
    """Count how often an axis turns along values (n,), mm, whichever way it came to the first."""
    return len(_extremes(values, _reach(allowance)))


def turning(chain: Floats, axis: int, allowance: float, *, ring: bool) -> Turning:
    """Find where X or Y (0, 1) turns along a chain (n, 3); a ring ends where it starts.

    In a ring each turn counts, wherever one would start.
    """
    reach = _reach(allowance)
    if not ring:
        at = _extremes(chain[:, axis], reach)
        return _regions(chain, at, axis, reach, size=0)
    points = chain[:-1]
    size = len(points)
    values = points[:, axis]
    if not size or float(np.ptp(values)) <= reach:
        return _regions(points, np.zeros(0, np.intp), axis, reach, size=size)
    outset = int(np.argmax(values))
    order = np.append(np.arange(outset, outset + size), outset) % size
    at = order[np.concatenate(([0], _extremes(values[order], reach)))]
    return _regions(points, np.sort(at), axis, reach, size=size)


def coincide(one: Turning, other: Turning) -> bool:
    """Return whether a path can start at a turn of both axes at once."""
    if not len(one) or not len(other):
        return False
    if len(one) * len(other) > _MOST_LOOKED_AT:
        return True
    shifts = (-one.size, 0, one.size) if one.size else (0,)
    for shift in shifts:
        meets = one.low[:, None] + shift <= other.high[None, :]
        meets &= one.high[:, None] + shift >= other.low[None, :]
        if meets.any():
            return True
    return False


def _reach(allowance: float) -> float:
    return allowance * (1.0 + 2.0 * CHORD_SHARE)


def _extremes(values: Floats, reach: float) -> Ints:
    """(k,): the numbers of the values at which they turn by more than `reach`."""
    travel = np.diff(values)
    moving = np.flatnonzero(travel)
    return moving[turns_of(travel[moving], reach)[0]].astype(np.intp)


def _regions(points: Floats, at: Ints, axis: int, reach: float, *, size: int) -> Turning:
    """Look on both sides of the extremes for where the axis has left them by more than `reach`."""
    count = len(points)
    low, high = at.astype(np.float64), at.astype(np.float64)
    bend = np.zeros(len(at), np.int8)
    if len(at) * count > _MOST_LOOKED_AT:
        low[:], high[:] = 0.0, float(count)
        return Turning(at, low, high, bend, size)
    values, beside = points[:, axis], points[:, 1 - axis]
    for number, place in enumerate(at.tolist()):
        away = values - values[place]
        outside = np.flatnonzero(np.abs(away) > reach)
        before, after = _neighbours(outside, place, count, size)
        ends = []
        for far, step in ((before, 1), (after, -1)):
            near = far + step
            share = _share(float(away[far % count]), float(away[near % count]), reach)
            ends.append((far + step * share, _between(beside, far % count, near % count, share)))
        (low[number], came), (high[number], went) = ends
        # at its greatest X a path that goes on to greater Y bends left; Y the other way round
        way = np.sign(went - came) * (-1.0 if away[before % count] > 0.0 else 1.0)
        bend[number] = int(way if axis == 0 else -way)
    return Turning(at, low, high, bend, size)


def _neighbours(outside: Ints, place: int, count: int, size: int) -> tuple[int, int]:
    """Return the last point before a place and the first behind it that lie outside, unwrapped."""
    rank = int(np.searchsorted(outside, place))
    before = int(outside[rank - 1]) - (count if size and rank == 0 else 0)
    after = int(outside[rank % len(outside)]) + (count if size and rank == len(outside) else 0)
    return before, after


def _share(far: float, near: float, reach: float) -> float:
    """Return the share of the way from `far`, outside, to `near` at which |value| is `reach`."""
    way = 1.0 if far > 0.0 else -1.0
    return (far * way - reach) / ((far - near) * way)


def _between(values: Floats, one: int, other: int, share: float) -> float:
    return float(values[one] + (values[other] - values[one]) * share)
