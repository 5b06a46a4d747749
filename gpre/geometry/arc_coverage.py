"""Arcs that lie on arcs of the same circle, told by their angles; no chords needed.

Two level arcs of the XY plane whose centres lie d apart and whose radii differ by e are nowhere
farther apart than d + e, at the same angle seen from their centres (triangle inequality).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.path import Path
from gpre.geometry.region import BoxIndex
from gpre.geometry.tolerance import POINT

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

_GAP = 0.1  # of the tolerance: a gap between two arcs that is none
_TURN = 2.0 * np.pi


def covered_arcs(
    of: Path,
    rows: Ints,
    by: Path,
    tolerance: float,
    *,
    of_group: Ints,
    by_group: Ints,
    below: bool,
) -> tuple[Bools, Floats]:
    """(k,) and (k,) mm: which of the moves `rows` lie wholly on arcs of `by`, and how close.

    The second is an upper bound for the distance of those that do.
    """
    result = np.zeros(len(rows), bool)
    bound = np.zeros(len(rows))
    mine = np.flatnonzero(_level_arcs(of, rows))
    theirs = np.flatnonzero(_level_arcs(by, np.arange(len(by.sweep))))
    if not len(mine) or not len(theirs):
        return result, bound
    one, other = BoxIndex(*paths.bounds(paths.take(by, theirs))).pairs(
        *paths.bounds(paths.take(of, rows[mine])), tolerance
    )
    left, right = rows[mine[one]], theirs[other]
    far = _apart(of, left, by, right, below=below)
    good = (far <= tolerance) & (of_group[left] == by_group[right])
    one, left, right, far = one[good], left[good], right[good], far[good]
    if not len(one):
        return result, bound
    low, high = _on_each_other(of, left, by, right)
    gap = _GAP * tolerance / np.maximum(_radii(of, left)[0], tolerance)
    order = np.lexsort((low, one))
    edges = np.flatnonzero(np.append(np.append(True, np.diff(one[order]) > 0), True))
    for first, last in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        part = order[first:last]
        sweep = abs(float(of.sweep[left[part[0]]]))
        if _spans(low[part], high[part], sweep, float(gap[part[0]])):
            at = mine[one[part[0]]]
            result[at] = True
            bound[at] = far[part].max() + _GAP * tolerance
    return result, bound


def _level_arcs(path: Path, rows: Ints) -> Bools:
    rise = np.abs(path.end[rows, 2] - path.start[rows, 2])
    result: Bools = (path.sweep[rows] != 0.0) & (path.plane[rows] == 17) & (rise <= POINT)
    return result


def _radii(path: Path, rows: Ints) -> tuple[Floats, Floats]:
    """(n,) each, mm: the radius at the start and at the end."""
    start, end = (each[rows] - path.centre[rows] for each in (path.start, path.end))
    return np.hypot(start[:, 0], start[:, 1]), np.hypot(end[:, 0], end[:, 1])


def _apart(of: Path, left: Ints, by: Path, right: Ints, *, below: bool) -> Floats:
    """(n,) mm: how far two arcs can be apart at the same angle."""
    gap = of.centre[left] - by.centre[right]
    one, other = _radii(of, left), _radii(by, right)
    radii = np.maximum(np.maximum(*one) - np.minimum(*other), np.maximum(*other) - np.minimum(*one))
    rise = by.start[right, 2] - of.start[left, 2]
    rise = np.maximum(rise, 0.0) if below else np.abs(rise)
    result: Floats = np.hypot(np.hypot(gap[:, 0], gap[:, 1]) + np.maximum(radii, 0.0), rise)
    return result


def _on_each_other(of: Path, left: Ints, by: Path, right: Ints) -> tuple[Floats, Floats]:
    """(n,) each, radians: where the second arc begins and ends, from the start of the first.

    Counted the way the first runs; the begin lies between 0 and a turn.
    """
    way = np.sign(of.sweep[left])
    same = np.sign(by.sweep[right]) == way
    begin = np.where(same[:, None], by.start[right], by.end[right]) - by.centre[right]
    start = of.start[left] - of.centre[left]
    turn = np.arctan2(begin[:, 1], begin[:, 0]) - np.arctan2(start[:, 1], start[:, 0])
    low = (way * turn) % _TURN
    return low, low + np.abs(by.sweep[right])


def _spans(low: Floats, high: Floats, sweep: float, gap: float) -> bool:
    """Return whether intervals, in order of `low`, cover 0 to `sweep`; each also a turn earlier."""
    sweep = min(sweep, _TURN)  # what lies beyond a turn is the same circle
    earlier = np.flatnonzero(high > _TURN - gap)
    starts = np.concatenate((low[earlier] - _TURN, low))
    ends = np.concatenate((high[earlier] - _TURN, high))
    order = np.argsort(starts, kind="stable")
    reached = 0.0
    for at in order.tolist():
        if starts[at] > reached + gap:
            break
        reached = max(reached, float(ends[at]))
        if reached >= sweep - gap:
            return True
    return False
