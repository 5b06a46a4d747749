"""How far off a cut's path the tool must go to stand clear, and whether it may go there.

The tool leaves straight on and comes back straight, at the depth of the cut; or along an arc that
bends away from the wall, where that stays straight on either side. Both ways must run
where this tool has been as deep in the same setup, so that neither metal nor a clamp is there; or
beside the stock, no farther than a clamp can be from where the tool runs anyway. What the cut
itself takes off later may be taken off as the tool leaves: it is the same metal.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.cuts import Cut
from gpre.editing.context import Context
from gpre.editing.skip import Skip
from gpre.geometry import path
from gpre.geometry.plain_moves import PlainMoves
from gpre.geometry.region import Rectangle, Swath
from gpre.geometry.swept import (
    BESIDE,
    centre_lines,
    close_by,
    left_by,
    onward,
    rim,
)
from gpre.geometry.tolerance import GRAZE, NEAR, RESOLUTION
from gpre.rewrites.loops_off.cleared import Setups
from gpre.rewrites.loops_off.places import TurnInCut
from gpre.room.entries import one_zero

CLEAR = 0.1  # mm; a tool so far from a wall leaves no mark on it, common practice, no source
TRIED = (0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0)  # mm; how far straight on, the least first
RADIUS = 5.0  # mm, of the arcs that bend away from a wall
ASIDE = 0.2  # mm; how far aside they lead, at the least
MORE = 0.05  # mm; or so much farther off a wall than a rapid must be: for rounded numbers
ROUND = NEAR  # what is looked at at points round the tool may come so much nearer between them
ALONG = (1.1, 2.0, 4.0)  # radii of the tool, along the path from a corner
RINGS = (1.0, 0.5)  # of the rapid clearance: where walls beside a way down at rapid are looked for
_ARC_POINTS = 32
_APART = 12  # points round a tool
MOST_ONWARD = 64  # moves followed on from a turn
Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True)
class LoopWay:
    """off, on: (2,) mm, where the tool leaves its depth and where it comes down again.

    far: mm, how far both lie from the turn. centre: (2,) mm, of the arc on which all three lie, or
    None. sweep: radians, of each half of it. open: no wall stands so near to where it comes down
    that it must do so at feed.
    """

    off: Floats
    on: Floats
    far: float
    centre: Floats | None = None
    sweep: float = 0.0
    open: bool = False

    def lines(self, here: Floats) -> tuple[Floats, Floats]:
        """(k, 2) mm each: the way off from a turn, and the way on to it again."""
        if self.centre is None:
            return np.stack((here, self.off)), np.stack((self.on, here))
        spoke = here - self.centre
        turn = np.linspace(-self.sweep, self.sweep, 2 * _ARC_POINTS + 1)
        x, y = (
            spoke[0] * np.cos(turn) - spoke[1] * np.sin(turn),
            spoke[0] * np.sin(turn) + spoke[1] * np.cos(turn),
        )
        points = self.centre + np.column_stack((x, y))
        return points[_ARC_POINTS:], points[: _ARC_POINTS + 1]


class Room:
    """What a tool has cleared before the moves of one cut."""

    def __init__(self, context: Context, cut: Cut, setups: Setups) -> None:
        """Look at the tool. Raises Skip where nothing can be told without knowing it."""
        self.motion, self.cut = context.motion, cut
        state = self.motion.state_of(cut.first)
        tool = context.job.tools.get(state.tool)
        stock = context.job.stock
        if tool is None:
            needs = (f"tool {state.tool}", *(() if stock is not None else ("stock",)))
            raise Skip("whether the tool can get clear of the metal there is not known", needs)
        if tool.shape != "flat":
            raise Skip(f"tool {state.tool} is not flat: what stands beside it is not known")
        self.radius = tool.diameter / 2.0
        self._rapid_clearance = context.mill.limits.rapid_clearance
        self.unit = state.scale
        self.box = None
        if stock is not None and one_zero(self.motion):
            self.box = Rectangle(stock.min[:2], stock.max[:2])
        self._setup = setups.of(cut.first)
        self._found: dict[Hashable, LoopWay | Skip] = {}

    @property
    def rows(self) -> Ints:
        """(k,): the moves at feed of the setup up to the end of the cut."""
        rows = self._setup.rows
        return rows[: int(np.searchsorted(rows, self.cut.last))]

    def way(self, turn: TurnInCut, *, at_once: bool) -> LoopWay:
        """Find the least way off and on for a turn. Raises Skip where there is none.

        at_once: the tool may lift where it is, if it stands clear; else a turn there is no matter.
        """
        falls = turn.along > 0.0 and self._falls_to(turn)
        if at_once or not falls:
            return self._way(turn, at_once=at_once)
        given = self._given(turn)  # on a helix the same turn comes again, only deeper
        if given not in self._found:
            try:
                self._found[given] = self._way(turn, at_once=False)
            except Skip as why:
                self._found[given] = why
        found = self._found[given]
        if isinstance(found, Skip):
            raise Skip(found.reason, found.needs)
        return found

    def _falls_to(self, turn: TurnInCut) -> bool:
        """Return whether the move comes down to a turn on it."""
        return bool(self.motion.start[turn.row, 2] > turn.point[2] + RESOLUTION)

    def _given(self, turn: TurnInCut) -> Hashable:
        """Return all that a way off depends on, for turns that one move comes down to."""
        near_by = self._setup.near(turn.point[:2], self._reach, float(turn.point[2]))
        way = np.concatenate((turn.point[:2], turn.before, turn.after)).round(9) + 0.0
        behind = len(self._follow(turn, float(turn.point[2])))
        return turn.row, turn.bend, behind, way.tobytes(), near_by.tobytes()

    def _way(self, turn: TurnInCut, *, at_once: bool) -> LoopWay:
        height, here = float(turn.point[2]), turn.point[:2]
        if not at_once and not self._touches(here, height):
            raise _no_mark()
        near_by = self._setup.near(here, self._reach, height)
        move = path.take(self.motion, slice(turn.row, turn.row + 1))
        earlier = near_by[self._setup.rows[near_by] < turn.row]
        swept = self._swept(earlier, here, self._part(turn, move))
        narrow = self.radius - GRAZE
        leads_off, near_wall = False, None
        ways = (*self._straight(turn), *self._bent(turn))
        for way in sorted(ways, key=lambda each: each.far):
            if not way.far and at_once and not self._at_wall(turn, height):
                raise _no_mark()
            if way.far > 2.0 * self.radius or not (way.far or at_once):
                continue
            soon = swept.and_along(self._onward(turn, height, way.far))
            off, on = way.lines(here)
            if not soon.clear(off[-1]):
                continue
            if way.far and not soon.holds(off, narrow):
                continue
            if soon.clear(on[0]) and (not way.far or swept.holds(on, narrow)):
                if not self._near_wall(swept, on[0]):
                    return replace(way, open=True)
                bent = near_wall is not None and near_wall.centre is not None
                if near_wall is None or (bent and way.centre is None):
                    near_wall = way  # straight on, if it can be
            leads_off = leads_off or way.far > 0.0
        if near_wall is not None:
            return near_wall
        raise self._no_room(leads_off and self._falls_to(turn))

    def _near_wall(self, swept: _Swept, place: Floats) -> bool:
        """Return whether a wall stands so near to a place that a rapid must not come down there."""
        off = self._rapid_clearance + ROUND
        return any(swept.touches(place, share * off) for share in RINGS)

    def _part(self, turn: TurnInCut, move: path.Moves) -> list[Floats]:
        """Return the way along the arc up to a turn on it, if that has been as deep all along."""
        if not turn.along or self._falls_to(turn):
            return []
        return centre_lines(path.split(move, np.array([turn.along]))[0])

    def _swept(self, at: Ints, place: Floats, more: list[Floats]) -> _Swept:
        """Return what has been swept about a place: on moves, by where they stand, and on lines."""
        simple = self._setup.moves.plain[at]

        def area() -> Swath:
            lines = self._setup.lines(self._setup.rows[at]) + more
            return Swath(close_by(lines, place, self._reach), self.radius)

        lines = self._setup.lines(self._setup.rows[at[~simple]]) + more
        return _Swept(self._setup.moves, at[simple], lines, self.radius, self.box, area)

    def _touches(self, place: Floats, height: float) -> bool:
        """Return whether the tool touches something at a place that is still there in the end."""
        reach = 2.0 * self.radius + 2.0 * CLEAR
        return self._swept(self._setup.near(place, reach, height), place, []).touches(place)

    def _at_wall(self, turn: TurnInCut, height: float) -> bool:
        """Return whether there is a wall at a corner, or a little before it or behind it.

        Where the path turns sharply the tool leaves the wall before: by its radius at a right
        angle, by more at a sharper one.
        """
        here, places = turn.point[:2], [turn.point[:2]]
        for row, way in ((turn.row - 1, -turn.before), (turn.row, turn.after)):
            length = float(np.hypot(*self.motion.travel(row)[:2]))
            places += [here + min(self.radius * far, length) * way for far in ALONG]
        return any(self._touches(place, height) for place in places)

    @property
    def _reach(self) -> float:
        return 2.0 * self.radius + max(TRIED) + 2.0 * BESIDE

    def _straight(self, turn: TurnInCut) -> Iterator[LoopWay]:
        for tried in TRIED:
            far = ceil(round(tried / self.unit * 100.0, 6)) / 100.0 * self.unit
            yield LoopWay(
                turn.point[:2] + far * turn.before, turn.point[:2] - far * turn.after, far
            )

    def _bent(self, turn: TurnInCut) -> Iterator[LoopWay]:
        """Return arcs tangent to the path, bent the other way than the path is."""
        if not turn.bend:
            return
        away = -turn.bend * np.array([-turn.after[1], turn.after[0]])
        for aside in (self._rapid_clearance + MORE, ASIDE):
            if aside >= RADIUS:
                continue
            sweep = float(np.arccos(1.0 - aside / RADIUS))
            along, far = RADIUS * np.sin(sweep) * turn.after, aside * away
            yield LoopWay(
                turn.point[:2] + along + far,
                turn.point[:2] - along + far,
                2.0 * RADIUS * float(np.sin(sweep / 2.0)),
                turn.point[:2] + RADIUS * away,
                -turn.bend * sweep,
            )

    def _onward(self, turn: TurnInCut, height: float, far: float) -> list[Floats]:
        """Return how the cut goes on from a turn, about as far as the tool runs straight on."""
        rows = self._follow(turn, height)
        lines = (self._setup.lines(rows[at : at + 1])[0] for at in range(len(rows)))
        return onward(lines, turn.point[:2], far + self.radius)

    def _follow(self, turn: TurnInCut, height: float) -> Ints:
        """(k,): the moves with which the cut goes on from a turn, none above it."""
        rows = np.arange(turn.row, min(turn.row + MOST_ONWARD, self.cut.last))
        high = np.maximum(self.motion.start[rows, 2], self.motion.end[rows, 2])
        if turn.along:
            high[0] = max(height, self.motion.end[turn.row, 2])  # only what lies behind the turn
        higher = np.flatnonzero(high > height + RESOLUTION)
        return rows[: int(higher[0])] if len(higher) else rows

    def _no_room(self, dives: bool) -> Skip:
        if dives:
            return Skip("the tool is on its way down there: it could not come back as deep")
        if self.box is None:
            reason = "nothing shows that the tool would be clear of the metal straight on"
            return Skip(reason, ("stock",))
        return Skip(
            "material ahead: in a bore, a pocket or a slot the tool cannot leave the"
            " wall without turning at it"
        )


@dataclass(frozen=True)
class _Swept:
    """Where a tool has been as deep; areas are worked out only where a few points do not tell.

    moves, at: plain moves, and which of them, (m,). lines: centre lines, (k, 2) mm each. radius:
    of the tool, mm. box: the stock. work_out: works out what has been swept on both.
    """

    moves: PlainMoves
    at: Ints
    lines: list[Floats]
    radius: float
    box: Rectangle | None
    work_out: Callable[[], Swath]

    @cached_property
    def _area(self) -> Swath:
        return self.work_out()

    def and_along(self, lines: list[Floats]) -> _Swept:
        """Return this with what the tool sweeps along more lines."""
        if not lines:
            return self
        both = [*self.lines, *lines]
        return replace(self, lines=both, work_out=lambda: self._area.and_along(lines))

    def touches(self, place: Floats, off: float = CLEAR) -> bool:
        """Return whether something is left so far off a tool, mm, at a place, (2,) mm."""
        points = rim(place, self.radius, off)
        if self.box is not None:
            points = points[((points > self.box.least) & (points < self.box.greatest)).all(axis=1)]
        # one point left is enough, and a wall mostly leaves several side by side
        few = np.arange(len(points)) % _APART == 0
        return self._leaves_any(points[few]) or self._leaves_any(points[~few])

    def _leaves_any(self, points: Floats) -> bool:
        left = self.moves.left_by(self.at, points, self.radius + GRAZE)
        return len(left_by(self.lines, left, self.radius)) > 0

    def clear(self, place: Floats) -> bool:
        """Return whether a tool at a place, (2,) mm, stands clear of all walls."""
        if self.touches(place):
            return False
        return self.holds(np.stack((place, place)), self.radius + CLEAR)

    def holds(self, line: Floats, radius: float) -> bool:
        """Return whether a tool of a radius, mm, meets nothing along a line, (k, 2) mm."""
        return self._area.holds([line], radius, stock=self.box, beside=BESIDE)


def _no_mark() -> Skip:
    return Skip("no finished wall here, so the reversal leaves no mark")
