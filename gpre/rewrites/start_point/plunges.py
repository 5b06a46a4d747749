"""Whether a plunge may move along its contour to another place.

What a plunge at feed has cut at the old place it may cut at the new one. So the new place must not
hold more metal than the old one did: the old one neither opened by something cut earlier, nor
beside the stock. Where the stock is not known that cannot be told, and the plunge stays.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.editing.skip import Skip
from gpre.geometry import path
from gpre.geometry.coverage import distances
from gpre.geometry.tolerance import NEAR, RESOLUTION
from gpre.mill.job import Box, Job
from gpre.motion.motion import Motion
from gpre.room.entries import Air, air_of, one_zero
from gpre.room.feed_moves import FeedMoves

TWO_TOOLS = 25.0  # mm; two tools whose diameters are not known reach no farther, radii together
CERTAIN = 1.0  # mm
_SAME = NEAR  # as near to an earlier path as the old place was


@dataclass(frozen=True, slots=True)
class Plunge:
    """A plunge at feed from `top` to `bottom`, Z in mm, before move `row`."""

    row: int
    top: float
    bottom: float


class MovedPlunges:
    """What a program has cut before any of its moves, asked about places."""

    def __init__(self, job: Job, motion: Motion) -> None:
        """Look at a program's moves; `job` may name tools and stock."""
        self.job, self.motion, self._moves = job, motion, FeedMoves(motion)

    def need_no_more_metal(
        self, plunge: Plunge, old: NDArray[np.float64], new: NDArray[np.float64]
    ) -> None:
        """Raise Skip where the plunge may not move from `old` to `new`, (2,) mm."""
        air = air_of(self.job, self.motion, plunge.row)
        if isinstance(air, Air) and one_zero(self.motion):
            if air.clear_of(new):
                return
            if air.clear_of(old):
                raise Skip("it starts clear of the stock; where it would start there is metal")
        if plunge.bottom >= plunge.top - RESOLUTION:
            reason = "the tool comes down there at rapid, so the place is open; others may not be"
            raise Skip(reason, () if isinstance(air, Air) else air)
        stock = self.job.stock
        if stock is None or not one_zero(self.motion):
            # a blank may have a clean side, and the original go down beside it
            reason = "whether it plunges into metal there, or beside it, is not known"
            raise Skip(reason, ("stock",) if stock is None else ())
        self._need_solid(stock, plunge, old, new)

    def open_there(self, row: int, point: NDArray[np.float64], height: float) -> bool:
        """Return whether the tool may come down at (x, y) to `height` at rapid before `row`.

        It may where it is clear of the stock, or has been at feed that low or lower.
        """
        motion = self.motion
        air = air_of(self.job, motion, row)
        if isinstance(air, Air) and one_zero(motion) and air.clear_of(point):
            return True
        state = motion.state_of(row)
        same = np.array(
            [each.tool == state.tool and each.frame == state.frame for each in motion.states],
            bool,
        )
        rows = self._moves.near(point[None], _SAME, row)
        rows = rows[same[motion.state[rows]]]
        there = np.array([[point[0], point[1], height]])
        return bool(distances(there, path.take(motion, rows), reach=1.0)[0] <= _SAME)

    def _need_solid(
        self, stock: Box, plunge: Plunge, old: NDArray[np.float64], new: NDArray[np.float64]
    ) -> None:
        """Hold what was cut earlier, to half the plunge's depth or deeper, against both places."""
        top = min(plunge.top, stock.max[2])
        middle = max((top + plunge.bottom) / 2.0, plunge.bottom)
        reach, needs = self._reach(plunge.row)
        before, after = self._distances(plunge.row, np.stack((old, new)), middle, reach)
        if before >= reach or after <= before + _SAME:
            return
        reason = "something cut earlier has opened the place where it plunges, not the new one"
        if float(self._distances(plunge.row, old[None], plunge.bottom, reach)[0]) < CERTAIN:
            raise Skip(reason)
        raise Skip(reason, needs)

    def _distances(
        self, row: int, places: NDArray[np.float64], height: float, reach: float
    ) -> NDArray[np.float64]:
        """(n,) mm: how far what was cut before `row` at `height` or deeper passes by the places."""
        motion = self.motion
        rows = self._moves.near(places, reach, row)
        rows = rows[np.minimum(motion.start[rows, 2], motion.end[rows, 2]) <= height + RESOLUTION]
        points = np.column_stack((places, np.full(len(places), height)))
        return distances(points, path.take(motion, rows), reach=reach)

    def _reach(self, row: int) -> tuple[float, tuple[str, ...]]:
        """Return how far from its place a path may lie and still open it, mm; and what to give."""
        motion, tools = self.motion, self.job.tools
        feeding = self._moves.before(row)
        used = {motion.states[int(each)].tool for each in np.unique(motion.state[feeding])}
        own = motion.state_of(row).tool
        unknown = tuple(f"tool {each}" for each in sorted(used | {own}) if each not in tools)
        if unknown:
            return TWO_TOOLS, unknown
        return (tools[own].diameter + max(tools[each].diameter for each in used | {own})) / 2.0, ()
