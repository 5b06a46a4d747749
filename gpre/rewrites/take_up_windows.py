"""Where along a cut the slack of a turning axis is taken up: the window, and how fast.

While the screw crosses the slack the table rests on that axis, so the path may be held to its
extreme only where it lies within the allowed error `e` of it: on a quadrant of radius R that is a
window of length w with (w/2)²/2R = e. The window is the widest that the error allows; where an axis
rests anyway it is as wide as an easy take-up needs. The feed goes down inside the window where the
screw would cross the slack too fast, b F/w, or could not start and stop within it: from rest to
rest over b takes 2 sqrt(b/a) (Biagiotti and Melchiorri, 2008; memory). At a corner the tool stands
and the axis moves alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import acos, atan2, ceil, cos, floor, hypot, pi, radians, sin, sqrt

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.arc import PLANE_AXES, Floats
from gpre.motion.motion import Kind, Motion
from gpre.rewrites.take_up_turns import Place, Turn

EASY = 2.0  # times the least time that a take-up needs, where an axis rests
SLOWEST = 10.0  # times: slower than a tenth of the greatest take-up feed gains nothing
SHARP = radians(15.0)  # a corner: below that the path is taken for a curve
STANDS = 0.25  # of the feed: a corner that would have to be passed slower than that is stood on
_NEAR = 1e-9


@dataclass(frozen=True, slots=True)
class Need:
    """What one take-up asks for: slack, mm; least time, s."""

    slack: float
    time: float


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
class Run:
    """Moves at feed one after another: rows `first` to `last` of a motion, half open.

    walls: rows (of `motion`) before which something else happens; no window lies across.
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

    def distance(self, place: Place) -> float:
        """Give how far a place lies from the start of the run, mm."""
        at = place[0] - self.first
        return float(self.ends[at] + place[1] * self.lengths[at])

    def at(self, row: int, t: float, axis: int) -> float:
        """Give the coordinate of an axis on a row, mm."""
        some = slice(row, row + 1)
        return float(paths.points(paths.take(self.motion, some), np.array([t]))[0, axis])

    def feed(self, first: float, last: float) -> float:
        """Give the lowest feed between two distances, mm/s."""
        begin = int(np.searchsorted(self.ends, first + _NEAR, side="right")) - 1
        end = int(np.searchsorted(self.ends, last - _NEAR, side="left"))
        count = self.last - self.first
        begin = min(max(begin, 0), count - 1)
        feeds = self.motion.feed[self.first + begin : self.first + max(end, begin + 1)]
        return float(feeds.min()) / 60.0


def window_of(
    run: Run, axis: int, turn: Turn, room: tuple[float, float], allowed: float, need: Need
) -> Window:
    """Find the window of a turn within a run.

    room: mm from the start of the run, what the turns before and behind leave. allowed: mm, how
    far the axis may be from its extreme.
    """
    low, high = run.distance(turn.reached), run.distance(turn.left)
    if turn.reached == (run.first - 1, 1.0):
        low = 0.0
    low, high, parted = _beside_walls(run, turn, low, high)
    extreme = run.at(*turn.left, axis)
    level = extreme - (-turn.direction) * allowed  # on the way there and on the way back
    flat_low = low if parted < 0 else _back(run, axis, turn, level)
    flat_high = high if parted > 0 else _ahead(run, axis, turn, level)
    first, last = max(min(flat_low, low), room[0]), min(max(flat_high, high), room[1])
    feed = run.feed(first, last)
    easy, most = EASY * need.time * feed, SLOWEST * need.time * feed
    if high - low >= easy:
        first, last = _middle(low, high, easy)
    elif last - first > max(most, high - low):
        first, last = _about(first, last, low, high, max(most, high - low))
    width = last - first
    if width <= _NEAR:
        return Window(axis, high, high, turn.direction, need.time)
    slow = width / need.time < STANDS * feed
    if slow and high - low <= _NEAR and _is_corner(run, turn):
        return Window(axis, high, high, turn.direction, need.time)
    return Window(axis, first, last, turn.direction, need.time)


def _beside_walls(run: Run, turn: Turn, low: float, high: float) -> tuple[float, float, int]:
    """Take the longest part of a rest without a wall; -1, 1: the wall ends it on that side."""
    walls = [
        float(run.ends[row - run.first])
        for row in range(turn.reached[0], turn.left[0] + 1)
        if row in run.walls and row > run.first
    ]
    walls = [each for each in walls if low - _NEAR <= each <= high + _NEAR]
    if not walls:
        return low, high, 0
    edges = [low, *walls, high]
    widths = [b - a for a, b in zip(edges, edges[1:], strict=False)]
    best = max(range(len(widths)), key=widths.__getitem__)
    if best == len(widths) - 1:
        return edges[-2], high, -1
    return edges[best], edges[best + 1], 1 if best == 0 else 2


