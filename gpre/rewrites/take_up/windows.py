"""Where along a cut the backlash of a turning axis is taken up: the window, and how fast.

While the screw crosses the backlash the table rests on that axis, so the path may be held at its
extreme only where it lies within the allowed error e of it: on a quadrant of radius R that is a
window of length w with (w/2)²/2R = e. The window is the widest that the error allows; where an axis
rests anyway it is as wide as an easy take-up needs. The feed goes down inside the window where the
screw would cross the backlash too fast, b F/w, or could not start and stop within it: from rest to
rest over b takes 2 sqrt(b/a) (Biagiotti and Melchiorri, 2008; memory). At a corner the tool stands
and the axis moves alone; so it does at every turn in G61 and G61.1, where the tool would stop at
both ends of a window.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import acos, atan2, ceil, floor, hypot, pi, radians, sqrt

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.arc import PLANE_AXES, Floats
from gpre.geometry.tolerance import DUST
from gpre.motion.motion import Kind, Motion
from gpre.rewrites.take_up.turns import AxisTurn, Place

EASY = 2.0  # times the least time that a take-up needs, where an axis rests
SLOWEST = 10.0  # times: slower than a tenth of the greatest take-up feed gains nothing
SHARP = radians(15.0)  # a corner: below that the path is taken for a curve
STANDS = 0.25  # of the feed: a corner that would have to be passed slower than that is stood on
_NEAR = DUST


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of a run, mm from its start, in which the side of an axis goes over to `side`.

    Where first and last are the same the tool stands. seconds: the least time to cross it.
    """

    axis: int
    first: float
    last: float
    side: int
    seconds: float

    @property
    def stands(self) -> bool:
        """True where the axis moves alone."""
        return self.last <= self.first


@dataclass(frozen=True)
class FeedRun:
    """Moves at feed one after another: rows `first` to `last` of a motion, half open.

    walls: rows of the motion before which something else happens; no window lies across.
    """

    motion: Motion
    first: int
    last: int
    walls: frozenset[int] = frozenset()

    @cached_property
    def lengths(self) -> Floats:
        """(k,) mm."""
        return paths.lengths(paths.take(self.motion, slice(self.first, self.last)))

    @cached_property
    def ends(self) -> Floats:
        """(k + 1,) mm: from the start of the run to the start of each move, and to its end."""
        return np.concatenate(([0.0], np.cumsum(self.lengths)))

    @cached_property
    def exact(self) -> bool:
        """True in G61 and G61.1: the tool would stop at both ends of a window."""
        states = np.unique(self.motion.state[self.first : self.last]).tolist()
        return any(self.motion.states[state].path != 640 for state in states)

    def distance(self, place: Place) -> float:
        """Return how far a place lies from the start of the run, mm."""
        at = place[0] - self.first
        return float(self.ends[at] + place[1] * self.lengths[at])

    def coordinate(self, distance: float, axis: int) -> float:
        """Return where an axis is meant to stand at a distance, mm."""
        at = int(np.searchsorted(self.ends, distance - _NEAR, side="right")) - 1
        at = min(max(at, 0), len(self.lengths) - 1)
        length = float(self.lengths[at])
        t = (distance - float(self.ends[at])) / length if length > 0.0 else 1.0
        return _coordinate(self.motion, (self.first + at, min(max(t, 0.0), 1.0)), axis)

    def feed(self, first: float, last: float) -> float:
        """Return the lowest feed between two distances, mm/s."""
        count = self.last - self.first
        begin = int(np.searchsorted(self.ends, first + _NEAR, side="right")) - 1
        end = int(np.searchsorted(self.ends, last - _NEAR, side="left"))
        begin = min(max(begin, 0), count - 1)
        feeds = self.motion.feed[self.first + begin : self.first + max(end, begin + 1)]
        return float(feeds.min()) / 60.0


def least_time(backlash: float, greatest_feed: float, acceleration: float) -> float:
    """Return the least time to cross a backlash, s; greatest_feed in mm/min, acceleration mm/s²."""
    return max(backlash / greatest_feed * 60.0, 2.0 * sqrt(backlash / acceleration))


@dataclass(frozen=True, slots=True)
class WindowBounds:
    """What holds for a window.

    room: mm from the start of the run, what the turns before and behind leave. allowed: mm, how
    far the axis may be from its extreme. seconds: the least time of the take-up.
    """

    room: tuple[float, float]
    allowed: float
    seconds: float


