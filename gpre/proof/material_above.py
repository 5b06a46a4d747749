"""What each new or moved move of the rewritten program meets, point by point.

What stands above the points is taken from `before` and from `after`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.repeats import repeated
from gpre.geometry.tolerance import GRAZE, LAST_DIGIT, SLOPE
from gpre.geometry.too_dense import CrowdedError
from gpre.motion.motion import Motion
from gpre.proof.columns import GAP_SHARE, Passes, ToolColumns, greatest, tops, within
from gpre.proof.side import Pair

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

OPPOSITE = 0.7  # cosine; what runs less against a move crosses it
# points looked at in one go: so many that what is compared with them fits into little memory
_FEW_POINTS, _MANY_POINTS = 50, 4000
_PAIRS = 500_000
_TRIED = 64
_MOST_PAIRS = 15_000_000  # of a point and a pass of `before`; more would take too long


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
    passed through the point, -1 where none did. forward, against: it passed there at feed in the
    direction of this move, or in the opposite one.
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
    forward: Bools
    against: Bools


def down_slopes(motion: Motion) -> Floats:
    """(n,): the sine of each move's way down, negative on the way up, 0 where it is not known."""
    length = paths.lengths(motion)
    drop = motion.start[:, 2] - motion.end[:, 2]
    with np.errstate(invalid="ignore", divide="ignore"):
        slope: Floats = np.nan_to_num(drop / length)
    return slope


def backlash(pair: Pair) -> float:
    """How much more may stand above a point than in the original, mm."""
    return max(2.0 * pair.tolerance, GRAZE)


class _Lot(NamedTuple):
    """k points in the order of their places, and the m places that they share.

    row: (k,), the move of `after`. point: (k, 3) mm. heading: (k, 3), its direction there, of
    length 1. place: (k,) 0 to m - 1. at: (m, 2) mm. one: (m,), a move of each place: all have the
    tool, the setup and the frame of that one.
    """

    row: Ints
    point: Floats
    heading: Floats
    place: Ints
    at: Floats
    one: Ints


# the columns of `Encounters` from `was_top` on
_Was = tuple[Floats, Bools, Floats, Floats, Ints, Ints, Bools, Bools]


def encounters(
    pair: Pair, slopes: tuple[Floats, Floats], row: Ints, share: Floats, columns: list[ToolColumns]
) -> Encounters:
    """Find what moves meet at points of theirs, k each, in the order given.

    slopes: `down_slopes` of `before` and of `after`. row: (k,), the move of `after`. share: (k,),
    how far along it, 0 to 1. columns: the moves of `before` and of `after` that come near. Raises
    CrowdedError rather than work for minutes.
    """
    part = paths.take(pair.after.motion, row)
    point, heading = paths.points(part, share), paths.tangents(part, share)
    place = _shared_places(pair, row, point)
    order = np.argsort(place, kind="stable")
    points = _Points(pair, slopes, *columns)
    points.look_out_for_crowds(point[order])
    parts: list[Encounters] = []
    first, size = 0, _FEW_POINTS
    while first < len(row) or not parts:
        mine = order[first : first + size]
        held = points.held
        parts.append(points.meet(_lot(row[mine], point[mine], heading[mine], place[mine])))
        first += size
        crowd = max(points.held - held, 1) / size
        size = int(np.clip(_PAIRS / crowd, _FEW_POINTS, _MANY_POINTS))
    back = np.argsort(order)
    return Encounters(*(np.concatenate(column)[back] for column in zip(*parts, strict=True)))


def _shared_places(pair: Pair, row: Ints, point: Floats) -> Ints:
    """(k,): the same number for points over one place, of one tool, setup and frame."""
    after = pair.after
    keys = after.tool[row], after.setup[row], pair.frames[1][row], point[:, 0], point[:, 1]
    order = np.lexsort(keys)
    other = np.zeros(len(row), bool)
    for key in keys:
        other[1:] |= key[order][1:] != key[order][:-1]
    result = np.zeros(len(row), np.intp)
    result[order] = np.cumsum(other)
    return result


def _lot(row: Ints, point: Floats, heading: Floats, place: Ints) -> _Lot:
    new = np.diff(place, prepend=-1) != 0
    return _Lot(row, point, heading, np.cumsum(new) - 1, point[new, :2], row[new])


