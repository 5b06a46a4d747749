"""What each new or moved move of the rewritten program meets, point by point.

Looked at are the moves of `after` that `before` has not, or has in another order, and the moves
that pass over the same places. What stands above them is taken from `before` and from `after`.
"""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.region import SegmentIndex
from gpre.geometry.segments import Segments, fraction_at, segments_of
from gpre.motion.motion import Motion
from gpre.proof.columns import COARSE, Columns, Passes, greatest, tops, within
from gpre.proof.helices import Helices
from gpre.proof.planes import LEVEL
from gpre.proof.side import Pair, Side

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

PITCH = 0.25  # mm, between the points of a move
LEAST_POINTS, MOST_POINTS = 4, 40  # of a move, besides those where short moves pass
_MOST_IN_ALL = 120_000
_CHUNK = 4000  # points looked at in one go
GAP_SHARE = 4.0  # of the tolerance: passes less far apart along a cut are one visit
STEEP = 0.02  # sine; what goes down less is level
SLOPE_SLACK = 0.02  # sine; rounding of short moves


class Encounters(NamedTuple):
    """k points of moves of `after`, one row each; heights mm.

    row: the move of `after`. point: (k, 3) mm. top: what stood there when the tool came, in
    `after`. cleared: the same, counting only tools that leave room for this one. was_top: the
    greatest of what stood there in `before` when it passed through the same point in the same
    manner (at feed, or at rapid, and then down as steeply; same group); -inf where it did not.
    same_slope: it passed there going down as steeply. reached: the lowest Z at which the tool of
    `before` stood at that XY, in this setup.
    feed: mm/min, the greatest of `before` at that point with as much metal above, -inf where it
    did not pass there at feed. was_first, was_last: the first and the last move of `before` that
    passed through the point, -1 where none did.
    """

    row: Ints
    point: Floats
    top: Floats
    cleared: Floats
    was_top: Floats
    same_slope: Bools
    reached: Floats
    feed: Floats
    was_first: Ints
    was_last: Ints


def down_slopes(motion: Motion) -> Floats:
    """(n,): the sine of each move's way down, negative on the way up, 0 where it is not known."""
    length = paths.lengths(motion)
    drop = motion.start[:, 2] - motion.end[:, 2]
    with np.errstate(invalid="ignore", divide="ignore"):
        slope: Floats = np.nan_to_num(drop / length)
    return slope