def window_of(run: FeedRun, axis: int, turn: AxisTurn, bounds: WindowBounds) -> Window:
    """Find the window of a turn within a run."""
    allowed, seconds = bounds.allowed, bounds.seconds
    low, high, room = _rest_of(run, turn, bounds.room)
    if run.exact:
        return Window(axis, high, high, turn.direction, seconds)
    extreme = _coordinate(run.motion, turn.left, axis)
    level = extreme + turn.direction * allowed
    first = max(min(_flat_back(run, axis, turn, level, room[0]), low), room[0])
    last = min(max(_flat_ahead(run, axis, turn, level, room[1]), high), room[1])
    feed = run.feed(first, last)
    if high - low >= EASY * seconds * feed:
        middle, width = (low + high) / 2.0, EASY * seconds * feed
        first, last = middle - width / 2.0, middle + width / 2.0
    elif last - first > (width := max(SLOWEST * seconds * feed, high - low)):
        begin = (low + high - width) / 2.0
        first = min(max(begin, first), last - width)
        last = first + width
    slow = last - first < STANDS * feed * seconds
    corner = slow and high - low <= _NEAR and _is_corner(run, turn)
    if last - first <= _NEAR or corner:
        return Window(axis, high, high, turn.direction, seconds)
    return Window(axis, first, last, turn.direction, seconds)


def _rest_of(
    run: FeedRun, turn: AxisTurn, room: tuple[float, float]
) -> tuple[float, float, tuple[float, float]]:
    """Return where the axis rests, from and to, and the room: the longest part between walls."""
    low, high = run.distance(turn.reached), run.distance(turn.left)
    rows = range(max(turn.reached[0], run.first + 1), turn.left[0] + 1)
    walls = [float(run.ends[row - run.first]) for row in rows if row in run.walls]
    walls = [each for each in walls if low - _NEAR <= each <= high + _NEAR]
    if not walls:
        return low, high, room
    edges = [low, *walls, high]
    best = max(range(len(walls) + 1), key=lambda at: edges[at + 1] - edges[at])
    least = room[0] if best == 0 else walls[best - 1]
    greatest = room[1] if best == len(walls) else walls[best]
    return edges[best], edges[best + 1], (max(least, room[0]), min(greatest, room[1]))


def _flat_back(run: FeedRun, axis: int, turn: AxisTurn, level: float, room: float) -> float:
    """Return how far back the axis has not passed a level, mm."""
    row, t = turn.reached
    while True:
        behind = [at for at in levels(run.motion, row, axis, level) if 0.0 <= at < t - _NEAR]
        if behind:
            return run.distance((row, max(behind)))
        here = run.distance((row, 0.0))
        if row == run.first or row in run.walls or here <= room:
            return here
        row, t = row - 1, 1.0


def _flat_ahead(run: FeedRun, axis: int, turn: AxisTurn, level: float, room: float) -> float:
    """Return how far ahead the axis does not pass a level, mm."""
    row, t = turn.left
    while True:
        ahead = [at for at in levels(run.motion, row, axis, level) if t + _NEAR < at <= 1.0]
        if ahead:
            return run.distance((row, min(ahead)))
        here = run.distance((row, 1.0))
        if row + 1 == run.last or row + 1 in run.walls or here >= room:
            return here
        row, t = row + 1, 0.0


def _coordinate(motion: Motion, place: Place, axis: int) -> float:
    row = slice(place[0], place[0] + 1)
    return float(paths.points(paths.take(motion, row), np.array([place[1]]))[0, axis])


def levels(motion: Motion, row: int, axis: int, level: float) -> list[float]:
    """Return all fractions of a move at which an axis is at a level."""
    start, end = float(motion.start[row, axis]), float(motion.end[row, axis])
    first, second, normal = PLANE_AXES[int(motion.plane[row]) - 17].tolist()
    if motion.kind[row] != Kind.ARC or axis == normal:
        return [] if end == start else [(level - start) / (end - start)]
    centre, begin, finish = (column[row] for column in (motion.centre, motion.start, motion.end))
    u, v = float(begin[first] - centre[first]), float(begin[second] - centre[second])
    last = hypot(float(finish[first] - centre[first]), float(finish[second] - centre[second]))
    radius = (hypot(u, v) + last) / 2.0  # the two differ by rounding at the most
    share = (level - float(centre[axis])) / radius
    if not abs(share) <= 1.0:
        return []
    angle, sweep = atan2(v, u), float(motion.sweep[row])
    low, high = sorted((angle, angle + sweep))
    found = []
    for way in (acos(share), -acos(share)):
        at = way + (0.0 if axis == first else pi / 2.0)
        turns = range(ceil((low - at) / (2.0 * pi)), floor((high - at) / (2.0 * pi)) + 1)
        found += [(at + 2.0 * pi * k - angle) / sweep for k in turns]
    return found


def _is_corner(run: FeedRun, turn: AxisTurn) -> bool:
    """Return whether the path has a corner where the axis turns."""
    if turn.reached[0] == turn.left[0]:
        return False
    rows = np.array([turn.reached[0], turn.left[0]], np.intp)
    one, other = paths.tangents(paths.take(run.motion, rows), np.array([turn.reached[1], 0.0]))
    return not acos(float(np.clip(one @ other, -1.0, 1.0))) <= SHARP
