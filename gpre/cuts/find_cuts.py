"""The finder of cuts: stretches of moves at feed between air moves, each with its shape."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.contours import find_loop
from gpre.cuts.cuts import Cut, Shape
from gpre.cuts.levels import Slopes, levels, slopes
from gpre.cuts.passes import read_raster
from gpre.geometry.tolerance import ONE_CIRCLE, RESOLUTION, ROUNDED
from gpre.motion.events import Effect, kinds
from gpre.motion.motion import Kind, Motion


class _Run(NamedTuple):
    """Rows of Motion, half open: all, and those between the upright moves at either end."""

    first: int
    last: int
    start: int
    stop: int

    def cut(self, shape: Shape) -> Cut:
        return Cut(self.first, self.last, self.start, self.stop, shape)


def find_cuts(motion: Motion, resolution: float = RESOLUTION) -> tuple[Cut, ...]:
    """Find the cuts of a program, in order.

    A cut is a maximal run of moves at feed, broken by rapids, by events (all but messages), at
    the bounds of a subprogram, between the repeats of a canned cycle and where the place of the
    tool is not known. Plunges and ramps before the body are its lead-in, what leads off its
    lead-out. A run of several levels, a plunge between two, has the shape that all its levels
    have; `gpre.cuts.levels.levels` splits it.

    resolution: mm, that of the Z axis: what changes Z by less in all runs at one Z.
    """
    heads, tails = _runs(motion)
    if not len(heads):
        return ()
    slope = slopes(motion, resolution)
    moving = np.flatnonzero(~slope.upright)
    # the first and one past the last move of each run that is not straight up or down
    body_first = np.append(moving, len(motion))[np.searchsorted(moving, heads)]
    body_last = np.append(moving, -1)[np.searchsorted(moving, tails) - 1] + 1
    hole = body_first >= tails
    start, stop = np.where(hole, heads, body_first), np.where(hole, tails, body_last)
    ramps = np.concatenate(([0], np.cumsum(slope.ramp)))
    single = (stop == start + 1) & (motion.kind[start] == Kind.LINE)
    straight = ~hole & single & (ramps[stop] == ramps[start])
    result: list[Cut] = []
    columns = (heads, tails, start, stop, hole, straight)
    for row in zip(*(column.tolist() for column in columns), strict=True):
        first, last, body, end, is_hole, is_pass = row
        if is_hole or is_pass:
            shape = Shape.HOLE if is_hole else Shape.PASS
            result.append(Cut(first, last, body, end, shape))
        else:
            result.append(_shape(motion, slope, _Run(first, last, body, end)))
    return tuple(result)


def _runs(motion: Motion) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """(k,) each: first rows and rows past the last of the runs at feed."""
    count = len(motion)
    if not count:
        none = np.zeros(0, np.intp)
        return none, none
    feed = motion.at_feed & motion.known
    cut_here = np.zeros(count + 1, bool)  # True: a run may not go on from row k - 1 to row k
    cut_here[[0, count]] = True
    cut_here[motion.moves_at(kinds(Effect.PARTS_CUTS))] = True
    apart = np.abs(motion.end[:-1] - motion.start[1:]).max(axis=1) > RESOLUTION
    cycle = (motion.role[:-1] != 0) | (motion.role[1:] != 0)
    other = motion.block[:-1] != motion.block[1:]
    entered = motion.called[:-1] != motion.called[1:]
    cut_here[1:-1] |= apart | (cycle & other) | entered
    begins = feed & (np.concatenate(([True], ~feed[:-1])) | cut_here[:-1])
    stops = feed & (np.concatenate((~feed[1:], [True])) | cut_here[1:])
    return np.flatnonzero(begins), np.flatnonzero(stops) + 1


def _shape(motion: Motion, slope: Slopes, run: _Run) -> Cut:
    """Name the shape of a run."""
    if motion.rotary.size and _turns(motion, run.first, run.last):
        return run.cut(Shape.SURFACE)
    ramp = slope.ramp[run.start : run.stop]
    if ramp.any():
        return _sloped(motion, ramp, run)
    if slope.upright[run.start : run.stop].any():
        return _levelled(motion, run)
    shape, head, tail = _flat(motion, run.start, run.stop)
    return Cut(run.first, run.last, head, tail, shape)


def shape_at_one_z(motion: Motion, cut: Cut) -> Shape:
    """Return the shape that a surface would have if all of it ran at one Z."""
    return _flat(motion, cut.body_first, cut.body_last)[0]


def _flat(motion: Motion, start: int, stop: int) -> tuple[Shape, int, int]:
    """Return the shape of rows at one Z, and the rows of its body."""
    if _straight(motion, start, stop):
        return Shape.PASS, start, stop
    raster = read_raster(motion, start, stop)
    if raster is not None:
        return Shape.RASTER, raster.passes[0].first, raster.passes[-1].last
    loop = find_loop(motion, start, stop)
    if loop is not None:
        return Shape.CLOSED, loop[0], loop[1]
    return Shape.OPEN, start, stop


def _levelled(motion: Motion, run: _Run) -> Cut:
    """Name a run with upright moves within: several levels of one shape, or a surface."""
    found = [_flat(motion, each.body, each.last) for each in levels(motion, run.start, run.stop)]
    shapes = {shape for shape, _, _ in found}
    if len(shapes) == 1 and (shape := shapes.pop()) in {Shape.CLOSED, Shape.RASTER}:
        return Cut(run.first, run.last, found[0][1], found[-1][2], shape)
    return run.cut(Shape.SURFACE)


def _sloped(motion: Motion, ramp: NDArray[np.bool_], run: _Run) -> Cut:
    """Name a run with ramps: a helix, a plane cut with ramps as its leads, or a surface."""
    start, stop = run.start, run.stop
    arc = motion.kind[start:stop] == Kind.ARC
    if (ramp & arc & (motion.plane[start:stop] != 17)).any():
        return run.cut(Shape.SURFACE)
    if arc.all():
        centres = motion.centre[start:stop, :2]
        if np.abs(centres - centres[0]).max() <= ONE_CIRCLE:
            return run.cut(Shape.HELIX)
    flat = np.flatnonzero(~ramp)
    if not len(flat):
        return run.cut(Shape.SURFACE)
    head, tail = start + int(flat[0]), start + int(flat[-1]) + 1
    rise = motion.end[start:stop, 2] - motion.start[start:stop, 2]
    down_then_up = not (rise[: head - start] > 0).any() and not (rise[tail - start :] < 0).any()
    within = ramp[head - start : tail - start].any() or len(levels(motion, head, tail)) != 1
    if within or not down_then_up:
        return run.cut(Shape.SURFACE)
    shape, body_first, body_last = _flat(motion, head, tail)
    if shape in {Shape.PASS, Shape.OPEN} and head > start and tail < stop:
        return run.cut(Shape.SURFACE)  # down one side and up the other
    return Cut(run.first, run.last, body_first, body_last, shape)


def _straight(motion: Motion, start: int, stop: int) -> bool:
    """Return whether the rows are one straight run."""
    rows = slice(start, stop)
    if (motion.kind[rows] == Kind.ARC).any():
        return False
    chord = motion.end[stop - 1, :2] - motion.start[start, :2]
    length = float(np.hypot(*chord))
    if length <= RESOLUTION:
        return False
    delta = motion.end[rows, :2] - motion.start[rows, :2]
    offset = motion.end[rows, :2] - motion.start[start, :2]
    aside = np.abs(offset @ np.array([-chord[1], chord[0]])) / length
    return bool((aside <= ROUNDED).all() and (delta @ chord >= 0).all())


def _turns(motion: Motion, first: int, last: int) -> bool:
    """Return whether a rotary axis moves in the rows."""
    rows = motion.rotary[first:last]
    return bool((rows[:, :3] != rows[:, 3:]).any())
