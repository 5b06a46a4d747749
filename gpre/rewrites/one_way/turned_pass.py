"""Writes passes of a raster the other way round, and the ways to them.

Every descent goes where no metal is: beside the stock, or where this tool has just cut. Above the
stock it runs at rapid, then at feed. X and Y have their backlash taken up in the air before it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.cuts import Cut
from gpre.cuts.levels import slopes_of
from gpre.cuts.passes import Pass, Raster
from gpre.editing.context import Context
from gpre.editing.draft import TAKE_UP, Draft
from gpre.editing.preview import Track
from gpre.editing.skip import Skip
from gpre.editing.state_after import freedom_after, place_stated, why_not_rows
from gpre.geometry.tolerance import NEAR, RESOLUTION
from gpre.room.entries import Air, Reach, first_ways
from gpre.room.feed_moves import FeedMoves

_THERE = NEAR  # a move passes over a place


@dataclass(frozen=True)
class Turned:
    """A pass that is cut the other way, and what stands around it.

    follows: one past the last row that is cut before the next pass that is turned.
    """

    raster: Raster
    rows: Pass
    first_of_cut: bool
    last_of_cut: bool
    follows: int


@dataclass
class PassTurner:
    """Writes the edits of one cut, in the order of its rows. floor: Z, mm, where rapids end.

    Raises Skip where the program or the stock does not allow it.
    """

    context: Context
    reach: Reach
    air: Air
    floor: float
    cut: Cut

    def __post_init__(self) -> None:
        """Begin with nothing changed."""
        self.draft = Draft(self.context)
        self.motion, self.editable = self.context.motion, self.context.editable

    def start(self) -> None:
        """Let a first pass that is not turned start with the backlash of X and Y taken up."""
        motion, row = self.motion, self.reach.first
        here = motion.start[row]
        upright = motion.end[row : self.cut.body_first, :2] - here[:2]
        if np.abs(upright).max(initial=0.0) > RESOLUTION or self.editable.why_not_before(row):
            return
        if self.context.clearance.why_not_level(float(here[2]), row)[0]:
            return
        wanted = first_ways(motion, row, self.cut.last)
        track = self.draft.track(row)
        if not self.draft.turning(track, wanted):
            return
        self._go(track, here, wanted)
        self.draft.insert(row, track)

    def between(self, plunge: int, body: int) -> None:
        """Let a level start, backlash taken up, where the one before ends: `plunge` leads to it."""
        motion = self.motion
        upright = slopes_of(motion, slice(plunge, body)).upright.all()
        if not upright or self.editable.why_not_before(plunge):
            return
        wanted = first_ways(motion, body, self.cut.last)
        track = self.draft.track(plunge)
        here = motion.start[plunge].copy()
        if not self.draft.turning(track, wanted):
            return
        track.rapid((None, None, self.reach.clearance), "lift")
        self._go(track, here, wanted)
        self._down(track, float(here[2]), body)
        self.draft.insert(plunge, track)

    def turn(self, turned: Turned) -> None:
        """Write one pass the other way round."""
        motion, first, last = self.motion, turned.rows.first, turned.rows.last
        start = motion.end[last - 1]  # where the pass will start, and where what follows starts
        if not self.air.clear_of(start):
            scale = motion.state_of(first).scale
            place = f"X{start[0] / scale:.6g} Y{start[1] / scale:.6g}"
            raise Skip(
                f"the pass in line {motion.line(first)} would start at {place}, not clear of the "
                "stock by the tool's radius: coming down there would plunge into metal"
            )
        if turned.first_of_cut and not why_not_rows(self.editable, self.reach.first, last):
            first = self.reach.first
        last = self._with_lift(turned, first)
        track = self.draft.track(first, last)
        self._write(turned, track)
        self._leave(turned, track, last)
        self.draft.replace(first, last, track)

    def _with_lift(self, turned: Turned, first: int) -> int:
        """Return one past the last row to write anew: the lift after the last pass, if possible."""
        motion, last = self.motion, turned.rows.last
        if not turned.last_of_cut:
            return last
        stop = last
        while stop < len(motion) and slopes_of(motion, slice(stop, stop + 1)).upright[0]:
            if motion.end[stop, 2] <= motion.start[stop, 2] + RESOLUTION:
                break
            stop += 1
        for end in (stop, self.cut.last):
            if end > last and not why_not_rows(self.editable, first, end):
                return end
        return last

    def _write(self, turned: Turned, track: Track) -> None:
        """Write: up, back, down in the air, along the pass."""
        motion, rows = self.motion, turned.rows
        start = motion.end[rows.last - 1]
        track.rapid((None, None, self.reach.clearance), "lift")
        self._go(track, start, ways_of(turned))
        self._down(track, float(start[2]), rows.first)
        for row in range(rows.last - 1, rows.first - 1, -1):
            track.cut(motion, row, motion.start[row], share=-1.0)

    def _leave(self, turned: Turned, track: Track, last: int) -> None:
        """Let what follows find the tool: where the pass began, or lifted behind the last one."""
        motion, rows, clearance = self.motion, turned.rows, self.reach.clearance
        start, height = motion.end[rows.last - 1], float(motion.end[last - 1, 2])
        lifted = last > rows.last
        if lifted and height >= clearance - RESOLUTION and last < len(motion):
            track.rapid((None, None, height), "lift")
            if not place_stated(self.editable, last):
                track.rapid((start[0], start[1], None))
            return
        track.rapid((None, None, clearance), "lift")
        if lifted:
            track.rapid((start[0], start[1], None))
            if height >= self.floor:
                track.rapid((None, None, height))
                return
        elif turned.last_of_cut:
            free = freedom_after(self.editable, rows.last, clearance)
            if rows.last == self.cut.last and free.z:
                if not free.xy:
                    track.rapid((start[0], start[1], None))
                return
            track.rapid((start[0], start[1], None))
        else:
            following = first_ways(motion, rows.last, turned.follows)
            self._go(
                track, start, np.where(following == 0, ways_of(turned), following).astype(np.int8)
            )
        self._down(track, height, rows.first)

    def _go(self, track: Track, goal: NDArray[np.float64], wanted: NDArray[np.int8]) -> None:
        """Go to a place at the clearance so that X and Y have their backlash taken up."""
        self.draft.arrive(track, goal, wanted, self.cut.body_first, straight=TAKE_UP)

    def _down(self, track: Track, depth: float, row: int) -> None:
        """Come down: at rapid above the stock, then at feed; a worn mill may graze its own slot."""
        track.rapid((None, None, self.floor))
        track.line((None, None, depth), self._plunge_feed(row, track.position))

    def _plunge_feed(self, row: int, place: NDArray[np.float64]) -> float:
        """Return the least feed of the pass, the cut's plunges and any move over the place."""
        motion, cut = self.motion, self.cut
        lead = np.arange(cut.first, cut.body_first)
        over = self._moves.near(place[None, :2], _THERE)
        rows = np.concatenate((lead[motion.at_feed[lead]], over))
        return float(np.nanmin([*motion.feed[rows], motion.feed[row]]))

    @cached_property
    def _moves(self) -> FeedMoves:
        return FeedMoves(self.motion)


def ways_of(turned: Turned) -> NDArray[np.int8]:
    """(3,): the way of X and of Y along the turned pass; at right angles to it, of the steps."""
    along = -turned.rows.way * turned.raster.along
    slanted = np.abs(along) > RESOLUTION
    ways = np.zeros(3, np.int8)
    ways[:2] = np.where(slanted, np.sign(along), np.sign(turned.raster.step))
    return ways
