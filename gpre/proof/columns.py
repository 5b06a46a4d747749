"""What stood above a point when the tool came: the column of the tool's centre, move by move.

For a point of a path the *top* is the lowest Z at which the tool had passed over it before, at
feed; `inf` where it had not. A *visit* is a stretch of one cut that stays near a point: the end
of one move and the start of the next, or a plunge and the first cut, are one visit and not two.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.region import SegmentIndex
from gpre.geometry.segments import (
    Segments,
    distance,
    passing,
    segments_of,
)
from gpre.geometry.tolerance import ROUGH_CHORD
from gpre.motion.motion import Kind
from gpre.proof.side import Side

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

_FAR = 1e4  # mm; stands for `inf` where heights are added up
_STEP = 1e5  # keeps the heights of one place below those of the one before
GAP_SHARE = 4.0  # of the tolerance: passes less far apart along a cut are one visit
_WIDER = 1.1  # of the tolerance: both paths are cut into chords, which may lie apart by a tenth


class Passes(NamedTuple):
    """k passes over places, one row each, in the order of places, moves and travel.

    place: which of them. row: the move. height: mm, the Z at which it passes, as XY sees it.
    along: mm, how far the tool had travelled in XY. chain: the cut; every rapid is a chain of its
    own. feed: it is a move at feed. aside: mm, how far it passes from the place in XY. segment:
    its chord in `Columns`.
    """

    place: Ints
    row: Ints
    height: Floats
    along: Floats
    chain: Ints
    feed: Bools
    aside: Floats
    segment: Ints


class ToolColumns:
    """The moves of one program, to be asked what passes over a place."""

    def __init__(self, side: Side, rows: Ints, tolerance: float) -> None:
        """Index the moves `rows` of a side; passes are found within `tolerance` mm in XY."""
        motion = side.motion
        self.side = side
        self.tolerance = tolerance
        flat_arc = (motion.kind[rows] == Kind.ARC) & (motion.plane[rows] == 17)
        coarse = segments_of(motion, rows[flat_arc], ROUGH_CHORD)
        fine = segments_of(motion, rows[~flat_arc], tolerance * 0.05)
        self.segments = Segments(
            *(np.concatenate(column) for column in zip(coarse, fine, strict=True))
        )
        self._arcs = len(coarse.row)  # the first so many chords stand for arcs of the XY plane
        self.index = SegmentIndex(self.segments.start, self.segments.end)
        heights = self.segments.start[:, 2], self.segments.end[:, 2]
        self._low, self._high = np.minimum(*heights), np.maximum(*heights)
        self.feed = motion.at_feed
        self.chain = chains(side)
        flat = flat_lengths(side)
        self._reached = np.concatenate(([0.0], np.cumsum(flat)))[:-1]
        self._flat = flat

    def passes(self, place: Floats) -> Passes:
        """Find all passes over places, (n, 2) mm."""
        reach = self.tolerance + (ROUGH_CHORD if self._arcs else 0.0)
        which, segment = self.index.near(place, place, reach)
        part = self.segments.take(segment)
        at = place[which]
        share, aside, height = passing(at, part.start, part.end)
        fraction = part.first + share * (part.last - part.first)
        arc = np.flatnonzero(segment < self._arcs)
        if len(arc):
            some = part.take(arc)
            fraction[arc] = self._along_arcs(at[arc], some)
            on_arc = paths.points(paths.take(self.side.motion, some.row), fraction[arc])
            height[arc] = on_arc[:, 2]
            aside[arc] = np.hypot(*(at[arc] - on_arc[:, :2]).T)
        kept = np.flatnonzero(aside <= self.tolerance)
        row = part.row[kept]
        along = self._reached[row] + fraction[kept] * self._flat[row]
        order = np.lexsort((along, row, which[kept]))
        kept, row, along = kept[order], row[order], along[order]
        return Passes(
            which[kept],
            row,
            height[kept],
            along,
            self.chain[row],
            self.feed[row],
            aside[kept],
            segment[kept],
        )

    def through(self, passes: Passes, which: Ints, point: Floats) -> Ints:
        """(m,): those of k pairs where a pass meets a point over its place.

        which: (k,), the pass of each pair. point: (k, 3) mm.
        """
        wide = self.tolerance * _WIDER
        segment, height = passes.segment[which], point[:, 2]
        level = self._low[segment] <= height + wide
        level &= self._high[segment] >= height - wide
        kept = np.flatnonzero(level)
        far = self._far(within(passes, which[kept]), point[kept])
        return kept[far <= wide]

    def _far(self, passes: Passes, point: Floats) -> Floats:
        """(k,) mm: how far passes run from points, (k, 3)."""
        part = self.segments.take(passes.segment)
        far = distance(point, part.start, part.end)
        on_arc = passes.segment < self._arcs
        result: Floats = np.where(on_arc, np.hypot(passes.aside, point[:, 2] - passes.height), far)
        return result

    def _along_arcs(self, place: Floats, part: Segments) -> Floats:
        """(k,): where arcs of the XY plane pass nearest to places, within the given stretches."""
        motion = self.side.motion
        centre, sweep = motion.centre[part.row], motion.sweep[part.row]
        start = motion.start[part.row] - centre
        spoke = place - centre[:, :2]
        middle = (part.first + part.last) / 2.0
        angle = np.arctan2(start[:, 1], start[:, 0]) + middle * sweep
        turn = np.arctan2(spoke[:, 1], spoke[:, 0]) - angle
        turn = (turn + np.pi) % (2.0 * np.pi) - np.pi
        result: Floats = np.clip(middle + turn / sweep, part.first, part.last)
        return result


def chains(side: Side) -> Ints:
    """(n,): the number of the cut that each move at feed is part of; rapids have their own."""
    feed = side.motion.at_feed
    new = np.ones(len(feed), bool)
    new[1:] = ~(feed[1:] & feed[:-1]) | (side.section[1:] != side.section[:-1])
    return np.cumsum(new).astype(np.intp)


def flat_lengths(side: Side) -> Floats:
    """(n,) mm: how far each move goes in XY; 0 where it is not known."""
    motion = side.motion
    delta = np.nan_to_num(motion.end - motion.start)
    flat = np.hypot(delta[:, 0], delta[:, 1])
    arc = np.flatnonzero(side.ordinary & (motion.kind == Kind.ARC))
    if len(arc):
        whole = paths.lengths(paths.take(motion, arc))
        rise = np.where(motion.plane[arc] == 17, delta[arc, 2], 0.0)
        flat[arc] = np.sqrt(np.maximum(whole**2 - rise**2, 0.0))
    return flat


def within(passes: Passes, kept: Bools | Ints) -> Passes:
    """Return some of the passes."""
    return Passes(
        passes.place[kept],
        passes.row[kept],
        passes.height[kept],
        passes.along[kept],
        passes.chain[kept],
        passes.feed[kept],
        passes.aside[kept],
        passes.segment[kept],
    )


def visits(passes: Passes, gap: float) -> Ints:
    """(k,): the number of the visit that each pass is part of, counted through all places.

    gap: mm; passes of one cut that lie less far apart along it are one visit.
    """
    place, chain, along = passes.place, passes.chain, passes.along
    new = np.ones(len(place), bool)
    new[1:] = (place[1:] != place[:-1]) | (chain[1:] != chain[:-1]) | (along[1:] - along[:-1] > gap)
    return np.cumsum(new) - 1


def tops(passes: Passes, gap: float) -> Floats:
    """(k,) mm: for each pass the lowest Z that earlier visits to its place had cut, else `inf`.

    gap: mm, as `visits` has it.
    """
    if not len(passes.row):
        return np.zeros(0)
    visit = visits(passes, gap)
    first = np.flatnonzero(np.diff(visit, prepend=-1))
    height = np.where(passes.feed, passes.height, _FAR)
    lowest = np.minimum.reduceat(np.clip(height, -_FAR, _FAR), first)
    owner = passes.place[first]
    # each place lies one step below the one before, so the minimum starts anew
    shift = _STEP * (owner - owner[0])
    reached = np.minimum.accumulate(lowest - shift) + shift
    before = np.full(len(first), _FAR)
    again = owner[1:] == owner[:-1]
    before[1:][again] = reached[:-1][again]
    top = before[visit]
    result: Floats = np.where(top >= _FAR / 2, np.inf, top)
    return result


def greatest(values: Floats, owner: Ints, count: int, *, empty: float) -> Floats:
    """(count,): the greatest of the values of each owner, `empty` where it has none."""
    result = np.full(count, empty)
    np.maximum.at(result, owner, values)
    return result
