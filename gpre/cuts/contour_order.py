"""Whether it matters which part of a closed contour is cut first.

Where a path comes closer to itself than the tool is wide, one part opens the way for the other;
begun elsewhere, the tool would meet full metal where the program had made room. A convex contour
has no such place but its two sides, which are alike.
"""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path
from gpre.geometry.tolerance import BEND, COARSE_CHORD, DUST
from gpre.motion.motion import Motion

_POINTS = 600  # along a contour
_BEND = 2.2  # way along the contour over way across: more than round a half circle (pi / 2)


def is_convex(motion: Motion, first: int, last: int) -> bool:
    """Return whether the moves from `first` to `last` (half open) bend one way only, once round."""
    _, _, points = path.sample(path.take(motion, slice(first, last)), COARSE_CHORD)
    step = np.diff(points[:, :2], axis=0)
    step = step[np.hypot(*step.T) > COARSE_CHORD]
    following = np.roll(step, -1, axis=0)
    cross = step[:, 0] * following[:, 1] - step[:, 1] * following[:, 0]
    bend = np.arctan2(cross, (step * following).sum(axis=1))
    one_way = bool((bend > -BEND).all() or (bend < BEND).all())
    return one_way and abs(abs(float(bend.sum())) - 2.0 * pi) < 0.1


def narrowest(motion: Motion, first: int, last: int) -> float:
    """Return how close a closed path comes to itself across, mm; inf where it does not."""
    moves = path.take(motion, slice(first, last))
    length = path.lengths(moves)
    ends = np.concatenate(([0.0], np.cumsum(length)))
    at = np.linspace(0.0, ends[-1], _POINTS, endpoint=False)
    row = np.clip(np.searchsorted(ends, at, side="right") - 1, 0, len(length) - 1)
    share = (at - ends[row]) / np.maximum(length[row], DUST)
    points: NDArray[np.float64] = path.points(path.take(moves, row), share)[:, :2]
    across = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))
    along = np.abs(at[:, None] - at[None, :])
    along = np.minimum(along, ends[-1] - along)
    pitch = ends[-1] / _POINTS
    close = along > _BEND * across + 2.0 * pitch
    return float(across[close].min(initial=np.inf))
