"""When a helix may be cut in fewer turns than in the original.

Both go down the same circle the same way round, from the same point to the same point, and both
run a full circle at depth behind it: that circle leaves floor and wall, whatever came before it.
The new one may go down no more steeply than the job says that the tool can, no faster than the
original's slowest stretch, and may find no more metal above it than half its tool's diameter, or
than a turn of the original's did. (Common practice, no source.)
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.helices import (
    END_MILLS,
    PITCH_SHARE,
    Helix,
    find_helices,
    like_a_thread,
    pitches,
)
from gpre.geometry import path as paths
from gpre.geometry.tolerance import SHARE
from gpre.mill.job import Tool
from gpre.motion.motion import Motion
from gpre.proof.side import Bools, Floats, Ints, Pair, Side


@dataclass
class Helices:
    """The helices of `after` that stand for longer ones of `before`.

    changed: (m,) bool, the moves of `after` that are not the original's in its order.
    """

    pair: Pair
    changed: Bools
    _replaced: list[int] = field(default_factory=list)

    def replaced(self) -> Ints:
        """(k,): the moves of `before` whose turns are left out or made steeper."""
        _ = self._admitted
        return np.array(self._replaced, np.intp)

    def stands_for(self) -> Ints:
        """(k,): the moves of `after` of all such helices, their floors among them."""
        rows = [np.arange(new.first, new.floor, dtype=np.intp) for _, new in self._admitted]
        return np.concatenate(rows) if rows else np.zeros(0, np.intp)

    def feeds(self) -> tuple[Ints, Floats]:
        """(k,) each: moves of `after` that go down, and what feed is allowed on them, mm/min."""
        pairs = self._admitted
        feed = self.pair.before.motion.feed
        rows = [np.arange(new.first, new.last, dtype=np.intp) for _, new in pairs]
        least = [
            np.full(new.last - new.first, feed[old.first : old.last].min()) for old, new in pairs
        ]
        if not pairs:
            return np.zeros(0, np.intp), np.zeros(0)
        return np.concatenate(rows), np.concatenate(least)

    def excuses(self, row: Ints, point: Floats, top: Floats) -> Bools:
        """(k,): points of moves of `after` at which as much metal may stand as `top` says, mm."""
        result = np.zeros(len(row), bool)
        motion = self.pair.before.motion
        stock = self.pair.job.stock
        for old, new in self._admitted:
            mine = (row >= new.first) & (row < new.floor)
            # where nothing had passed the metal reaches no higher than the stock; where that is
            # not known the helix is taken to begin on top of it
            surface = float(motion.start[old.first, 2]) if stock is None else stock.max[2]
            engaged = np.minimum(top[mine], surface) - point[mine, 2]
            result[mine] = engaged <= self._allowed(old) + self.pair.tolerance
        return result

    @cached_property
    def _admitted(self) -> list[tuple[Helix, Helix]]:
        """Pairs of a helix of `before` and one of `after` that stands for it."""
        pair = self.pair
        before, after = pair.before, pair.after
        fewer = [
            each
            for each in find_helices(after.motion)
            if self.changed[each.first : each.last].any()
        ]
        if not fewer:
            return []
        every = find_helices(before.motion)
        longer = [
            each
            for each in every
            if _plain(before, each) and not like_a_thread(before.motion, each, every)
        ]
        ends = np.array([_ends(before, each) for each in longer]).reshape(-1, 9)
        groups = pair.groups[0][np.array([each.first for each in longer], np.intp)]
        free = np.ones(len(longer), bool)
        result = []
        for new in fewer:
            if not _plain(after, new):
                continue
            near = np.abs(ends - _ends(after, new)).max(axis=1, initial=0.0) <= pair.tolerance
            near &= free & (groups == pair.groups[1][new.first])
            for at in np.flatnonzero(near).tolist():
                if self._may(longer[at], new):
                    free[at] = False
                    result.append((longer[at], new))
                    self._replaced += range(longer[at].first, longer[at].last)
                    break
        return result

    def _may(self, old: Helix, new: Helix) -> bool:
        """Return whether one helix may stand for the other."""
        pair = self.pair
        motions = pair.before.motion, pair.after.motion
        tool = self._tool(old)
        if tool is None or tool.max_ramp_angle is None or tool.shape not in END_MILLS:
            return False
        if not (old.full_floor and new.full_floor) or new.turn > old.turn:
            return False
        slopes = [_slopes(motion, each) for motion, each in zip(motions, (old, new), strict=True)]
        steepest = max(float(np.sin(tool.max_ramp_angle)), float(slopes[0].max()))
        feeds = motions[0].feed[old.first : old.last], motions[1].feed[new.first : new.last]
        slowest, fastest = float(feeds[0].min()), float(feeds[1].max())
        deepest = float(pitches(motions[1], new).max())
        strays = [
            _strays(motion, each, old) for motion, each in zip(motions, (old, new), strict=True)
        ]
        return (
            float(slopes[1].max()) <= steepest + SHARE
            and fastest <= slowest * (1.0 + SHARE)
            and deepest <= self._allowed(old) + pair.tolerance
            and strays[1] <= max(strays[0], pair.tolerance)
        )

    def _allowed(self, old: Helix) -> float:
        """Return how much metal may stand above a turn, mm."""
        tool = self._tool(old)
        own = float(pitches(self.pair.before.motion, old).max())
        return own if tool is None else max(own, PITCH_SHARE * tool.diameter)

    def _tool(self, old: Helix) -> Tool | None:
        return self.pair.job.tools.get(int(self.pair.before.tool[old.first]))


def _strays(motion: Motion, helix: Helix, circle: Helix) -> float:
    """Return how far the arcs that go down lie from the circle of a helix at the most, mm."""
    rows = slice(helix.first, helix.last)
    aside = np.hypot(*(motion.centre[rows, :2] - circle.centre).T)
    radius = np.hypot(*(motion.start[rows, :2] - motion.centre[rows, :2]).T)
    return float((aside + np.abs(radius - circle.radius)).max())


def _plain(side: Side, helix: Helix) -> bool:
    rows = slice(helix.first, helix.floor)
    return bool(side.ordinary[rows].all() and np.isfinite(side.motion.feed[rows]).all())


def _ends(side: Side, helix: Helix) -> NDArray[np.float64]:
    """(9,) mm: start, end, centre and the way round, so that equal ones are the same descent."""
    motion = side.motion
    start, end = motion.start[helix.first], motion.end[helix.last - 1]
    return np.concatenate((start, end, helix.centre, [float(helix.way)]))


def _slopes(motion: paths.Path, helix: Helix) -> Floats:
    """(n,): the sine of each row's way down."""
    rows = slice(helix.first, helix.last)
    length = paths.lengths(paths.take(motion, rows))
    result: Floats = (motion.start[rows, 2] - motion.end[rows, 2]) / length
    return result
