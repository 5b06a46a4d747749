"""Cuts a stretch of moves at feed where the sides of its axes change.

A *part* is a piece of one move of the intended path, with the sides of all axes at both its ends.
Where an axis changes its side along a part, the part is run straight.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import ceil, cos, hypot, inf, pi, sqrt

import numpy as np

from gpre.geometry.arc import PLANE_AXES
from gpre.geometry.tolerance import DUST, NEAR, POINT
from gpre.motion.motion import Kind, Motion
from gpre.rewrites.take_up.shift import Shift
from gpre.rewrites.take_up.windows import FeedRun, Window, levels

SNAP = NEAR  # an edge of a window this near to the end of a move moves there
SNAP_SHARE = 0.04  # of the window, at the most
FLAT = 0.02  # of the allowed error: an arc that bows less is written as a straight line
BENT = 0.05  # of the allowed error: how far a changing backlash may bend a part
_SAME = DUST
_AROUND = POINT  # a tool that stands is part of the moves before and behind it
Sides = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of the move `row`, from fraction `first` to `last`, and the sides at its ends.

    first == last: the tool stands and the axes move alone. feed: mm/min, no more than the move's.
    straight: it is run straight. held: axes that end at another coordinate (mm) than the path's.
    """

    row: int
    first: float
    last: float
    before: Sides
    after: Sides
    feed: float
    straight: bool = False
    held: tuple[tuple[int, float], ...] = ()

    @property
    def stands(self) -> bool:
        """True where the intended path does not move."""
        return self.first == self.last


class PartsCutter:
    """Cuts one run. windows: its windows; start: the sides that it starts with.

    allowed: mm, the error that windows may leave.
    """

    def __init__(
        self,
        run: FeedRun,
        windows: tuple[Window, ...],
        start: Sides,
        shift: Shift,
        *,
        allowed: float,
    ) -> None:
        """Put the windows in order."""
        self.run, self.shift, self.allowed = run, shift, allowed
        snapped = sorted((_snapped(run, one) for one in windows), key=lambda one: one.first)
        self.stands = [one for one in snapped if one.stands]
        self.spread = [one for one in snapped if not one.stands]
        self.course = _SideCourse(start, snapped)

    def parts(self) -> Iterator[Part]:
        """Return all parts in order."""
        run = self.run
        stood = opened = 0
        active: list[Window] = []
        places = [one.first for one in self.stands]
        for at in range(run.last - run.first):
            row, begin, length = run.first + at, float(run.ends[at]), float(run.lengths[at])
            end = float(run.ends[at + 1])
            while opened < len(self.spread) and self.spread[opened].first < end - _SAME:
                active.append(self.spread[opened])
                opened += 1
            inner = {edge for one in active for edge in (one.first, one.last)}
            inner |= set(places[bisect_right(places, begin) : bisect_left(places, end)])
            inner |= {begin + t * length for t in self._table_places(row)}
            inner = {edge for edge in inner if begin + _SAME < edge < end - _SAME}
            cuts = [begin, *sorted(inner), end]
            for low, high in zip(cuts, cuts[1:], strict=False):
                piece = row, _share(low, begin, length), _share(high, begin, length, 1.0)
                until = bisect_right(places, low + _SAME)
                if until > stood:
                    yield self._stand(piece, low, self.stands[stood:until])
                    stood = until
                mine = [one for one in active if one.first < high - _SAME]
                mine = [one for one in mine if one.last > low + _SAME]
                yield from self._cut(piece, (low, high), mine)
            active = [one for one in active if one.last > end + _SAME]

    def _stand(self, piece: tuple[int, float, float], distance: float, group: list[Window]) -> Part:
        """Let the axes move alone, as fast as the slowest of them may."""
        row, place, _ = piece
        before, after = self.course.at(distance), self.course.at(distance, after=True)
        way = [abs(after[axis] - before[axis]) * self.shift.most(axis) for axis in range(3)]
        seconds = max(one.seconds for one in group)
        around = self.run.feed(distance - _AROUND, distance + _AROUND) * 60.0
        feed = min(self.shift.feed(hypot(*way) / seconds * 60.0), around)
        return Part(row, place, place, before, after, feed)

    def _cut(
        self, piece: tuple[int, float, float], reach: tuple[float, float], windows: list[Window]
    ) -> Iterator[Part]:
        """Return the parts of a piece of one move: several where the backlash changes along it."""
        row, first, last = piece
        feed = float(self.run.motion.feed[row])
        for one in windows:
            most = (one.last - one.first) / one.seconds * 60.0
            feed = min(feed, self.shift.feed(most)) if most < feed else feed
        count = 1 if windows else self._count(piece)
        before = self.course.at(reach[0], after=True)
        ending = (_held(self.run, one) for one in windows if abs(one.last - reach[1]) <= _SAME)
        held = tuple(each for each in ending if each is not None)
        for step in range(count):
            begin, end = (first + (last - first) * share / count for share in (step, step + 1))
            after = self.course.at(reach[0] + (reach[1] - reach[0]) * (step + 1) / count)
            for one in windows:  # then there is one part
                turned = after[one.axis] - before[one.axis]
                most = self._bearable(one.axis, reach, turned, dict(held))
                feed = min(feed, self.shift.feed(most)) if most < feed else feed
            straight = bool(windows) or self._is_flat(row, end - begin)
            yield Part(row, begin, end, before, after, feed, straight, held)
            before = after

    def _bearable(
        self, axis: int, reach: tuple[float, float], turned: float, held: Mapping[int, float]
    ) -> float:
        """Return the feed at which the screw of an axis may make its way over a part, mm/min.

        The table rests there: what the path itself travels along the axis is crossed as well.
        turned: how far its side changes. held: mm, where axes end that leave the path.
        """
        begin, end = (self.run.coordinate(distance, axis) for distance in reach)
        crossed = abs(held.get(axis, end) - begin + turned * self.shift.most(axis))
        greatest = self.shift.mill.limits.max_take_up_feed
        return (reach[1] - reach[0]) / (crossed + self.shift.step) * greatest

    def _is_flat(self, row: int, share: float) -> bool:
        """Return whether a piece of a move bows so little that it may be run straight."""
        motion = self.run.motion
        return motion.kind[row] != Kind.ARC or _bow(motion, row, share) <= FLAT * self.allowed

    def _count(self, piece: tuple[int, float, float]) -> int:
        """Return how many parts a piece needs so that a changing backlash bends none much.

        Within a part an arc whose axes are stretched by a share k leaves the nearest circle by
        about k R times the square of its half turn.
        """
        row, first, last = piece
        motion = self.run.motion
        if not self.shift.bends or motion.kind[row] != Kind.ARC:
            return 1
        turn = abs(float(motion.sweep[row])) * (last - first)
        bent = self.shift.bends * _radius(motion, row) * (turn / 2.0) ** 2
        return max(1, ceil(sqrt(bent / (BENT * self.allowed))))

    def _table_places(self, row: int) -> list[float]:
        """Return the fractions of a move at which an axis passes a row of its backlash table."""
        motion = self.run.motion
        origin = motion.state_of(row).origin
        return [
            t
            for axis, each in enumerate(self.shift.mill.axes)
            if self.shift.has_backlash[axis] and isinstance(each.lost_motion, tuple)
            for place, _ in each.lost_motion
            for t in levels(motion, row, axis, place - origin[axis])
            if 0.0 < t < 1.0
        ]


