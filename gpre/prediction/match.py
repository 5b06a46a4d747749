"""Finds, for each place of one path, the place of another path that it belongs to.

Where two programs have the same number of runs at feed, each run belongs to its fellow, and places
are looked for near the same share of its length: a wall is not held against another one that
happens to lie near. Otherwise the nearest place anywhere counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.arc import Floats, Ints
from gpre.geometry.region import SegmentIndex
from gpre.geometry.segments import distance, fraction_at
from gpre.motion.motion import Motion
from gpre.prediction.runs import runs_of

REACH = 1.0  # mm; farther away nothing is looked for
_WINDOW = 0.5  # mm along the path, besides what the lengths differ by
_DRIFT = 5.0  # mm; the most by which the lengths of two runs widen the window
_CHUNK = 2_000_000


class Match(NamedTuple):
    """(k,) each: move and fraction on it, and (k, 3) mm the place; NaN where none was near.

    distance: (k,) mm; REACH where none was near.
    """

    row: Ints
    along: Floats
    point: Floats
    distance: Floats


@dataclass(frozen=True)
class Line:
    """p places one after another: point (p, 3) mm, all finite; run (p,), rising.

    row, along: (p,) the move and the fraction on it.
    """

    point: Floats
    run: Ints
    row: Ints
    along: Floats

    @property
    def length(self) -> Floats:
        """(p,) mm: from the start of the run to each place."""
        step = np.linalg.norm(np.diff(self.point, axis=0, prepend=self.point[:1]), axis=1)
        heads = np.flatnonzero(np.diff(self.run, prepend=-1))
        step[heads] = 0.0
        whole = np.cumsum(step)
        result: Floats = whole - np.repeat(whole[heads], np.diff(heads, append=len(whole)))
        return result


def line_of(motion: Motion, chord: float) -> Line:
    """Sample the runs of a motion."""
    runs = runs_of(motion)
    rows = np.flatnonzero(runs.of >= 0)
    row, along, point = paths.sample(paths.take(motion, rows), chord)
    return Line(point, runs.of[rows[row]], rows[row], along)


def match(line: Line, target: Line, window: float) -> Match:
    """Find the place of `target` for each place of `line`.

    window: mm, how far apart along their runs two places may be that belong together, besides 0.5
    mm and what the lengths of the two runs differ by.
    """
    if not len(line.run) or not len(target.run):
        return _nothing(len(line.run))
    if line.run[-1] == target.run[-1]:
        segment, gap = _in_order(line, target, window + _WINDOW)
    else:
        segment, gap = _anywhere(line, target)
    near = segment >= 0
    segment = np.where(near, segment, 0)
    behind = np.minimum(segment + 1, len(target.run) - 1)
    share = fraction_at(line.point, target.point[segment], target.point[behind])
    one_move = target.row[segment] == target.row[behind]
    first, last = target.along[segment], target.along[behind]
    along = np.where(one_move, first + share * (last - first), last)
    row = np.where(one_move, target.row[segment], target.row[behind])
    point = target.point[segment] + share[:, None] * (target.point[behind] - target.point[segment])
    point[~near] = np.nan
    return Match(row, along, point, np.where(near, gap, REACH))


def _nothing(count: int) -> Match:
    return Match(
        np.zeros(count, np.intp),
        np.zeros(count),
        np.full((count, 3), np.nan),
        np.full(count, REACH),
    )


def _in_order(line: Line, target: Line, window: float) -> tuple[Ints, Floats]:
    """(k,) each: the segment of the target, from place i to i + 1, and the distance, mm."""
    ends, target_ends = _tails(line.run), _tails(target.run)
    length, target_length = line.length, target.length
    whole, target_whole = length[ends - 1], target_length[target_ends - 1]
    scale = target_whole / np.where(whole > 0.0, whole, 1.0)
    # a window that is too small makes the distance too large, never too small
    room = window + np.minimum(np.abs(target_whole - whole), _DRIFT)
    # one number line for all runs, so that one search does for all
    base = np.concatenate(([0.0], np.cumsum(target_whole + 1.0)[:-1]))
    goal = base[line.run] + length * scale[line.run]
    place = base[target.run] + target_length
    heads = np.concatenate(([0], target_ends[:-1]))
    first = np.searchsorted(place, goal - room[line.run], side="left") - 1
    last = np.searchsorted(place, goal + room[line.run], side="right")
    first = np.maximum(first, heads[line.run])
    last = np.minimum(last, np.maximum(target_ends[line.run] - 1, heads[line.run] + 1))
    last = np.minimum(np.maximum(last, first + 1), len(target.run))
    return _nearest(line.point, target.point, first, last)


def _nearest(point: Floats, target: Floats, first: Ints, last: Ints) -> tuple[Ints, Floats]:
    """(k,) each: the nearest of the segments `first` to `last` (half open, never none)."""
    count = last - first
    total = np.cumsum(count)
    segment, gap = np.empty(len(point), np.intp), np.empty(len(point))
    begin = 0
    while begin < len(point):
        done = total[begin - 1] if begin else 0
        end = max(int(np.searchsorted(total, done + _CHUNK, side="right")), begin + 1)
        some = np.arange(begin, end)
        starts = total[some] - count[some] - done
        owner = np.repeat(some, count[some])
        each = first[owner] + np.arange(len(owner)) - np.repeat(starts, count[some])
        behind = np.minimum(each + 1, len(target) - 1)
        away = distance(point[owner], target[each], target[behind])
        gap[some] = np.minimum.reduceat(away, starts)
        best = np.flatnonzero(away == gap[owner])[::-1]
        segment[owner[best]] = each[best]  # the first of equals is written last
        begin = end
    return segment, gap


def _anywhere(line: Line, target: Line) -> tuple[Ints, Floats]:
    """(k,) each: the nearest segment of the target, -1 where none is within REACH."""
    segments = np.flatnonzero(target.run[1:] == target.run[:-1])
    segment, gap = np.full(len(line.run), -1, np.intp), np.full(len(line.run), REACH)
    if not len(segments):
        return segment, gap
    index = SegmentIndex(target.point[segments], target.point[segments + 1])
    step = 20_000
    for begin in range(0, len(line.run), step):
        point = line.point[begin : begin + step]
        query, found = index.near(point, point, REACH)
        each = segments[found]
        away = distance(point[query], target.point[each], target.point[each + 1])
        order = np.lexsort((each, away, query))
        query, each, away = query[order], each[order], away[order]
        first = np.append(True, np.diff(query) != 0) if len(query) else np.zeros(0, np.bool_)
        close = first & (away < REACH)
        segment[begin + query[close]] = each[close]
        gap[begin + query[close]] = away[close]
    return segment, gap


def _tails(run: Ints) -> Ints:
    """(r,): one past the last place of each run."""
    return np.append(np.flatnonzero(np.diff(run)) + 1, len(run))