class _Points:
    """The points of moves of `after`, compared with what passes over them in both programs."""

    def __init__(
        self, pair: Pair, slopes: tuple[Floats, Floats], old: ToolColumns, new: ToolColumns
    ) -> None:
        self.pair = pair
        self.held = 0  # pairs of a point and a pass of `before` so far
        self._old, self._new = old, new
        self._slopes = slopes
        self._feed = np.nan_to_num(pair.before.motion.feed, nan=np.inf)

    def look_out_for_crowds(self, point: Floats) -> None:
        """Raise CrowdedError at once where a few of all points tell that it will come to that."""
        some = point[np.linspace(0, len(point) - 1, min(len(point), _TRIED)).astype(np.intp), :2]
        passes = self._old.passes(some)
        if len(passes.row) * len(point) > _MOST_PAIRS * max(len(some), 1):
            raise CrowdedError

    def meet(self, lot: _Lot) -> Encounters:
        """Look at a lot of points."""
        top, cleared = self._now(lot)
        return Encounters(lot.row, lot.point, top, cleared, *self._was(lot, top))

    def _now(self, lot: _Lot) -> tuple[Floats, Floats]:
        """(k,) mm each: what stands above the points in `after`: in all, and cleared."""
        frames, count = self.pair.frames[1], len(lot.row)
        passes = self._new.passes(lot.at)
        passes = within(passes, frames[passes.row] == frames[lot.one][passes.place])
        top = tops(passes, self._gap)
        clears = self._leaves_room(passes.row, lot.one[passes.place])
        cleared = np.full(len(top), np.inf)
        cleared[clears] = tops(within(passes, clears), self._gap)
        moves = len(frames)
        of, own = _matches(lot.place * moves + lot.row, passes.place * moves + passes.row)
        # a helix passes over a point at one height and, a turn later, at another
        through = self._new.through(passes, own, lot.point[of])
        of, own = of[through], own[through]
        return (
            greatest(top[own], of, count, empty=-np.inf),
            greatest(cleared[own], of, count, empty=-np.inf),
        )

    def _was(self, lot: _Lot, own_top: Floats) -> _Was:
        """Find what the points met in `before`; own_top: (k,) mm, what stands above them now."""
        pair, count = self.pair, len(lot.row)
        frames = pair.frames
        passes = self._old.passes(lot.at)
        passes = within(passes, frames[0][passes.row] == frames[1][lot.one][passes.place])
        here = pair.before.setup[passes.row] == pair.after.setup[lot.one][passes.place]
        depth = greatest(-passes.height[here], passes.place[here], len(lot.one), empty=-np.inf)
        of, which = self._through(lot, passes)
        top, passes, row = tops(passes, self._gap)[which], within(passes, which), lot.row[of]
        slope_was, slope_now = self._slopes[0][passes.row], self._slopes[1][row]
        as_steep = (slope_now <= SLOPE) | (slope_was >= slope_now - SLOPE)
        alike = pair.groups[0][passes.row] == pair.groups[1][row]
        alike &= passes.feed == pair.after.motion.at_feed[row]
        alike &= passes.feed | as_steep  # up out of a hole is not down
        same = np.zeros(count, bool)
        same[of[alike & as_steep]] = True
        # a pass that found less metal may have been faster
        as_full = top >= own_top[of] - backlash(pair)
        fits = alike & passes.feed & (as_steep | ~same[of]) & as_full
        of_alike, passed = of[alike], passes.row[alike].astype(np.float64)
        first = -greatest(-passed, of_alike, count, empty=-np.inf)
        first[np.isinf(first)] = -1.0
        feeding = alike & passes.feed
        along = self._along(lot, of[feeding], passes.segment[feeding])
        forward, against = np.zeros((2, count), bool)
        forward[of[feeding][along > 0.0]] = True
        against[of[feeding][along < -OPPOSITE]] = True
        return (
            greatest(top[alike], of_alike, count, empty=-np.inf),
            same,
            -depth[lot.place],
            greatest(self._feed[passes.row[fits]], of[fits], count, empty=-np.inf),
            first.astype(np.intp),
            greatest(passed, of_alike, count, empty=-1.0).astype(np.intp),
            forward,
            against,
        )

    def _along(self, lot: _Lot, of: Ints, segment: Ints) -> Floats:
        """(j,): the cosine between moves at points and the chords of `before` through them."""
        chord = self._old.segments.end[segment] - self._old.segments.start[segment]
        length = np.maximum(np.linalg.norm(chord, axis=1), LAST_DIGIT)
        result: Floats = np.einsum("ij,ij->i", lot.heading[of], chord) / length
        return result

    def _through(self, lot: _Lot, passes: Passes) -> tuple[Ints, Ints]:
        """(j,) each: pairs of a point and a pass of `before` that goes through it."""
        of, which = _matches(lot.place, passes.place)
        self.held += len(of)
        if self.held > _MOST_PAIRS:
            raise CrowdedError
        kept = self._old.through(passes, which, lot.point[of])
        return of[kept], which[kept]

    @property
    def _gap(self) -> float:
        return self.pair.tolerance * GAP_SHARE

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


def _matches(asked: Ints, keys: Ints) -> tuple[Ints, Ints]:
    """(j,) each: all pairs of an asked number and a key that are equal; keys: (n,), sorted."""
    first, last = (np.searchsorted(keys, asked, side) for side in ("left", "right"))
    which, rank = repeated(last - first)
    return which, first[which] + rank