class _SideCourse:
    """The sides along a run; asked for rising distances only."""

    def __init__(self, start: Sides, windows: list[Window]) -> None:
        self._side = list(start)
        self._waiting = [[one for one in windows if one.axis == axis] for axis in range(3)]
        self._next = [0, 0, 0]

    def at(self, distance: float, *, after: bool = False) -> Sides:
        """Return the sides at a distance; after: behind what is taken up right there."""
        x, y, z = (self._of(axis, distance, after=after) for axis in range(3))
        return x, y, z

    def _of(self, axis: int, distance: float, *, after: bool) -> float:
        windows = self._waiting[axis]
        while self._next[axis] < len(windows):
            one = windows[self._next[axis]]
            over = _SAME if after or not one.stands else -_SAME
            if one.last > distance + over:
                break
            self._side[axis] = float(one.side)
            self._next[axis] += 1
        side = self._side[axis]
        if self._next[axis] < len(windows):
            one = windows[self._next[axis]]
            if not one.stands and one.first < distance:
                side += (distance - one.first) / (one.last - one.first) * (one.side - side)
        return side


def _share(distance: float, begin: float, length: float, rest: float = 0.0) -> float:
    return min(max((distance - begin) / length, 0.0), 1.0) if length > 0.0 else rest


def _snapped(run: FeedRun, window: Window) -> Window:
    """Move the edges of a window to ends of moves that are very near."""
    if window.stands:
        return window
    near = min(SNAP, SNAP_SHARE * (window.last - window.first))
    return replace(
        window, first=_near_end(run, window.first, near), last=_near_end(run, window.last, near)
    )


def _near_end(run: FeedRun, edge: float, near: float) -> float:
    at = int(np.searchsorted(run.ends, edge))
    apart = [(abs(float(end) - edge), float(end)) for end in run.ends[max(at - 1, 0) : at + 1]]
    distance, end = min(apart)
    return end if distance <= near else edge


def _held(run: FeedRun, window: Window) -> tuple[int, float] | None:
    """Return where the axis is to end with a window whose end is nearer to the turn than its start.

    There the table still rests where it stood at the start; the screw goes on to just there, so
    that nothing of the backlash is left for the move behind.
    """
    begin = run.coordinate(window.first, window.axis)
    end = run.coordinate(window.last, window.axis)
    return (window.axis, begin) if (begin - end) * window.side > 0.0 else None


def _bow(motion: Motion, row: int, share: float) -> float:
    """Return how far a piece of an arc lies from its chord, mm; inf for more than half a turn."""
    turn = abs(float(motion.sweep[row])) * share
    if turn > pi:
        return inf
    return _radius(motion, row) * (1.0 - cos(turn / 2.0))


def _radius(motion: Motion, row: int) -> float:
    first, second, _ = PLANE_AXES[int(motion.plane[row]) - 17].tolist()
    spoke = motion.start[row] - motion.centre[row]
    return hypot(float(spoke[first]), float(spoke[second]))
