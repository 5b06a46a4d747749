"""How low a flat tool passes over each cell on a helix about Z, in closed form.

Over a place the tool stands while the way that it has turned differs from the direction of the
place, as the axis of the helix sees it, by no more than the law of cosines gives. Of that stretch
the lower end counts.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, pi

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry import path as paths
from gpre.geometry.path import MOST_CHORDS, Path
from gpre.geometry.tolerance import DUST, RESOLUTION
from gpre.geometry.too_dense import CrowdedError
from gpre.stock.cutter import Cutter
from gpre.stock.field import Field
from gpre.stock.piece import Boxes, RoundPiece, SweptCells, TurnedPiece, most_together

Floats = NDArray[np.float64]

CELLS = 4.0  # of the way, in one piece: no finer is seen how much is taken where
FARTHEST = pi / 4.0  # rad; the most that one piece turns, so that its ends tell its box


def coil(field: Field, path: Path, row: int, cutter: Cutter) -> Iterator[SweptCells] | None:
    """Return what a flat tool passes over on a helix about Z, in pieces, in order.

    None for one that winds in or out so much that no circle is near enough. Raises CrowdedError
    for more pieces than would fill the memory.
    """
    move = paths.take(path, slice(row, row + 1))
    about = arc.polar(paths.arcs_of(move)[1])
    radius, change = float(about.radius[0]), float(about.radius_change[0])
    turn = float(path.sweep[row])
    most = min(FARTHEST, CELLS * field.grid.cell / max(radius, DUST))
    count = ceil(abs(turn) / most)
    if radius <= DUST or abs(change) > RESOLUTION * count:
        return None
    if count > MOST_CHORDS:
        raise CrowdedError
    return _pieces(field, move, count, cutter)


def _pieces(field: Field, move: Path, count: int, cutter: Cutter) -> Iterator[SweptCells]:
    step = abs(float(move.sweep[0])) / count
    ends = _points(move, np.array([0.0, 1.0 / count]))
    at_once = most_together(field, ends[:1], ends[1:], cutter)
    for first in range(0, count, at_once):
        t = np.arange(first, min(first + at_once, count) + 1) / count
        yield from _together(field, move, _points(move, t), step, cutter)


def _points(move: Path, t: Floats) -> Floats:
    return paths.points(paths.take(move, np.zeros(len(t), np.intp)), t)


def _together(
    field: Field, move: Path, points: Floats, step: float, cutter: Cutter
) -> Iterator[SweptCells]:
    """Return k pieces that turn by `step` rad each, between k + 1 points, (k + 1, 3) mm."""
    way = 1.0 if move.sweep[0] > 0.0 else -1.0
    centre = move.centre[0, :2]
    spoke = points[:-1, :2] - centre
    begin = np.arctan2(spoke[:, 1], spoke[:, 0])
    radius = np.hypot(*(points[:, :2] - centre).T)
    radius = (radius[:-1] + radius[1:]) / 2.0
    boxes = Boxes.over(field, points[:-1], points[1:], cutter)
    x, y = boxes.x - centre[0], boxes.y - centre[1]
    distance = np.hypot(x, y)
    past = np.mod(way * (np.arctan2(y, x) - begin[:, None, None]) + pi, 2.0 * pi) - pi
    share = radius[:, None, None] ** 2 + distance**2 - cutter.radius**2
    share /= 2.0 * radius[:, None, None] * np.maximum(distance, DUST)
    reach = np.arccos(np.clip(share, -1.0, 1.0))
    start, rise = points[:-1, 2] - cutter.drop, np.diff(points[:, 2])
    height = np.full(distance.shape, np.inf)
    for whole in (-2.0 * pi, 0.0, 2.0 * pi):
        low, high = np.maximum(past - reach + whole, 0.0), np.minimum(past + reach + whole, step)
        over = (low <= high) & (share <= 1.0)
        if over.any():
            at = np.where(rise[:, None, None] > 0.0, low, high) / step
            here = start[:, None, None] + rise[:, None, None] * at
            np.minimum(height, here, out=height, where=over)
    length = radius * step
    steep = np.hypot(length, rise) / length
    for at, window in enumerate(boxes.window):
        level = RoundPiece(
            x[at, 0],
            y[at],
            distance[at],
            float(radius[at]),
            cutter.radius,
            float(begin[at]),
            way * step,
        )
        lies = TurnedPiece(level, float(steep[at]))
        yield SweptCells(window, height[at], float(steep[at] * length[at]), lies)
