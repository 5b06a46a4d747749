"""New moves that meet nothing, since the tool has swept all of their room before.

A flat tool leaves nothing above its Z wherever it has passed. A move that is level or upright,
and keeps within what this tool has swept as deep in the same setup, meets neither metal
nor a clamp; nor does it beside the stock, no farther out than a clamp can be from where the tool
ran. A short level move at feed that leaves a cut may also take what the original takes right
there, as it goes on from the same place as deep: it is the same metal. A rapid goes only
straight up or down, and down no farther than the profile's rapid_clearance above what has been
swept. (Common practice, no source.)
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.coverage import distances
from gpre.geometry.region import Rectangle, Swath
from gpre.geometry.swept import BESIDE, centre_lines, near, onward
from gpre.geometry.tolerance import GRAZE, RESOLUTION
from gpre.motion.motion import Kind
from gpre.proof.columns import chains
from gpre.proof.side import Pair, Side, sub

Ints = NDArray[np.intp]
Floats = NDArray[np.float64]

MOST_ONWARD = 64  # moves followed on from a place
_PLACES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)  # of a move
MOST = 4_000  # moves checked; of those beyond it none is shown


class Swept:
    """Tells which new moves of `after` keep within what has been swept."""

    def __init__(self, pair: Pair) -> None:
        """Nothing is looked at before it is asked for."""
        self.pair = pair
        self._known: dict[int, bool] = {}

    def holds(self, row: int) -> bool:
        """Return whether a move meets nothing; False where that is not known."""
        if row not in self._known:
            self._known[row] = len(self._known) < MOST and self._holds(row)
        return self._known[row]

    def _holds(self, row: int) -> bool:
        pair, side = self.pair, self.pair.after
        tool = pair.job.tools.get(int(side.tool[row]))
        if tool is None or tool.shape != "flat" or pair.partner[row] >= 0:
            return False
        motion = side.motion
        delta = motion.end[row] - motion.start[row]
        upright = not motion.sweep[row] and float(np.hypot(delta[0], delta[1])) <= RESOLUTION
        level = abs(float(delta[2])) <= RESOLUTION
        feed = motion.kind[row] != Kind.RAPID
        bent = motion.kind[row] == Kind.ARC
        if not side.ordinary[row] or (bent and not (level and motion.plane[row] == 17)):
            return False
        if not upright and not (level and feed):
            return False
        radius = tool.diameter / 2.0
        way = centre_lines(sub(side, np.array([row], np.intp)))[0]
        aside = float(np.hypot(*np.diff(way, axis=0).T).sum())
        reach = 2.0 * radius + aside + 2.0 * BESIDE
        lines = self._earlier(row, reach)
        if self._within(way, lines, radius):
            return True
        if not feed or not level or aside > tool.diameter:
            return False
        return self._within(way, lines + self._goes_on(row, aside + radius), radius)

    def _within(self, way: Floats, lines: list[Floats], radius: float) -> bool:
        if not lines:
            return False
        swath = Swath(lines, radius)
        return swath.holds([way], radius - GRAZE, stock=self._stock, beside=BESIDE)

    @cached_property
    def _stock(self) -> Rectangle | None:
        """The stock; None where it is not known, or the program cuts in several zeros."""
        pair = self.pair
        frames = np.concatenate(
            [
                frame[s.feeding]
                for frame, s in zip(pair.frames, (pair.before, pair.after), strict=True)
            ]
        )
        stock = pair.job.stock
        if stock is None or len(np.unique(frames)) > 1:
            return None
        return Rectangle(stock.min[:2], stock.max[:2])

    def _earlier(self, row: int, reach: float) -> list[Floats]:
        """Return the centre lines of this tool before a move, in its setup, as deep."""
        side = self.pair.after
        rows = side.feeding[: np.searchsorted(side.feeding, row)]
        same = (side.setup[rows] == side.setup[row]) & (side.tool[rows] == side.tool[row])
        same &= self.pair.frames[1][rows] == self.pair.frames[1][row]
        rows = self._near(side, rows[same], side.motion.start[row], reach, self._height(row))
        return centre_lines(sub(side, rows[self._of_the_original[rows]]))

    @staticmethod
    def _near(side: Side, rows: Ints, place: Floats, reach: float, height: float) -> Ints:
        return rows[near(*paths.bounds(sub(side, rows)), place[:2], reach, height)]

    @cached_property
    def _of_the_original(self) -> NDArray[np.bool_]:
        """(n,): moves of `after` that the original makes too, if not in one: else room creeps."""
        pair = self.pair
        result: NDArray[np.bool_] = pair.partner >= 0
        new, old = pair.after.feeding, pair.before.feeding
        new = new[~result[new]]
        if not len(new):
            return result
        own = sub(pair.after, np.repeat(new, len(_PLACES)))
        point = paths.points(own, np.tile(_PLACES, len(new)))
        far = distances(
            point,
            sub(pair.before, old),
            group=np.repeat(pair.groups[1][new], len(_PLACES)),
            by_group=pair.groups[0][old],
            below=False,
            reach=1.0,
        )
        result[new] = (far.reshape(-1, len(_PLACES)) <= pair.tolerance).all(axis=1)
        return result

    def _goes_on(self, row: int, length: float) -> list[Floats]:
        """Return the original's way on from where a move starts, as deep, so far along, mm."""
        pair = self.pair
        side = pair.before
        start, height = pair.after.motion.start[row], self._height(row)
        rows = side.feeding[pair.groups[0][side.feeding] == pair.groups[1][row]]
        rows = self._near(side, rows, start, pair.tolerance, height)
        least, greatest = (each[:, 2] for each in paths.bounds(sub(side, rows)))
        rows = rows[np.maximum(least - start[2], start[2] - greatest) <= pair.tolerance]
        here, each_its_own = np.repeat(start[None], len(rows), axis=0), np.arange(len(rows))
        by = sub(side, rows)
        far = distances(here, by, group=each_its_own, by_group=each_its_own, below=False)
        found: list[Floats] = []
        for each in rows[far <= pair.tolerance].tolist():
            follow = np.arange(each, len(side.motion))[:MOST_ONWARD]
            follow = follow[self._chains[follow] == self._chains[each]]
            high = np.maximum(side.motion.start[follow, 2], side.motion.end[follow, 2])
            higher = np.flatnonzero(high > height + RESOLUTION)
            follow = follow[: int(higher[0])] if len(higher) else follow
            lines = (centre_lines(sub(side, follow[at : at + 1]))[0] for at in range(len(follow)))
            found += onward(lines, start[:2], length)
        return found

    @cached_property
    def _chains(self) -> Ints:
        return chains(self.pair.before)

    def _height(self, row: int) -> float:
        """Z down to which the room of a move must have been swept, mm."""
        motion = self.pair.after.motion
        height = float(min(motion.start[row, 2], motion.end[row, 2]))
        dives = motion.kind[row] == Kind.RAPID and motion.end[row, 2] < motion.start[row, 2]
        return height - self.pair.mill.limits.rapid_clearance if dives else height
