"""Straight segments in space and how far points lie from them; lengths mm."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.path import Path

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class Segments(NamedTuple):
    """n segments: start, end (n, 3) mm; row (n,), the move of the path that each is part of.

    first, last: (n,) the fractions of that move at the two ends.
    """

    start: Floats
    end: Floats
    row: Ints
    first: Floats
    last: Floats

    def take(self, rows: Ints | NDArray[np.bool_]) -> Segments:
        """Return some of the segments."""
        return Segments(
            self.start[rows], self.end[rows], self.row[rows], self.first[rows], self.last[rows]
        )


def segments_of(path: Path, rows: Ints, chord: float) -> Segments:
    """Cut the moves `rows` of a path into chords that stay within `chord` mm of their arcs."""
    row, t, point = paths.sample(paths.take(path, rows), chord)
    inner = np.flatnonzero(row[1:] == row[:-1])
    return Segments(point[inner], point[inner + 1], rows[row[inner]], t[inner], t[inner + 1])


def distance(point: Floats, start: Floats, end: Floats) -> Floats:
    """(n,) mm: the distance of each point (n, 3) from its segment."""
    along = end - start
    t = _clamped(_dot(point - start, along), _dot(along, along))
    gap = point - start - t[:, None] * along
    result: Floats = np.sqrt(_dot(gap, gap))
    return result


def gaps_between(start: Floats, end: Floats, point: Floats) -> Floats:
    """(k, n) mm: how far each of k points is from each of n segments; in any number of axes."""
    along = end - start
    square = np.maximum(_dot(along, along), 1e-18)
    off = point[:, None] - start
    share = np.clip(np.einsum("nij,ij->ni", off, along) / square, 0.0, 1.0)
    off -= share[..., None] * along
    gap: Floats = np.sqrt(np.einsum("nij,nij->ni", off, off))
    return gap


def passing(place: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats, Floats]:
    """(n,) each: where each segment passes nearest to its place (n, 2), as XY sees them.

    Fraction of the segment, 0 to 1; distance in XY, mm; Z there, mm. A vertical segment gives
    its lower end.
    """
    along, to_place = end - start, place - start[:, :2]
    flat = along[:, :2]
    square = _dot(flat, flat)
    t = _clamped(_dot(to_place, flat), square)
    gap = to_place - t[:, None] * flat
    height = start[:, 2] + np.where(square > 0.0, t * along[:, 2], np.minimum(along[:, 2], 0.0))
    return t, np.hypot(gap[:, 0], gap[:, 1]), height


def distance_below(point: Floats, start: Floats, end: Floats) -> Floats:
    """(n,) mm: how far each point is from the room above its segment.

    The distance is the least of hypot(|q.xy - p.xy|, max(0, q.z - p.z)) over q on the segment:
    a tool that stands at q has removed all that it would remove standing higher at the same XY.
    The function is convex along the segment, so its minimum lies where the distance in XY is
    least, where the distance in space is least, or where the segment passes the point's height.
    """
    along, to_point = end - start, point - start
    flat = along[:, :2]
    square_flat = _dot(flat, flat)
    candidates = (
        _clamped(_dot(to_point[:, :2], flat), square_flat),
        _clamped(_dot(to_point, along), square_flat + along[:, 2] ** 2),
        _clamped(to_point[:, 2] * along[:, 2], along[:, 2] ** 2),
        (along[:, 2] < 0.0).astype(np.float64),  # the lower end: it alone decides on a vertical
    )
    best = np.full(len(point), np.inf)
    for t in candidates:
        gap = to_point - t[:, None] * along
        above = np.maximum(-gap[:, 2], 0.0)
        np.minimum(best, gap[:, 0] ** 2 + gap[:, 1] ** 2 + above**2, out=best)
    result: Floats = np.sqrt(best)
    return result


def fraction_at(point: Floats, start: Floats, end: Floats) -> Floats:
    """(n,) 0 to 1: where each segment is nearest to its point (n, 3)."""
    along = end - start
    return _clamped(_dot(point - start, along), _dot(along, along))


def _dot(left: Floats, right: Floats) -> Floats:
    result: Floats = np.einsum("ij,ij->i", left, right)
    return result


def _clamped(above: Floats, below: Floats) -> Floats:
    safe = np.where(below > 0.0, below, 1.0)
    result: Floats = np.clip(np.where(below > 0.0, above / safe, 0.0), 0.0, 1.0)
    return result