def slack(pair: Pair) -> float:
    """How much more may stand above a point than in the original, mm."""
    return max(2.0 * pair.tolerance, 0.005)


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
        """What all moves in question meet."""
        row, t = self._places()
        after = self.pair.after
        columns = (
            self._columns(self.pair.before, row),
            self._columns(after, row),
        )
        parts = []
        for first in range(0, len(row), _CHUNK):
            mine = slice(first, first + _CHUNK)
            point = paths.points(paths.take(after.motion, row[mine]), t[mine])
            parts.append(self._meet(row[mine], point, *columns))
        if not parts:
            parts.append(self._meet(row, np.zeros((0, 3)), *columns))
        return Encounters(*(np.concatenate(column) for column in zip(*parts, strict=True)))

    def _columns(self, side: Side, asked: Ints) -> Columns:
        """Index the moves of a side that come near the moves in question."""
        rows = np.flatnonzero(side.ordinary & side.moves & self._low(side))
        if len(asked) and len(rows):
            bounds = paths.bounds(paths.take(side.motion, rows))
            least, most = paths.bounds(paths.take(self.pair.after.motion, np.unique(asked)))
            low, high = least.min(axis=0) - 1.0, most.max(axis=0) + 1.0
            near = (bounds[1] >= low)[:, :2].all(axis=1) & (bounds[0] <= high)[:, :2].all(axis=1)
            rows = rows[near]
        return Columns(side, rows, self.pair.tolerance)

    def _low(self, side: Side) -> Bools:
        """(n,): the moves at feed, and the rapids that come below the travel plane."""
        motion = side.motion
        plane = self.planes[side.setup]
        result: Bools = motion.at_feed | ~(
            np.minimum(motion.start[:, 2], motion.end[:, 2]) >= plane - LEVEL
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
        upright = (np.hypot(*(path.end - path.start)[:, :2].T) <= LEVEL) & (path.sweep == 0.0)
        steps[upright] = np.minimum(steps[upright], LEAST_POINTS)
        spacing = np.zeros(len(after.motion))
        spacing[rows] = length / steps
        more = [
            _evenly(rows, steps),
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
        own = segments_of(after.motion, np.setdiff1d(rest, new), COARSE)
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
        return self.pair.tolerance + 2.0 * COARSE

    def _disturbed(self, longest: float = np.inf) -> list[Segments]:
        """Chords of the cutting moves that only one program makes in its order, the short ones."""
        result = []
        for side, rows in ((self.pair.before, self.gone), (self.pair.after, self.new)):
            cuts = rows[side.motion.at_feed[rows]]
            short = paths.lengths(paths.take(side.motion, cuts)) < longest
            result.append(segments_of(side.motion, cuts[short], COARSE))
        return result

    def _between(self, rows: Ints, spacing: Floats) -> list[tuple[Ints, Floats]]:
        """(k,) each: rows and fractions where moves pass that are too short for even points."""
        own = segments_of(self.pair.after.motion, rows, COARSE)
        result: list[tuple[Ints, Floats]] = []
        if not len(own.row):
            return result
        index = SegmentIndex(own.start, own.end)
        for part in self._disturbed(float(spacing.max())):
            which, segment = index.near(part.start, part.end, self._reach)
            length = np.linalg.norm(part.end - part.start, axis=1)
            short = length[which] < spacing[own.row[segment]]
            mine = own.take(segment[short])
            middle = (part.start + part.end)[which[short]] / 2.0
            share = fraction_at(middle, mine.start, mine.end)
            result.append((mine.row, mine.first + share * (mine.last - mine.first)))
        return result

    def _meet(self, row: Ints, point: Floats, old: Columns, new: Columns) -> Encounters:
        pair, count = self.pair, len(row)
        gap = pair.tolerance * GAP_SHARE
        frames = pair.frames[1][row]
        now = new.passes(point)
        now = within(now, pair.frames[1][now.row] == frames[now.point])
        # a helix passes over a point at one height and, a turn later, at another
        own = (now.row == row[now.point]) & (now.far <= pair.tolerance * 1.1)
        all_tops = tops(now, np.ones(len(own), bool), gap)
        clears = own | self._leaves_room(now.row, row[now.point])
        clear_tops = all_tops if clears.all() else tops(now, clears, gap)
        was = old.passes(point)
        was = within(was, pair.frames[0][was.row] == frames[was.point])
        was_tops = tops(was, np.ones(len(was.row), bool), gap)
        slope_was, slope_now = self.slopes[0][was.row], self.slopes[1][row[was.point]]
        as_steep = (slope_now <= STEEP) | (slope_was >= slope_now - SLOPE_SLACK)
        through = self._through(was, row) & (was.feed | as_steep)  # up out of a hole is not down
        same = np.zeros(count, bool)
        same[was.point[through & as_steep]] = True
        own_top = greatest(all_tops[own], now.point[own], count, empty=-np.inf)
        # a pass that found less metal may have been faster
        as_full = was_tops >= own_top[was.point] - slack(pair)
        fits = through & was.feed & (as_steep | ~same[was.point]) & as_full
        feed = np.nan_to_num(pair.before.motion.feed, nan=np.inf)
        at = was.point
        here = pair.before.setup[was.row] == pair.after.setup[row[at]]
        passed = was.row[through].astype(np.float64)
        first = -greatest(-passed, at[through], count, empty=-np.inf)
        first[np.isinf(first)] = -1.0
        last = greatest(passed, at[through], count, empty=-1.0)
        return Encounters(
            row,
            point,
            own_top,
            greatest(clear_tops[own], now.point[own], count, empty=-np.inf),
            greatest(was_tops[through], at[through], count, empty=-np.inf),
            same,
            -greatest(-was.height[here], at[here], count, empty=-np.inf),
            greatest(feed[was.row[fits]], at[fits], count, empty=-np.inf),
            first.astype(np.intp),
            last.astype(np.intp),
        )

    def _through(self, was: Passes, row: Ints) -> Bools:
        """(k,): passes of `before` through the very point, in the same group and manner."""
        pair = self.pair
        mine = row[was.point]
        same = pair.groups[0][was.row] == pair.groups[1][mine]
        same &= was.feed == pair.after.motion.at_feed[mine]
        # both paths are cut into chords here, which may lie apart by a tenth of the tolerance
        result: Bools = same & (was.far <= pair.tolerance * 1.1)
        return result

    def _leaves_room(self, row: Ints, mine: Ints) -> Bools:
        """(k,): the tool of `row` leaves room for that of `mine`: the same, or flat and wider."""
        tools = self.pair.job.tools
        one, other = self.pair.after.tool[row], self.pair.after.tool[mine]
        result: Bools = one == other
        for number, tool in tools.items():
            if tool.shape == "flat":
                wider = [n for n, t in tools.items() if t.diameter <= tool.diameter]
                result |= (one == number) & np.isin(other, wider)
        return result


def _evenly(rows: Ints, steps: Ints) -> tuple[Ints, Floats]:
    """(k,) each: rows and fractions, so many steps along each, both ends included."""
    row = np.repeat(rows, steps + 1)
    rank = np.arange(len(row)) - np.repeat(np.cumsum(steps + 1) - (steps + 1), steps + 1)
    return row, rank / np.repeat(steps, steps + 1)
