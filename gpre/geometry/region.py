"""Neighbourhoods in the plane; the only module that knows shapely.

Lengths are mm. The tree holds segments as XY sees them; a vertical segment is a point.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from gpre.geometry.repeats import repeated
from gpre.geometry.tolerance import DUST
from gpre.geometry.too_dense import CrowdedError

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


_MOST_PAIRS = 3_000_000  # of one question
_MOST_IN_ALL = 6_000_000  # of all questions to one index
_TRIED = (4, 4.0), (16, 2.0), (64, 1.0)  # of the lines asked; the fewer, the surer it must be
_OVERLAP = 4.0  # boxes over a place, on average, that are no hindrance
_SHORT = 0.5  # mm; no piece is shorter
_PIECES, _MOST_PIECES = 64, 300_000  # of a segment, and of all


class SegmentIndex:
    """An index of straight segments in the XY plane, for questions about what lies near."""

    def __init__(self, start: Floats, end: Floats) -> None:
        """Index n segments from `start` to `end`, (n, 2) or (n, 3) mm; all finite."""
        self._owner, start, end = _in_pieces(start[:, :2], end[:, :2])
        self._tree = shapely.STRtree(_lines(start, end))
        self._found = 0

    def near(self, start: Floats, end: Floats, distance: float) -> tuple[Ints, Ints]:
        """(k,) each: pairs of a query segment and an indexed one that lie within `distance` in XY.

        start, end: (m, 2) or (m, 3) mm; equal ends make a point. Raises CrowdedError rather than
        work for minutes.
        """
        if not len(start):
            return np.zeros(0, np.intp), np.zeros(0, np.intp)
        lines = _lines(start, end)
        for few, sure in _TRIED:  # what some of them find tells what all will
            if len(lines) > 2 * few:
                some = lines[np.linspace(0, len(lines) - 1, few).astype(np.intp)]
                tried = self._tree.query(some, predicate="dwithin", distance=distance).shape[1]
                if tried / few * len(lines) > _MOST_PAIRS * sure:
                    raise CrowdedError
        pairs = self._tree.query(lines, predicate="dwithin", distance=distance)
        self._found += pairs.shape[1]
        if self._found > _MOST_IN_ALL:
            raise CrowdedError
        if self._owner is None:
            return pairs[0], pairs[1]
        count = int(self._owner[-1]) + 1
        once = np.unique(pairs[0] * count + self._owner[pairs[1]])
        return once // count, once % count


class BoxIndex:
    """An index of boxes in the XY plane."""

    def __init__(self, least: Floats, greatest: Floats) -> None:
        """Index n boxes, (n, 2) or (n, 3) mm; all finite."""
        self._tree = shapely.STRtree(_boxes(least, greatest, 0.0))

    def touched(self, least: Floats, greatest: Floats, distance: float) -> Ints:
        """(k,), in order: the indexed boxes that come within `distance` of any box given."""
        if not len(least):
            return np.zeros(0, np.intp)
        pairs = self._tree.query(_boxes(least, greatest, distance))
        found: Ints = np.unique(pairs[1])
        return found

    def pairs(self, least: Floats, greatest: Floats, distance: float) -> tuple[Ints, Ints]:
        """(k,) each: pairs of a query box and an indexed one that come within `distance`."""
        pairs = self._tree.query(_boxes(least, greatest, distance))
        return pairs[0], pairs[1]


class Rectangle(NamedTuple):
    """A rectangle in the XY plane, mm: (x, y) of its least and of its greatest corner."""

    least: tuple[float, float]
    greatest: tuple[float, float]


class Swath:
    """The part of the XY plane over which the edge of a round tool has passed."""

    def __init__(self, lines: Sequence[Floats], radius: float) -> None:
        """Take the centre lines, (k, 2) mm each, two equal points for a place; radius, mm."""
        self._radius = radius
        self._area = _swept(lines, radius)

    def and_along(self, lines: Sequence[Floats]) -> Swath:
        """Return this swath with what the tool sweeps along more lines."""
        more = Swath(lines, self._radius)
        more._area = shapely.union(self._area, more._area)
        return more

    def holds(
        self,
        lines: Sequence[Floats],
        radius: float,
        *,
        stock: Rectangle | None = None,
        beside: float = 0.0,
    ) -> bool:
        """Return whether a tool of this radius stays within the swath along these centre lines.

        stock: what sticks out of the swath may lie beside it, up to `beside` mm from the swath.
        """
        rest = shapely.difference(_swept(lines, radius), self._area)
        if rest.area <= DUST:
            return True
        if stock is None:
            return False
        metal = shapely.intersection(rest, shapely.box(*stock.least, *stock.greatest))
        if metal.area > DUST:
            return False
        far = shapely.difference(rest, shapely.buffer(self._area, beside, quad_segs=_QUARTER))
        return bool(far.area <= DUST)


_QUARTER = 64  # chords in a quarter circle: at a radius of 10 mm they leave it by 0.001 mm


def _swept(lines: Sequence[Floats], radius: float) -> shapely.Geometry:
    shapes = [
        shapely.points(each[0]) if not np.ptp(each, axis=0).any() else shapely.linestrings(each)
        for each in lines
    ]
    return shapely.union_all(shapely.buffer(shapes, radius, quad_segs=_QUARTER))


def _in_pieces(start: Floats, end: Floats) -> tuple[Ints | None, Floats, Floats]:
    """Cut slanting segments, (n, 2) mm each, where their boxes lie over one another in heaps.

    Gives the segment of each piece, None where nothing was cut, and the ends of the pieces.
    """
    none = None, start, end
    if not len(start):
        return none
    with np.errstate(over="ignore", invalid="ignore"):
        box = np.abs(end - start).prod(axis=1)
        fair = _OVERLAP * np.ptp(np.concatenate((start, end)), axis=0).prod()
    if not box.sum() > fair or not np.isfinite(box.sum()):
        return none
    most = np.clip(np.hypot(*(end - start).T) / _SHORT, 1.0, _PIECES)
    count = np.clip(np.ceil(box / (fair / len(box))), 1.0, np.floor(most))
    count = np.ceil(count * min(1.0, _MOST_PIECES / count.sum())).astype(np.intp)
    owner, rank = repeated(count)
    low, high = ((rank + more)[:, None] / count[owner, None] for more in (0, 1))
    way = (end - start)[owner]
    return owner, start[owner] + low * way, start[owner] + high * way


def _lines(start: Floats, end: Floats) -> NDArray[np.object_]:
    ends = np.stack((start[:, :2], end[:, :2]), axis=1)
    lines: NDArray[np.object_] = shapely.linestrings(ends)
    # GEOS finds nothing within a distance of a line of no length
    upright = np.flatnonzero((ends[:, 0] == ends[:, 1]).all(axis=1))
    lines[upright] = shapely.points(ends[upright, 0])
    return lines


def _boxes(least: Floats, greatest: Floats, more: float) -> NDArray[np.object_]:
    low, high = least[:, :2] - more, greatest[:, :2] + more
    boxes: NDArray[np.object_] = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    return boxes
