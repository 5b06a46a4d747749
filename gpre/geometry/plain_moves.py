"""Straight lines and arcs of one radius in XY, made ready for many questions about places near.

How far such a move is from a point has a closed form, so a tool that passed on it can be told to
have swept the point without chords or areas. Lengths mm, angles radians.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry import path as paths
from gpre.geometry.path import Path
from gpre.geometry.segments import gaps_between
from gpre.geometry.tolerance import ROUNDED

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_AT_ONCE = 1_500  # pairs of a point and a move


class PlainMoves:
    """The moves of a path as XY sees them; only those that are `plain` may be asked about."""

    def __init__(self, path: Path) -> None:
        """Take n moves."""
        self._start, self._end, self._centre = (
            path.start[:, :2],
            path.end[:, :2],
            path.centre[:, :2],
        )
        self._sweep = path.sweep
        rows, arcs = paths.arcs_of(path)
        about = arc.polar(arcs)
        self._radius, self._angle = np.zeros((2, len(path.sweep)))
        self._radius[rows], self._angle[rows] = about.radius, about.angle
        self.plain = np.ones(len(path.sweep), bool)
        self.plain[rows] = arc.level_circles(arcs, ROUNDED)

    def left_by(self, rows: Ints, points: Floats, radius: float) -> Floats:
        """(j, 2) mm: those of the points, (k, 2), that lie farther than `radius` from all moves.

        The moves `rows`, (m,), are looked at from the last to the first: those just made are the
        likeliest to be near.
        """
        if not len(points) or not len(rows):
            return points
        middle = points.mean(axis=0)
        reach = float(np.hypot(*(points - middle).T).max()) + radius
        rows = rows[self.gaps(rows, middle[None])[0] <= reach][::-1]
        first = 0
        while first < len(rows) and len(points):
            size = _AT_ONCE // len(points) + 1
            gap = self.gaps(rows[first : first + size], points)
            points = points[(gap > radius).all(axis=1)]
            first += size
        return points

    def gaps(self, rows: Ints, points: Floats) -> Floats:
        """(k, m) mm: how far the moves `rows`, (m,), are from points, (k, 2)."""
        bent = self._sweep.take(rows) != 0.0
        straight = rows[~bent]
        lines = gaps_between(
            self._start.take(straight, axis=0), self._end.take(straight, axis=0), points
        )
        if len(straight) == len(rows):
            return lines
        gap = np.empty((len(points), len(rows)))
        gap[:, ~bent] = lines
        gap[:, bent] = self._gaps_to_arcs(rows[bent], points)
        return gap

    def _gaps_to_arcs(self, rows: Ints, points: Floats) -> Floats:
        sweep = self._sweep.take(rows)
        off_x, off_y = (points[:, None] - self._centre.take(rows, axis=0)).transpose(2, 0, 1)
        past = (np.arctan2(off_y, off_x) - self._angle.take(rows)) * np.sign(sweep)
        within = np.mod(past, 2.0 * np.pi) <= np.abs(sweep)
        gap: Floats = np.abs(np.hypot(off_x, off_y) - self._radius.take(rows))
        point, move = np.nonzero(~within)
        if len(point):
            ends = (each[rows[move]] - points[point] for each in (self._start, self._end))
            gap[point, move] = np.minimum(*(np.hypot(each[:, 0], each[:, 1]) for each in ends))
        return gap
