"""New ways above the part must not meet what the original goes round: a clamp, say.

What stands on the table besides the stock is in no program; see gone_over.
"""

from __future__ import annotations

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Kind
from gpre.motion.programmed import first_in_z, unsaid
from gpre.proof.side import Bools, Floats, Ints, Pair, Side, sub
from gpre.room.lowest_traverse import LowestTraverse

_LOOP = 1.1  # of the overshoots of X and Y together: how far an approach leaves the original's way


def unseen_ways(pair: Pair, planes: Floats) -> Ints:
    """(k,): ways of `after` sideways over places where the original goes only higher, if at all.

    Its rapids, and its moves at feed that cut nothing since they run above the planes, (s,) mm, of
    the setups. A loop to come to a place from the right side may leave the original's way by its
    overshoot.
    """
    after = pair.after
    motion = after.motion
    travel = motion.end - motion.start
    bent = motion.sweep != 0.0
    rows: Ints = np.flatnonzero(after.ordinary & after.moves & (pair.partner < 0))
    rows = rows[(np.hypot(*travel[rows, :2].T) > RESOLUTION) | bent[rows]]
    low = paths.bounds(sub(after, rows))[0][:, 2]
    in_the_air = ~motion.at_feed[rows] | (low >= planes[after.setup[rows]] - RESOLUTION)
    rows, low = rows[in_the_air], low[in_the_air]
    first = first_in_z(motion)
    blind = rows[rows < first].astype(np.intp)  # at the height where the tool happens to stand
    if len(blind) and not _goes_blind(pair.before):
        return blind
    low, rows = low[rows >= first], rows[rows >= first].astype(np.intp)
    if not len(rows):
        return rows
    start, end = motion.start[rows].copy(), motion.end[rows]
    start[rows == first, 2] = end[rows == first, 2]  # where it comes from is only assumed
    own, other = (_first_aside(side) for side in (after, pair.before))
    if own is not None and other is not None:
        height, least = motion.end[own, 2], pair.before.motion.end[other, 2]
        # else it went at the height where it was left
        stated = other >= first_in_z(pair.before.motion)
        if stated and height >= least - RESOLUTION:  # so it is the first time in X and Y, no lower
            start[rows == own] = end[rows == own]
    far = _LOOP * float(np.hypot(pair.mill.overshoot(0), pair.mill.overshoot(1)))
    gone, setup = LowestTraverse(pair.before.program, pair.before.motion, far), after.setup[rows]
    # ways that bend are not followed: they must run as high as the original ever goes
    high = low >= gone.highest[setup] - RESOLUTION
    clear = np.where(bent[rows], high, gone.clear(start, end, setup))
    unseen: Ints = rows[~clear]
    return unseen[~_beside_the_same(pair, unseen, far)]


def _beside_the_same(pair: Pair, rows: Ints, reach: float) -> Bools:
    """(k,): ways of `after` that run beside one of `before` from the same place, and no lower.

    Where X or Y is only assumed at their start, both start in the same place all the same. They
    end within the reach, mm, of each other, so nowhere are they farther apart.
    """
    result = np.zeros(len(rows), bool)
    if not len(rows):
        return result
    motion, other = pair.after.motion, pair.before.motion
    left, theirs = (unsaid(side.program, side.motion) for side in (pair.after, pair.before))
    straight = pair.before.ordinary & (other.kind != Kind.ARC)
    straight[: first_in_z(other) + 1] = False
    mine = np.flatnonzero(left[rows].any(axis=1) & (motion.kind[rows] != Kind.ARC))
    if not len(mine):
        return result
    by = np.flatnonzero(theirs.any(axis=1) & straight)
    high = np.maximum(other.start[by, 2], other.end[by, 2])
    for at in mine.tolist():
        row = rows[at]
        same = (theirs[by] == left[row]).all(axis=1)
        same &= pair.before.setup[by] == pair.after.setup[row]
        same &= high <= min(motion.start[row, 2], motion.end[row, 2]) + RESOLUTION
        same &= (np.abs(other.start[by, :2] - motion.start[row, :2]) <= RESOLUTION).all(axis=1)
        same &= np.hypot(*(other.end[by, :2] - motion.end[row, :2]).T) <= reach
        result[at] = same.any()
    return result


def _goes_blind(side: Side) -> bool:
    """Return whether a program goes along X or Y at rapid before it says at what height."""
    travel = side.motion.end - side.motion.start
    aside = np.hypot(*travel[side.rapids, :2].T) > RESOLUTION
    return bool((side.rapids[aside] < first_in_z(side.motion)).any())


def _first_aside(side: Side) -> int | None:
    """Return the first move that goes along X or Y, or from where nobody knows."""
    travel = side.motion.end - side.motion.start
    found = np.flatnonzero(~(np.hypot(*travel[:, :2].T) <= RESOLUTION))
    return int(found[0]) if len(found) else None
