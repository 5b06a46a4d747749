"""At what height the original itself travels at rapid: no metal and no clamp can be there.

The plane of a setup (what lies between two tool changes, offsets, home moves ...) is the lowest Z
at which a rapid of the original arrives that moves in X or Y, provided that it is no travel beside
the part or through what is cut: it must lie above all that this program has cut sideways so far,
not below the top of the stock where that is known, and either not below the starts of all
plunges or above a place where this setup cuts. The first rapid that states a Z counts as well, and
each that comes from where nobody knows: where they start is not told. Where the stock is not known
such a rapid may run beside it, or over a floor that was cut before. So it must not lie below the
zero; and where something is cut at the zero or above, which then is not the top of the metal, only
the highest of these rapids counts. (Common practice, no source.)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.job import Box, Job
from gpre.motion.programmed import arrivals, first_in_z
from gpre.proof.side import BREAKS, Side, sub

Floats = NDArray[np.float64]


def travel_planes(side: Side, job: Job) -> Floats:
    """(s,) mm: the plane of each setup, `inf` where the original shows none."""
    stock = job.stock if one_zero(side) else None
    under = _under_the_top(side)
    return np.array(
        [_plane(side, stock, setup, under=bool(each)) for setup, each in enumerate(under)]
    )


def one_zero(side: Side) -> bool:
    """Return whether all is cut from one zero, so that the stock can be told to lie there."""
    states = side.motion.states
    used = np.unique(side.motion.state[side.feeding]).tolist()
    return len({states[number].frame for number in used}) <= 1


def _setups(side: Side) -> int:
    return 1 + sum(event.kind in BREAKS for event in side.motion.events)


def above_planes(
    after: Side, before: Side, planes: Floats, row: NDArray[np.intp], z: Floats
) -> NDArray[np.bool_]:
    """(k,): the points, at heights `z` of moves `row` of `after`, that lie clear of all work.

    On or above the plane of their setup. The first move in Z comes from a place that is only
    assumed: its end decides. Before it the tool travels at the height where the operator left it;
    it may do so where the original does.
    """
    above: NDArray[np.bool_] = z >= planes[after.setup[row]] - RESOLUTION
    first = first_in_z(after.motion)
    if first < len(after.motion) and not after.motion.at_feed[first]:
        clear = after.motion.end[first, 2] >= planes[after.setup[first]] - RESOLUTION
        above |= (row == first) & clear
    travels = bool(np.isin(before.rapids, np.arange(first_in_z(before.motion))).any())
    above |= (row < first) & travels
    return above


def _under_the_top(side: Side) -> NDArray[np.bool_]:
    """(s,): the setups whose zero is not the top of the metal: something is cut at it or above.

    It is the table, then, or the finished face under what is to be faced.
    """
    rows = side.feeding
    delta = side.motion.end[rows] - side.motion.start[rows]
    sideways = (np.hypot(delta[:, 0], delta[:, 1]) > RESOLUTION) | (side.motion.sweep[rows] != 0.0)
    high = sideways & (paths.bounds(sub(side, rows))[0][:, 2] > -RESOLUTION)
    numbers = {state.frame: number for number, state in enumerate(side.motion.states)}
    frame = side.of_state([numbers[state.frame] for state in side.motion.states])[rows]
    result = np.zeros(_setups(side), bool)
    result[side.setup[rows[np.isin(frame, frame[high])]]] = True
    return result


def _plane(side: Side, stock: Box | None, setup: int, *, under: bool) -> float:
    """Return the plane of a setup; under: its zero is not the top of the metal."""
    motion = side.motion
    low = np.minimum(motion.start[:, 2], motion.end[:, 2])
    high = np.maximum(motion.start[:, 2], motion.end[:, 2])
    sideways = np.hypot(*(motion.end - motion.start)[:, :2].T) > RESOLUTION
    level = high - low <= RESOLUTION
    mine = side.setup == setup
    rapid = np.zeros(len(motion), bool)
    rapid[side.rapids] = True
    first = first_in_z(side.motion)
    candidates = np.flatnonzero(rapid & mine & sideways)
    candidates = candidates[candidates > first]
    if first < len(motion) and rapid[first] and mine[first]:
        candidates = np.concatenate(([first], candidates))
    came = arrivals(motion)
    came = came[mine[came] & side.plain[came]]
    candidates = np.union1d(candidates, came).astype(np.intp)
    if not len(candidates):
        return np.inf
    feed = np.zeros(len(motion), bool)
    feed[side.feeding] = True
    sideways |= motion.sweep != 0.0
    earlier = feed & (side.setup <= setup) & sideways & _same_origin(side, candidates[0])
    cut = high[earlier & level].max(initial=-np.inf)
    ramps = high[earlier & ~level].max(initial=-np.inf)
    z = motion.end[candidates, 2]
    fit = (z > cut + RESOLUTION) & (z >= ramps - RESOLUTION)
    plunges = feed & mine & ~level & (motion.end[:, 2] < motion.start[:, 2])
    over = _over(side, candidates, np.flatnonzero(feed & mine))
    fit &= over | (z >= high[plunges].max(initial=-np.inf) - RESOLUTION)
    if stock is not None:
        fit &= z >= stock.max[2] - RESOLUTION
    else:
        fit &= z >= (z.max() if under else 0.0) - RESOLUTION
    return float(z[fit].min(initial=np.inf))


def _same_origin(side: Side, row: int) -> NDArray[np.bool_]:
    frame = side.motion.state_of(int(row)).frame
    same = np.array([state.frame == frame for state in side.motion.states], bool)
    result: NDArray[np.bool_] = same[side.motion.state]
    return result


def _over(side: Side, rapids: NDArray[np.intp], cuts: NDArray[np.intp]) -> NDArray[np.bool_]:
    """(k,): the rapids that pass over the box in XY in which the setup cuts."""
    motion = side.motion
    if not len(cuts):
        return np.zeros(len(rapids), bool)
    ends = np.concatenate((motion.start[cuts], motion.end[cuts]))[:, :2]
    least, greatest = ends.min(axis=0), ends.max(axis=0)
    end = motion.end[rapids, :2]
    level = np.abs(motion.end[rapids, 2] - motion.start[rapids, 2]) <= RESOLUTION
    level &= np.isfinite(motion.start[rapids, :2]).all(axis=1)
    start = np.where(level[:, None], motion.start[rapids, :2], end)
    apart = (np.maximum(start, end) < least - RESOLUTION) | (
        np.minimum(start, end) > greatest + RESOLUTION
    )
    result: NDArray[np.bool_] = ~apart.any(axis=1)
    return result
