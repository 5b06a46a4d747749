"""At what height the original itself travels at rapid: no metal and no clamp can be there.

The plane of a setup (what lies between two tool changes, offsets, home moves ...) is the lowest Z
of a rapid of the original that moves in X or Y on one level, provided that it is no travel beside
the part or through what is cut: it must lie above all that this program has cut sideways so far,
not below the top of the stock where that is known, and either not below the starts of all
plunges or above a place where this setup cuts. (Common practice, no source.)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.mill.job import Job
from gpre.proof.side import Side

Floats = NDArray[np.float64]

LEVEL = 1e-4  # mm; what changes less in Z is level, what changes less in XY is upright


def travel_planes(side: Side, job: Job) -> Floats:
    """(s,) mm: the plane of each setup, `inf` where the original shows none."""
    count = int(side.setup.max(initial=0)) + 1
    return np.array([_plane(side, job, setup) for setup in range(count)])


def _plane(side: Side, job: Job, setup: int) -> float:
    motion = side.motion
    low = np.minimum(motion.start[:, 2], motion.end[:, 2])
    high = np.maximum(motion.start[:, 2], motion.end[:, 2])
    sideways = np.hypot(*(motion.end - motion.start)[:, :2].T) > LEVEL
    level = high - low <= LEVEL
    mine = side.setup == setup
    rapid = np.zeros(len(motion), bool)
    rapid[side.rapids] = True
    candidates = np.flatnonzero(rapid & mine & sideways & level)
    moved = np.flatnonzero(~level | ~np.isfinite(high))
    # where the tool stands before the first word in Z is only assumed
    candidates = candidates[candidates > (moved[0] if len(moved) else len(motion))]
    if not len(candidates):
        return np.inf
    feed = np.zeros(len(motion), bool)
    feed[side.feeding] = True
    sideways |= motion.sweep != 0.0
    earlier = feed & (side.setup <= setup) & sideways & _same_origin(side, candidates[0])
    cut = high[earlier & level].max(initial=-np.inf)
    ramps = high[earlier & ~level].max(initial=-np.inf)
    z = low[candidates]
    fit = (z > cut + LEVEL) & (z >= ramps - LEVEL)
    plunges = feed & mine & ~level & (motion.end[:, 2] < motion.start[:, 2])
    over = _over(side, candidates, np.flatnonzero(feed & mine))
    fit &= over | (z >= high[plunges].max(initial=-np.inf) - LEVEL)
    if job.stock is not None:
        fit &= z >= job.stock.greatest[2] - LEVEL
    return float(z[fit].min(initial=np.inf))


def _same_origin(side: Side, row: int) -> NDArray[np.bool_]:
    origin = side.motion.state_of(int(row)).origin
    same = np.array([state.origin == origin for state in side.motion.states], bool)
    result: NDArray[np.bool_] = same[side.motion.state]
    return result


def _over(side: Side, rapids: NDArray[np.intp], cuts: NDArray[np.intp]) -> NDArray[np.bool_]:
    """(k,): the rapids that pass over the box in XY in which the setup cuts."""
    motion = side.motion
    if not len(cuts):
        return np.zeros(len(rapids), bool)
    ends = np.concatenate((motion.start[cuts], motion.end[cuts]))[:, :2]
    least, greatest = ends.min(axis=0), ends.max(axis=0)
    start, end = motion.start[rapids, :2], motion.end[rapids, :2]
    apart = (np.maximum(start, end) < least - LEVEL) | (np.minimum(start, end) > greatest + LEVEL)
    result: NDArray[np.bool_] = ~apart.any(axis=1)
    return result
