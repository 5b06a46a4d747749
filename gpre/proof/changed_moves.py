"""Which moves of the rewritten program are in question, and at which of their points to look.

They are the moves of `after` that `before` has not, or has in another order, and the moves that
pass over the same places.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.region import SegmentIndex
from gpre.geometry.repeats import evenly
from gpre.geometry.segments import Segments, fraction_at, segments_of
from gpre.geometry.tolerance import RESOLUTION, ROUGH_CHORD
from gpre.proof.columns import GAP_SHARE, ToolColumns
from gpre.proof.helices import Helices
from gpre.proof.material_above import Encounters, down_slopes, encounters
from gpre.proof.side import Pair, Side

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

PITCH = 0.25  # mm, between the points of a move
LEAST_POINTS, MOST_POINTS = 4, 40  # of a move, besides those where short moves pass
_MOST_IN_ALL = 120_000


class Meeting:
    """Both programs at the places where they differ."""

    def __init__(self, pair: Pair, planes: Floats) -> None:
        """Find out which moves are in question; the rest follows when it is asked for.

        planes: (s,) mm, the travel plane of each setup; rapids on and above it meet nothing.
        """
        self.pair = pair
        self.planes = planes
        before, after = pair.before, pair.after
        left, right = pair.steady
        self.gone = np.flatnonzero(before.ordinary & before.moves & ~left)
        self.new = np.flatnonzero(after.ordinary & after.moves & ~right)
        self.slopes = down_slopes(before.motion), down_slopes(after.motion)
        self.helices = Helices(pair, ~right)

    @property
    def nothing(self) -> bool:
        """True where both programs make the same moves in the same order."""
        return not len(self.gone) and not len(self.new)

    @cached_property
    def encounters(self) -> Encounters:
        """What all moves in question meet, in the order of the moves."""
        row, t = self._places()
        columns = [self._columns(side, row) for side in (self.pair.before, self.pair.after)]
        return encounters(self.pair, self.slopes, row, t, columns)

    def _columns(self, side: Side, asked: Ints) -> ToolColumns:
        """Index the moves of a side that come near the moves in question."""
        rows = np.flatnonzero(side.ordinary & side.moves & self._low(side))
        if len(asked) and len(rows):
            bounds = paths.bounds(paths.take(side.motion, rows))
            least, most = paths.bounds(paths.take(self.pair.after.motion, np.unique(asked)))
            low, high = least.min(axis=0) - 1.0, most.max(axis=0) + 1.0
            near = (bounds[1] >= low)[:, :2].all(axis=1) & (bounds[0] <= high)[:, :2].all(axis=1)
            rows = rows[near]
        return ToolColumns(side, rows, self.pair.tolerance)

    def _low(self, side: Side) -> Bools:
        """(n,): the moves at feed, and the rapids that come below the travel plane."""
        motion = side.motion
        plane = self.planes[side.setup]
        result: Bools = motion.at_feed | ~(
            np.minimum(motion.start[:, 2], motion.end[:, 2]) >= plane - RESOLUTION
        )
        return result

    def _places(self) -> tuple[Ints, Floats]:
        """(k,) each: rows of `after` in question and the fractions of them to look at."""
        after = self.pair.after
        rows = self._rows()
        path = paths.take(after.motion, rows)
        length = paths.lengths(path)
        most = int(np.clip(_MOST_IN_ALL / max(len(rows), 1), LEAST_POINTS, MOST_POINTS))
        steps = np.clip(np.ceil(length / PITCH), 1, most).astype(np.intp)
        # all points of an upright move have one column; its ends tell most of it
        upright = (np.hypot(*(path.end - path.start)[:, :2].T) <= RESOLUTION) & (path.sweep == 0.0)
        steps[upright] = np.minimum(steps[upright], LEAST_POINTS)
        spacing = np.zeros(len(after.motion))
        spacing[rows] = length / steps
        own, along = evenly(steps)
        more = [
            (rows[own], along),
            *self._between(rows, spacing),
            *self._by_the_ends(rows, length),
        ]
        row, t = (np.concatenate([each[column] for each in more]) for column in (0, 1))
        # one number for both sorts faster; a fraction is kept to 1e-9
        places = np.unique(2.0 * row + np.round(t, 9))
        row = np.floor(places / 2.0)
        return row.astype(np.intp), np.clip(places - 2.0 * row, 0.0, 1.0)

    def _by_the_ends(self, rows: Ints, length: Floats) -> list[tuple[Ints, Floats]]:
        """(k,) each: rows and fractions close to both ends, where other moves of `before` ran."""
        near = 1.5 * GAP_SHARE * self.pair.tolerance  # beyond what counts as one visit
        long = length > 2.0 * near
        share = near / length[long]
        return [(rows[long], share), (rows[long], 1.0 - share)]

    def _rows(self) -> Ints:
        """(k,): the moves of `after` that are new or moved, or pass where such moves cut."""
        after = self.pair.after
        low = self._low(after)
        new = self.new[low[self.new]]
        rest = np.flatnonzero(after.ordinary & after.moves & low)
        own = segments_of(after.motion, np.setdiff1d(rest, new), ROUGH_CHORD)
        touched = [new]
        if len(own.row):
            index = SegmentIndex(own.start, own.end)
            touched += [
                own.row[index.near(part.start, part.end, self._reach)[1]]
                for part in self._disturbed()
            ]
        return np.unique(np.concatenate(touched))

    @property
    def _reach(self) -> float:
        """How far apart the chords of two moves may lie that pass through one point, mm."""
        return self.pair.tolerance + 2.0 * ROUGH_CHORD

    def _disturbed(self, longest: float = np.inf) -> list[Segments]:
        """Chords of the cutting moves that only one program makes in its order, the short ones."""
        result = []
        for side, rows in ((self.pair.before, self.gone), (self.pair.after, self.new)):
            cuts = rows[side.motion.at_feed[rows]]
            short = paths.lengths(paths.take(side.motion, cuts)) < longest
            result.append(segments_of(side.motion, cuts[short], ROUGH_CHORD))
        return result

    def _between(self, rows: Ints, spacing: Floats) -> list[tuple[Ints, Floats]]:
        """(k,) each: rows and fractions where moves pass that are too short for even points."""
        own = segments_of(self.pair.after.motion, rows, ROUGH_CHORD)
        if not len(own.row):
            return []
        result = _passed(own, self._disturbed(float(spacing.max())), spacing, self._reach)
        # a move that comes earlier now may come before cuts that stay where they were
        wide = self.new[spacing[self.new] > PITCH]
        own = own.take(np.flatnonzero(np.isin(own.row, wide)))
        if len(own.row):
            short = self._staying(wide, float(spacing[wide].max()))
            result += [self._thinned(*each) for each in _passed(own, [short], spacing, self._reach)]
        return result

    def _thinned(self, row: Ints, share: Floats) -> tuple[Ints, Floats]:
        """(k,) each: of points of moves, given by rows and fractions, one in each pitch."""
        length = paths.lengths(paths.take(self.pair.after.motion, row))
        cell = np.column_stack((row, np.floor(share * length / PITCH).astype(np.intp)))
        kept = np.unique(cell, axis=0, return_index=True)[1]
        return row[kept], share[kept]

    def _staying(self, rows: Ints, longest: float) -> Segments:
        """Chords of the short cutting moves of both programs, in one order, near moves of `after`.

        Those of `before`, shorter than `longest` mm.
        """
        side = self.pair.before
        cuts = side.feeding[self.pair.steady[0][side.feeding]]
        cuts = cuts[paths.lengths(paths.take(side.motion, cuts)) < longest]
        low, high = paths.bounds(paths.take(side.motion, cuts))
        least, most = paths.bounds(paths.take(self.pair.after.motion, rows))
        near = (high >= least.min(axis=0) - self._reach)[:, :2].all(axis=1)
        near &= (low <= most.max(axis=0) + self._reach)[:, :2].all(axis=1)
        return segments_of(side.motion, cuts[near], ROUGH_CHORD)


def _passed(
    own: Segments, parts: list[Segments], spacing: Floats, reach: float
) -> list[tuple[Ints, Floats]]:
    """(k,) each: rows and fractions of chords `own` where shorter chords of others pass.

    spacing: (n,) mm, between the even points of each row; reach: mm, how far apart they may lie.
    """
    index = SegmentIndex(own.start, own.end)
    result: list[tuple[Ints, Floats]] = []
    for part in parts:
        which, segment = index.near(part.start, part.end, reach)
        length = np.linalg.norm(part.end - part.start, axis=1)
        short = length[which] < spacing[own.row[segment]]
        mine = own.take(segment[short])
        middle = (part.start + part.end)[which[short]] / 2.0
        share = fraction_at(middle, mine.start, mine.end)
        result.append((mine.row, mine.first + share * (mine.last - mine.first)))
    return result
