"""One stretch of moves at feed, cut where the sides of its axes change.

A *part* is a piece of one move of the intended path, with the sides of all axes at both its ends.
Where an axis changes its side along a part, the part is run straight.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil, cos, hypot, inf, pi, sqrt

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.arc import PLANE_AXES
from gpre.motion.motion import Kind, Motion
from gpre.rewrites.take_up_shift import Shift
from gpre.rewrites.take_up_turns import Course, Turn
from gpre.rewrites.take_up_windows import Run, Window, least_time, levels, window_of

SNAP = 0.01  # mm; an edge of a window this near to the end of a move moves there
SNAP_SHARE = 0.04  # of the window, at the most
FLAT = 0.02  # of the allowed error: an arc that bows less is written as a straight line
BENT = 0.05  # of the allowed error: how far a changing slack may bend a part
_SAME = 1e-9  # mm
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


@dataclass(frozen=True, slots=True)
class RunPlan:
    """What a run needs: sides at its start (None: whatever they are), its parts, its windows."""

    need: tuple[int | None, int | None, int | None]
    windows: tuple[Window, ...]


def plan_run(
    run: Run, courses: tuple[Course, Course, Course], shift: Shift, allowed: float
) -> RunPlan:
    """Find the sides that a run must start with, and the windows of the turns within it."""
    need: list[int | None] = [None, None, None]
    windows: list[Window] = []
    for axis in range(3):
        if not shift.slacks[axis]:
            continue
        turns = courses[axis].between(run.first, run.last)
        if turns and (turns[0].first or turns[0].reached < (run.first, 1e-12)):
            need[axis], turns = turns[0].direction, turns[1:]
        elif turns or _travels(run, axis, allowed):
            need[axis] = courses[axis].direction((run.first, 0.0)) or None
        windows += _windows(run, axis, turns, shift, allowed)
    return RunPlan((need[0], need[1], need[2]), tuple(sorted(windows, key=lambda one: one.first)))


def _travels(run: Run, axis: int, allowed: float) -> bool:
    low, high = paths.bounds(paths.take(run.motion, slice(run.first, run.last)))
    return float(high[:, axis].max() - low[:, axis].min()) > allowed


def _windows(
    run: Run, axis: int, turns: tuple[Turn, ...], shift: Shift, allowed: float
) -> list[Window]:
    limits = shift.mill.limits
    each = shift.mill.axes[axis]
    slack = each.greatest_lost_motion
    seconds = least_time(slack, limits.greatest_take_up_feed, each.acceleration)
    if not turns:
        return []
    middles = [0.0]
    for one, other in zip(turns, turns[1:], strict=False):
        middles.append((run.distance(one.left) + run.distance(other.reached)) / 2.0)
    middles.append(float(run.ends[-1]))
    rooms = zip(middles, middles[1:], strict=False)
    return [
        window_of(run, axis, turn, room, allowed, seconds)
        for turn, room in zip(turns, rooms, strict=True)
    ]


def parts_of(run: Run, plan: RunPlan, start: Sides, shift: Shift, allowed: float) -> list[Part]:
    """Cut a run that starts with some sides into parts."""
    windows = [_snapped(run, window) for window in plan.windows]
    course = _SideCourse(start, windows)
    stands = sorted((one for one in windows if one.stands), key=lambda one: one.first)
    spread = sorted((one for one in windows if not one.stands), key=lambda one: one.first)
    parts: list[Part] = []
    stood = opened = 0
    active: list[Window] = []
    for at in range(run.last - run.first):
        row, begin, length = run.first + at, float(run.ends[at]), float(run.lengths[at])
        end = float(run.ends[at + 1])
        while opened < len(spread) and spread[opened].first < end - _SAME:
            active.append(spread[opened])
            opened += 1
        inner = {edge for one in (*active, *stands[stood:]) for edge in (one.first, one.last)}
        inner |= {begin + t * length for t in _table_places(run.motion, row, shift)}
        cuts = [begin, *sorted(edge for edge in inner if begin + _SAME < edge < end - _SAME), end]
        for low, high in zip(cuts, cuts[1:], strict=False):
            group = []
            while stood < len(stands) and stands[stood].first <= low + _SAME:
                group.append(stands[stood])
                stood += 1
            first, last = _share(low, begin, length), _share(high, begin, length, 1.0)
            if group:
                parts.append(_stand(run, (row, first), low, group, course, shift))
            mine = [one for one in active if one.first < high - _SAME and one.last > low + _SAME]
            parts += _cut(run, (row, first, last), (low, high), mine, course, shift, allowed)
        active = [one for one in active if one.last > end + _SAME]
    return parts


class _SideCourse:
    """The sides along a run; asked for rising distances only."""

    def __init__(self, start: Sides, windows: list[Window]) -> None:
        self._side = list(start)
        self._waiting = [
            sorted((one for one in windows if one.axis == axis), key=lambda one: one.first)
            for axis in range(3)
        ]
        self._next = [0, 0, 0]

    def at(self, distance: float, *, after: bool = False) -> Sides:
        """Give the sides at a distance; after: behind what is taken up right there."""
        result = []
        for axis in range(3):
            windows, least = self._waiting[axis], distance + (_SAME if after else -_SAME)
            while self._next[axis] < len(windows) and (
                windows[self._next[axis]].last
                <= (least if windows[self._next[axis]].stands else distance + _SAME)
            ):
                self._side[axis] = float(windows[self._next[axis]].side)
                self._next[axis] += 1
            side = self._side[axis]
            if self._next[axis] < len(windows):
                one = windows[self._next[axis]]
                if not one.stands and one.first < distance:
                    share = (distance - one.first) / (one.last - one.first)
                    side += share * (one.side - side)
            result.append(side)
        return result[0], result[1], result[2]


def _table_places(motion: Motion, row: int, shift: Shift) -> list[float]:
    """Give the fractions of a move at which an axis passes a row of its table of slack."""
    origin = motion.state_of(row).origin
    return [
        t
        for axis, each in enumerate(shift.mill.axes)
        if shift.slacks[axis] and isinstance(each.lost_motion, tuple)
        for place, _ in each.lost_motion
        for t in levels(motion, row, axis, place - origin[axis])
        if 0.0 < t < 1.0
    ]


def _share(distance: float, begin: float, length: float, rest: float = 0.0) -> float:
    return min(max((distance - begin) / length, 0.0), 1.0) if length > 0.0 else rest


def _snapped(run: Run, window: Window) -> Window:
    """Move the edges of a window to ends of moves that are very near."""
    if window.stands:
        return window
    near = min(SNAP, SNAP_SHARE * (window.last - window.first))
    edges = []
    for edge in (window.first, window.last):
        at = int(np.searchsorted(run.ends, edge))
        close = [float(end) for end in run.ends[max(at - 1, 0) : at + 1] if abs(end - edge) <= near]
        edges.append(min(close, key=lambda end, edge=edge: abs(end - edge)) if close else edge)  # type: ignore[misc]
    return replace(window, first=edges[0], last=edges[1])


def _stand(
    run: Run,
    place: tuple[int, float],
    distance: float,
    group: list[Window],
    course: _SideCourse,
    shift: Shift,
) -> Part:
    """Let the axes move alone, as fast as the slowest of them may."""
    before, after = course.at(distance), course.at(distance, after=True)
    way = [abs(after[axis] - before[axis]) * shift.most(axis) for axis in range(3)]
    seconds = max(one.seconds for one in group)
    feed = min(shift.feed(hypot(*way) / seconds * 60.0), float(run.motion.feed[place[0]]))
    return Part(place[0], place[1], place[1], before, after, feed)


def _cut(
    run: Run,
    piece: tuple[int, float, float],
    reach: tuple[float, float],
    windows: list[Window],
    course: _SideCourse,
    shift: Shift,
    allowed: float,
) -> Iterator[Part]:
    """Give the parts of a piece of one move: one, or several where the slack changes along it."""
    row, first, last = piece
    feed = float(run.motion.feed[row])
    for one in windows:
        most = (one.last - one.first) / one.seconds * 60.0
        feed = min(feed, shift.feed(most)) if most < feed else feed
    count = 1 if windows else _count(run.motion, piece, shift, allowed)
    before = course.at(reach[0], after=True)
    for step in range(count):
        begin, end = (first + (last - first) * share / count for share in (step, step + 1))
        after = course.at(reach[0] + (reach[1] - reach[0]) * (step + 1) / count)
        straight = bool(windows) or _is_flat(run.motion, row, end - begin, allowed)
        held = tuple(_held(run, one) for one in windows if abs(one.last - reach[1]) <= _SAME)
        held = tuple(each for each in held if each is not None)
        yield Part(row, begin, end, before, after, feed, straight, held)
        before = after


def _held(run: Run, window: Window) -> tuple[int, float] | None:
    """Give where the axis is to end with a window whose end lies nearer to the turn than its start.

    There the table still rests where it stood at the start; the screw goes on to just there, so
    that nothing of the slack is left for the move behind.
    """
    begin = run.coordinate(window.first, window.axis)
    end = run.coordinate(window.last, window.axis)
    return (window.axis, begin) if (begin - end) * window.side > 0.0 else None


def _is_flat(motion: Motion, row: int, share: float, allowed: float) -> bool:
    """Tell whether a piece of a move bows so little that it may be run straight."""
    if motion.kind[row] != Kind.ARC:
        return True
    return _bow(motion, row, share) <= FLAT * allowed


def _bow(motion: Motion, row: int, share: float) -> float:
    """Give how far a piece of an arc lies from its chord, mm; more than half a turn has no end."""
    turn = abs(float(motion.sweep[row])) * share
    if turn > pi:
        return inf
    return _radius(motion, row) * (1.0 - cos(turn / 2.0))


def _radius(motion: Motion, row: int) -> float:
    first, second, _ = PLANE_AXES[int(motion.plane[row]) - 17].tolist()
    spoke = motion.start[row] - motion.centre[row]
    return hypot(float(spoke[first]), float(spoke[second]))


def _count(motion: Motion, piece: tuple[int, float, float], shift: Shift, allowed: float) -> int:
    """Give how many parts a piece needs so that a changing slack bends none of them by much.

    Within a part an arc whose axes are stretched by a share k leaves the nearest circle by about
    k R times the square of its half turn.
    """
    row, first, last = piece
    if not shift.bends:
        return 1
    if motion.kind[row] != Kind.ARC:
        return 1
    turn = abs(float(motion.sweep[row])) * (last - first)
    bent = shift.bends * _radius(motion, row) * (turn / 2.0) ** 2
    return max(1, ceil(sqrt(bent / (BENT * allowed))))
