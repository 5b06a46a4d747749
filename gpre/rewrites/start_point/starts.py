"""Where a closed contour may start, and how many reversals of X and Y that leaves while cutting.

A contour has a fixed number of turns of each axis. Where it starts at one of them, that turn falls
away: the approach gives the axis its first direction in the air. An axis may rest around its turn
(along the side of a rectangle); every place in the rest will do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path
from gpre.geometry.arc import Arcs, quadrants
from gpre.geometry.tolerance import RESOLUTION, ROUNDED
from gpre.motion.motion import Kind, Motion

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_AT_END = ROUNDED  # a quadrant this near to the end of its arc is the end


@dataclass(frozen=True)
class Starts:
    """n places in the order of the contour, the first where it starts now.

    row: (n,) row of Motion. along: (n,) 0 to 1, place within it. point: (n, 2) mm. left: (n,)
    reversals of X and Y left in one round. ways: (n, 2) the way in which X and Y start.
    """

    row: Ints
    along: NDArray[np.float64]
    point: NDArray[np.float64]
    left: NDArray[np.int64]
    ways: NDArray[np.int8]

    def better(self, before: Floats | None = None, behind: Floats | None = None) -> Ints:
        """(k,): the places with fewer reversals than now.

        Fewest first, then nearest to the start that it has now, then shortest on the way from
        `before` and on to `behind`, (2,) mm, where these are known.
        """
        fewer = np.flatnonzero(self.left < self.left[0])
        point = self.point[fewer]
        way = np.zeros(len(fewer))
        for other in (before, behind):
            if other is not None and np.isfinite(other).all():
                way += np.linalg.norm(point - other, axis=1)
        far = np.linalg.norm(point - self.point[0], axis=1)
        order: Ints = fewer[np.lexsort((way.round(6), far.round(6), self.left[fewer]))]
        return order


def starts_of(motion: Motion, first: int, last: int) -> Starts:
    """Find the corners and quadrant places of the closed contour in the rows `first` to `last`."""
    row, along = _places(motion, first, last)
    point = path.points(path.take(motion, row), along)[:, :2]
    closed = np.concatenate((point, [motion.end[last - 1, :2]]))
    travel = np.diff(closed, axis=0)
    left = np.zeros(len(row), np.int64)
    ways = np.zeros((len(row), 2), np.int8)
    for axis in range(2):
        sign = np.where(np.abs(travel[:, axis]) > RESOLUTION, np.sign(travel[:, axis]), 0)
        sign = sign.astype(np.int8)
        moving = np.flatnonzero(sign)
        if not len(moving):
            continue
        before, after = _neighbours(sign, moving)
        ways[:, axis] = after
        signs = sign[moving]
        left += int((signs != np.roll(signs, 1)).sum()) - (before != after)
    return Starts(row, along, point, left, ways)


def _places(motion: Motion, first: int, last: int) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """(n,) each: rows and places within them, between which X and Y travel one way."""
    rows = np.arange(first, last)
    row, along = [rows], [np.zeros(len(rows))]
    arc_rows = rows[motion.kind[first:last] == Kind.ARC]
    if len(arc_rows):
        arcs = Arcs(*path.take(motion, arc_rows))
        length = path.lengths(path.take(motion, arc_rows))
        for axis in range(2):
            which, t = quadrants(arcs, axis)
            within = np.minimum(t, 1.0 - t) * length[which] > _AT_END
            row.append(arc_rows[which[within]])
            along.append(t[within])
    all_rows, all_along = np.concatenate(row), np.concatenate(along)
    order = np.lexsort((all_along, all_rows))
    return all_rows[order], all_along[order]


def _neighbours(
    sign: NDArray[np.int8], moving: NDArray[np.intp]
) -> tuple[NDArray[np.int8], NDArray[np.int8]]:
    """(n,) each: the last sign before each place and the first from it on, round the contour."""
    at = np.searchsorted(moving, np.arange(len(sign)))
    return sign[moving[at - 1]], sign[moving[at % len(moving)]]
