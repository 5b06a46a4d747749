"""Finds, for each place of one path, the place of another path that it belongs to.

Where two programs have the same number of runs at feed, each run belongs to its fellow, and both
are followed from their starts on: a wall is not compared with another one that
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
from gpre.geometry.tolerance import SHARE
from gpre.motion.motion import Motion
from gpre.prediction.runs import runs_of

REACH = 1.0  # mm; farther away nothing is looked for
_WINDOW = 0.5  # mm along the path, besides what the lengths differ by
_STRETCH = 0.5  # of the way since the last place found: what the lengths may differ by
_PIECE = 64  # places found at one go, in each run
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
class MatchedLine:
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


def line_of(motion: Motion, chord: float) -> MatchedLine:
    """Sample the runs of a motion."""
    runs = runs_of(motion)
    rows = np.flatnonzero(runs.of >= 0)
    row, along, point = paths.sample(paths.take(motion, rows), chord)
    return MatchedLine(point, runs.of[rows[row]], rows[row], along)


def match(line: MatchedLine, target: MatchedLine, window: float) -> Match:
    """Find the place of `target` for each place of `line`.

    window: mm, how far apart along their runs two places may be that belong together, besides 0.5
    mm and what the lengths may differ by. One that is too small makes distances too large, never
    too small.
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


def _in_order(line: MatchedLine, target: MatchedLine, window: float) -> tuple[Ints, Floats]:
    """(k,) each: the segment of the target, from place i to i + 1, and the distance, mm.

    Both are followed piece by piece, all runs at once: each piece is looked for ahead of where the
    piece before it was found, so that a small difference of length does not add up.
    """
    heads, tails = _bounds(line.run)
    target_heads, target_tails = _bounds(target.run)
    length, target_length = line.length, target.length
    # one number line for all runs, so that one search does for all
    base = np.concatenate(([0.0], np.cumsum(target_length[target_tails - 1] + 1.0)[:-1]))
    place = base[target.run] + target_length
    ahead = base - length[heads]  # what to add to a length to find its place on the target
    since = length[heads].copy()
    segment, gap = np.zeros(len(length), np.intp), np.full(len(length), REACH)
    begin = heads.copy()
    open_runs = np.arange(len(heads))
    while len(open_runs):
        end = np.minimum(begin[open_runs] + _PIECE, tails[open_runs])
        some = _ranges(begin[open_runs], end)
        run = line.run[some]
        goal = length[some] + ahead[run]
        room = window + (length[some] - since[run]) * _STRETCH
        first = np.searchsorted(place, goal - room, side="left") - 1
        last = np.searchsorted(place, goal + room, side="right")
        first = np.clip(first, target_heads[run], np.maximum(target_tails[run] - 2, 0))
        last = np.minimum(last, np.maximum(target_tails[run] - 1, 1))
        found = _nearest(
            line.point[some], target.point, (first, np.maximum(last, first + 1)), place, goal
        )
        segment[some], gap[some] = found
        stop = end - 1
        behind = np.minimum(segment[stop] + 1, len(place) - 1)
        share = fraction_at(line.point[stop], target.point[segment[stop]], target.point[behind])
        reached = place[segment[stop]] + share * (place[behind] - place[segment[stop]])
        close = gap[stop] < REACH
        ahead[open_runs[close]] = (reached - length[stop])[close]
        since[open_runs[close]] = length[stop][close]
        begin[open_runs] = end
        open_runs = open_runs[end < tails[open_runs]]
    return segment, gap


def _nearest(
    point: Floats, target: Floats, bounds: tuple[Ints, Ints], place: Floats, goal: Floats
) -> tuple[Ints, Floats]:
    """(k,) each: the nearest segment, and how near.

    bounds: the first and one past the last segment to look at, never none. Of two that are equally
    near, the one counts whose `place` is nearer to `goal`, mm along the run.
    """
    first, last = bounds
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
        each = _ranges(first[some], last[some])
        behind = np.minimum(each + 1, len(target) - 1)
        away = distance(point[owner], target[each], target[behind])
        cost = away + SHARE * np.abs(place[each] - goal[owner])
        best = np.flatnonzero(cost == np.minimum.reduceat(cost, starts)[owner - begin])
        segment[owner[best]], gap[owner[best]] = each[best], away[best]
        begin = end
    return segment, gap


def _anywhere(line: MatchedLine, target: MatchedLine) -> tuple[Ints, Floats]:
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


def _bounds(run: Ints) -> tuple[Ints, Ints]:
    """(r,) each: the first place of each run, and one past the last."""
    tails = np.append(np.flatnonzero(np.diff(run)) + 1, len(run))
    return np.append(0, tails[:-1]), tails


def _ranges(first: Ints, last: Ints) -> Ints:
    """Return all numbers of several half-open ranges, one range after another."""
    count = last - first
    total = np.cumsum(count)
    result: Ints = np.arange(int(total[-1])) + np.repeat(first - total + count, count)
    return result
