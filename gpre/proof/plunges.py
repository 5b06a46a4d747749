"""When a plunge into metal may stand at another place than in the original.

A closed contour may begin anywhere along itself. Its plunge may then go in elsewhere on it,
provided that the original plunged on the contour too, at feed, into metal that nobody had opened
for it before (a start hole is not to be missed), as deep, and no slower; and that no more metal
stands above the new place than stood above the old one. Where the stock is not known none moves: a
blank may have a clean side, and the original gone down beside it with a mill that cannot plunge.
(Common practice, no source.)
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.tolerance import GRAZE, RESOLUTION, SHARE
from gpre.motion.motion import Kind
from gpre.proof.boxed import boxed
from gpre.proof.changed_moves import Meeting
from gpre.proof.columns import GAP_SHARE, ToolColumns, chains, tops, within

Ints = NDArray[np.intp]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_MOST_PLUNGES = 100  # of a tool, looked at to see whether one goes into metal
START_HOLE = 5.0  # mm; a hole of another tool so near is taken for a start hole


class Plunges:
    """Judges plunges of `after` that `before` has not."""

    def __init__(self, meeting: Meeting) -> None:
        """Nothing is looked at before it is asked for."""
        self.meeting = meeting
        self.pair = meeting.pair
        self._verdicts: dict[int, str] = {}
        self._found: dict[int, list[int]] = {}
        self._tops: dict[int, float] = {}

    @cached_property
    def _old(self) -> ToolColumns:
        side = self.pair.before
        return ToolColumns(side, np.flatnonzero(side.ordinary & side.moves), self.pair.tolerance)

    @cached_property
    def _chain(self) -> Ints:
        return chains(self.pair.before)

    def refusal(self, row: int) -> str:
        """Say why a new move at feed may not go into metal, or "" where it may."""
        if row not in self._verdicts:
            self._verdicts[row] = self._judge(row)
        return self._verdicts[row]

    def _judge(self, row: int) -> str:
        pair = self.pair
        motion = pair.after.motion
        start, end = motion.start[row], motion.end[row]
        if motion.kind[row] != Kind.LINE or np.hypot(*(end - start)[:2]) > RESOLUTION:
            return "a new move at feed through metal that the original cut in another way"
        if end[2] > start[2]:
            return "a new move at feed upwards through metal"
        reasons = [self._compare(row, plunge) for plunge in self._plunges_of(row)]
        if not reasons:
            return "a plunge into metal at a place where the original made none"
        return "" if "" in reasons else reasons[0]

    def rapid_before(self, row: int) -> bool:
        """Return whether a rapid goes straight down to a moved plunge, no lower than before it.

        Where the plunge may move, the rapid to the height at which it starts may move with it.
        """
        pair = self.pair
        motion = pair.after.motion
        delta = motion.end[row] - motion.start[row]
        plunge = row + 1
        if np.hypot(delta[0], delta[1]) > RESOLUTION or plunge >= len(motion):
            return False
        if not pair.after.ordinary[plunge] or not motion.at_feed[plunge]:
            return False
        if pair.partner[plunge] >= 0 or self.refusal(plunge):
            return False
        lowest = float(motion.end[row, 2])
        stock = pair.job.stock
        over = stock is not None and boxed(pair) and lowest >= stock.max[2] - RESOLUTION
        if not over and not self._cleared(row) <= lowest + pair.tolerance:
            return False
        starts = [
            self._starts_at(old)
            for old in self._plunges_of(plunge)
            if not self._compare(plunge, old)
        ]
        return bool(motion.end[row, 2] >= min(starts) - RESOLUTION)

    def _starts_at(self, plunge: int) -> float:
        """Return the Z at which the original's rapid ended before a plunge; `inf` without one."""
        motion, first = self.pair.before.motion, self._first(plunge)
        if first and not motion.at_feed[first - 1]:
            return float(motion.start[first, 2])
        return np.inf

    def into_metal(self, tool: int) -> bool:
        """Return whether the original plunges into metal with a tool: it is not wider below."""
        side = self.pair.before
        rows = np.flatnonzero(self._upright & side.ordinary & (side.tool == tool))
        end = side.motion.end
        return any(
            self._in_stock(end[row])
            and self._top(row) > end[row, 2] + self.pair.tolerance
            and not self._start_hole(row)
            for row in rows[:_MOST_PLUNGES].tolist()
        )

    def _first(self, plunge: int) -> int:
        """Return the first of the moves straight down at feed that end with a plunge."""
        first = plunge
        while first and self._upright[first - 1]:
            first -= 1
        return first

    def _plunges_of(self, row: int) -> list[int]:
        """Return the original's plunges into the closed contours on which a new plunge ends."""
        if row not in self._found:
            self._found[row] = self._look_for_plunges(row)
        return self._found[row]

    def _look_for_plunges(self, row: int) -> list[int]:
        pair = self.pair
        end = pair.after.motion.end[row]
        passes = self._old.passes(end[None, :2])
        every = np.arange(len(passes.row))
        passes = within(passes, self._old.through(passes, every, np.tile(end, (len(every), 1))))
        on = passes.feed & (pair.groups[0][passes.row] == pair.groups[1][row])
        found = {self._plunge(row) for row in passes.row[on].tolist()}
        return sorted(plunge for plunge in found if plunge >= 0 and self._closes(plunge))

    @cached_property
    def _upright(self) -> Bools:
        """(n,): straight moves of `before` at feed that go straight down."""
        motion = self.pair.before.motion
        delta = motion.end - motion.start
        upright = (motion.kind == Kind.LINE) & (np.hypot(delta[:, 0], delta[:, 1]) <= RESOLUTION)
        result: Bools = upright & (delta[:, 2] < 0.0)
        return result

    def _plunge(self, row: int) -> int:
        """Return the last move of its cut that went straight down before a move, or -1."""
        first = int(np.searchsorted(self._chain, self._chain[row]))
        found = np.flatnonzero(self._upright[first : row + 1])
        return first + int(found[-1]) if len(found) else -1

    def _closes(self, plunge: int) -> bool:
        """Return whether a cut comes back to where it was plunged into, before the next plunge."""
        motion = self.pair.before.motion
        last = int(np.searchsorted(self._chain, self._chain[plunge], side="right"))
        again = np.flatnonzero(self._upright[plunge + 1 : last])
        if len(again):
            last = plunge + 1 + int(again[0])
        later = np.arange(plunge + 1, last)
        near = np.linalg.norm(motion.end[later] - motion.end[plunge], axis=1)
        went = np.cumsum(paths.lengths(paths.take(motion, later)))
        tolerance = self.pair.tolerance
        return bool(((near <= 2.0 * tolerance) & (went > 10.0 * tolerance)).any())

    def _compare(self, row: int, plunge: int) -> str:
        """Say what makes a new plunge worse than the one it stands for, or ""."""
        pair = self.pair
        old, new = pair.before.motion, pair.after.motion
        place, end = old.end[plunge], new.end[row]
        tolerance = pair.tolerance
        if new.feed[row] > old.feed[plunge] * (1.0 + SHARE):
            return f"a plunge at {new.feed[row]:g} mm/min, the original's was {old.feed[plunge]:g}"
        if end[2] < place[2] - tolerance:
            return "a plunge deeper than the original's"
        top = self._top(plunge)
        if top <= place[2] + tolerance or self._start_hole(plunge):
            return "a plunge into metal; the original went in where it was open already"
        if self._now(row) > top + max(2.0 * tolerance, GRAZE):
            return "a plunge through more metal than the original's"
        return self._leaves_stock_for(place, end)

    def _top(self, plunge: int) -> float:
        """Return what stood above the original's plunge, whichever tool had been there."""
        if plunge not in self._tops:
            self._tops[plunge] = self._top_of(plunge)
        return self._tops[plunge]

    def _top_of(self, plunge: int) -> float:
        end = self.pair.before.motion.end[plunge]
        passes = self._old.passes(end[None, :2])
        frames = self.pair.frames[0]
        passes = within(passes, frames[passes.row] == frames[plunge])
        top = tops(passes, self.pair.tolerance * GAP_SHARE)
        return float(top[passes.row == plunge].max(initial=-np.inf))

    def _now(self, row: int) -> float:
        met = self.meeting.encounters  # in order of their rows
        first, last = np.searchsorted(met.row, (row, row + 1))
        return float(met.top[first:last].max(initial=-np.inf))

    def _cleared(self, row: int) -> float:
        """Return down to where tools that leave room have been wherever a new move looks, mm."""
        met = self.meeting.encounters
        first, last = np.searchsorted(met.row, (row, row + 1))
        return float(met.cleared[first:last].max(initial=-np.inf)) if last > first else np.inf

    def _start_hole(self, plunge: int) -> bool:
        """Return whether another tool went down near the plunge before it."""
        side = self.pair.before
        motion = side.motion
        delta = motion.end - motion.start
        upright = motion.at_feed & side.ordinary & (np.hypot(*delta[:, :2].T) <= RESOLUTION)
        upright[plunge:] = False
        upright &= side.tool != side.tool[plunge]
        upright &= self.pair.frames[0] == self.pair.frames[0][plunge]
        place = motion.end[plunge]
        rows = np.flatnonzero(upright)
        near = np.hypot(*(motion.end[rows] - place)[:, :2].T) <= START_HOLE
        return bool((near & (motion.end[rows, 2] < motion.start[plunge, 2])).any())

    def _leaves_stock_for(self, place: Floats, end: Floats) -> str:
        """Say so where the old place may lie beside the stock and the new one in it, or ""."""
        stock = self.pair.job.stock
        if stock is None or not boxed(self.pair):
            return "a plunge moved; where the stock is not known, the original's may be beside it"
        if self._in_stock(end) and not self._in_stock(place):
            return "a plunge into the stock; the original went in beside it"
        return ""

    def _in_stock(self, place: Floats) -> bool:
        """Return whether the middle of a tool at (x, y) stands over the stock."""
        stock = self.pair.job.stock
        if stock is None or not boxed(self.pair):
            return False
        low, high = np.array(stock.min[:2]), np.array(stock.max[:2])
        return bool(((place[:2] >= low) & (place[:2] <= high)).all())
