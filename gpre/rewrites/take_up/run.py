"""What a stretch of moves at feed needs: the sides at its start, and where its axes turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.tolerance import LAST_DIGIT
from gpre.rewrites.take_up.shift import Shift
from gpre.rewrites.take_up.turns import AxisTurn, Course
from gpre.rewrites.take_up.windows import FeedRun, Window, WindowBounds, least_time, window_of


@dataclass(frozen=True, slots=True)
class RunPlan:
    """need: the sides that a run must start with, None where any will do. windows: in order."""

    need: tuple[int | None, int | None, int | None]
    windows: tuple[Window, ...]


def plan_run(
    run: FeedRun, courses: tuple[Course, Course, Course], shift: Shift, allowed: float
) -> RunPlan:
    """Find the sides that a run must start with, and the windows of the turns within it."""
    need: list[int | None] = [None, None, None]
    windows: list[Window] = []
    for axis in range(3):
        if not shift.has_backlash[axis]:
            continue
        turns = courses[axis].between(run.first, run.last)
        if turns and (turns[0].first or turns[0].reached < (run.first, LAST_DIGIT)):
            need[axis], turns = turns[0].direction, turns[1:]
        elif turns or _travels(run, axis, allowed):
            need[axis] = courses[axis].direction((run.first, 0.0)) or None
        windows += _windows(run, axis, turns, shift, allowed)
    if shift.twists:
        need = [way or _drift(run, axis, courses, shift) for axis, way in enumerate(need)]
    return RunPlan((need[0], need[1], need[2]), tuple(sorted(windows, key=lambda one: one.first)))


def _travels(run: FeedRun, axis: int, allowed: float) -> bool:
    low, high = paths.bounds(paths.take(run.motion, slice(run.first, run.last)))
    return float(high[:, axis].max() - low[:, axis].min()) > allowed


def _drift(
    run: FeedRun, axis: int, courses: tuple[Course, Course, Course], shift: Shift
) -> int | None:
    """Return the way in which the yaw makes the command of an axis go that the path lets rest."""
    motion, places = run.motion, ((run.first, 0.0), (run.last - 1, 1.0))
    origin = motion.zero(run.first)
    moved = []
    for row, along in places:
        sides = [float(course.direction((row, along))) for course in courses]
        sides[axis] = 0.0
        point = paths.points(paths.take(motion, slice(row, row + 1)), np.array([along]))[0]
        moved.append(float((shift.command(point, sides, origin) - point)[axis]))
    off = moved[1] - moved[0]
    return None if abs(off) < shift.step else int(np.sign(off))


def _windows(
    run: FeedRun, axis: int, turns: tuple[AxisTurn, ...], shift: Shift, allowed: float
) -> list[Window]:
    limits = shift.mill.limits
    each = shift.mill.axes[axis]
    backlash = each.greatest_lost_motion
    seconds = least_time(backlash, limits.max_take_up_feed, each.acceleration)
    if not turns:
        return []
    middles = [0.0]
    for one, other in zip(turns, turns[1:], strict=False):
        middles.append((run.distance(one.left) + run.distance(other.reached)) / 2.0)
    middles.append(float(run.ends[-1]))
    rooms = zip(middles, middles[1:], strict=False)
    return [
        window_of(run, axis, turn, WindowBounds(room, allowed, seconds))
        for turn, room in zip(turns, rooms, strict=True)
    ]