def _middle(low: float, high: float, width: float) -> tuple[float, float]:
    middle = (low + high) / 2.0
    return middle - width / 2.0, middle + width / 2.0


def _about(first: float, last: float, low: float, high: float, width: float) -> tuple[float, float]:
    """Shrink a window to a width, about the rest within it."""
    middle = (low + high) / 2.0
    begin = min(max(middle - width / 2.0, first), last - width)
    return begin, begin + width


def _back(run: Run, axis: int, turn: Turn, level: float) -> float:
    """Give how far back the axis stays within the allowed error of its extreme, mm."""
    row, t = turn.reached
    while row >= run.first:
        found = _crossing(run, row, axis, level, t, backwards=True)
        if found is not None:
            return run.distance((row, found))
        if row in run.walls or row == run.first:
            return run.distance((row, 0.0))
        row, t = row - 1, 1.0
    return 0.0


def _ahead(run: Run, axis: int, turn: Turn, level: float) -> float:
    """Give how far ahead the axis stays within the allowed error of its extreme, mm."""
    row, t = turn.left
    while row < run.last:
        found = _crossing(run, row, axis, level, t, backwards=False)
        if found is not None:
            return run.distance((row, found))
        if row + 1 in run.walls or row + 1 == run.last:
            return run.distance((row, 1.0))
        row, t = row + 1, 0.0
    return float(run.ends[-1])


def _crossing(
    run: Run, row: int, axis: int, level: float, t: float, *, backwards: bool
) -> float | None:
    """Find the nearest fraction of a row, before or behind `t`, where the axis is at a level."""
    places = _levels(run.motion, row, axis, level)
    if backwards:
        return max((each for each in places if 0.0 <= each < t - _NEAR), default=None)
    return min((each for each in places if t + _NEAR < each <= 1.0), default=None)


def _levels(motion: Motion, row: int, axis: int, level: float) -> list[float]:
    """Give all fractions of a move at which an axis is at a level."""
    start, end = float(motion.start[row, axis]), float(motion.end[row, axis])
    first, second, normal = PLANE_AXES[int(motion.plane[row]) - 17].tolist()
    if motion.kind[row] != Kind.ARC or axis == normal:
        return [] if end == start else [(level - start) / (end - start)]
    centre = motion.centre[row]
    u, v = (
        float(motion.start[row, first] - centre[first]),
        float(motion.start[row, second] - centre[second]),
    )
    last = hypot(
        float(motion.end[row, first] - centre[first]),
        float(motion.end[row, second] - centre[second]),
    )
    radius = (hypot(u, v) + last) / 2.0  # the two differ by rounding at the most
    share = (level - float(centre[axis])) / radius
    if not abs(share) <= 1.0:
        return []
    begin, sweep = atan2(v, u), float(motion.sweep[row])
    lag = 0.0 if axis == first else pi / 2.0
    found = []
    for angle in (acos(share) + lag, -acos(share) + lag):
        low, high = sorted((begin, begin + sweep))
        least, most = ceil((low - angle) / (2.0 * pi)), floor((high - angle) / (2.0 * pi))
        found += [(angle + 2.0 * pi * k - begin) / sweep for k in range(least, most + 1)]
    return found


def _is_corner(run: Run, turn: Turn) -> bool:
    """Tell whether the path has a corner where the axis turns."""
    if turn.reached[0] == turn.left[0]:
        return False
    rows = np.array([turn.reached[0], turn.left[0]], np.intp)
    if rows[0] < run.first:
        return True
    one, other = paths.tangents(paths.take(run.motion, rows), np.array([turn.reached[1], 0.0]))
    cosine = float(np.clip(one @ other, -1.0, 1.0))
    return not acos(cosine) <= SHARP


def least_time(slack: float, greatest_feed: float, acceleration: float) -> float:
    """Give the least time to cross a slack, s; feed in mm/min, acceleration in mm/s²."""
    return max(slack / (greatest_feed / 60.0), 2.0 * sqrt(slack / acceleration))


__all__ = ["Need", "Run", "Window", "least_time", "window_of"]
_ = (cos, sin)
