"""Follows the backlash of X and Y along a motion: which side of the screw the table rests on.

With lost motion b, let s be how far the backlash is taken up for travel in + (0 to b). Travel d
moves it to s + d, held within 0 and b: the play operator (see the lash model). At the start, and
after whatever the program does not tell, s is anything from 0 to b; both bounds are followed.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np

from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST
from gpre.mill.mill import Mill
from gpre.motion.events import Effect, Event, EventKind, kinds
from gpre.motion.motion import Motion
from gpre.reversals.axis_travel import travels_of

FORGETS = kinds(Effect.MOVES_AXES)


def shifts_origin(event: Event) -> bool:
    """Return whether an event renumbers X and Y by an amount that may not be known.

    So do another work system and G10 L2; what G92 does is known.
    """
    return event.kind is EventKind.OFFSET and event.value.startswith(("G5", "G10 L2 "))


@dataclass
class Backlash:
    """One axis. depth: mm, lost motion and its uncertainty. last: the last direction, 0 unknown."""

    depth: float
    low: float = 0.0
    high: float = 0.0
    last: int = 0

    def forget(self) -> None:
        """Take nothing for known."""
        self.low, self.high, self.last = 0.0, self.depth, 0

    def travel(self, distance: float, resolution: float) -> None:
        """Move the axis, mm; NaN where nothing is known."""
        if not distance == distance:  # noqa: PLR0124, SIM201  (not a number)
            self.forget()
            return
        self.low = min(max(self.low + distance, 0.0), self.depth)
        self.high = min(max(self.high + distance, 0.0), self.depth)
        if abs(distance) > resolution:
            self.last = 1 if distance > 0 else -1

    def settle(self, side: int) -> None:
        """Have the backlash taken up towards a side."""
        self.low = self.high = self.depth if side > 0 else 0.0
        self.last = side

    def taken_up(self, side: int) -> bool:
        """Return whether a position is reached in direction `side` with the backlash taken up."""
        if self.depth <= DUST:
            return True  # an axis without backlash has nothing to take up
        if self.last not in {0, side}:
            return False
        return self.low >= self.depth - DUST if side > 0 else self.high <= DUST


class BacklashWalk:
    """X and Y along a motion, taken forward row by row.

    `x_y` may be settled on the way, where a loop has been put in.
    """

    def __init__(self, motion: Motion, mill: Mill) -> None:
        """Cut the motion into pieces that travel one way, per axis."""
        pieces = travels_of(motion)
        self._moves: list[list[int]] = []
        self._travels: list[list[float]] = []
        self.x_y: list[Backlash] = []
        self._resolution: list[float] = [axis.resolution for axis in mill.axes[:2]]
        for axis in range(2):
            self._moves.append(pieces[axis].move.tolist())
            self._travels.append(pieces[axis].travel.tolist())
            limits = mill.axes[axis]
            backlash = Backlash(limits.greatest_lost_motion + limits.uncertainty)
            backlash.forget()
            self.x_y.append(backlash)
        self._next = [0, 0]
        self._losses = [
            (event.move, event.kind in FORGETS)
            for event in motion.events
            if event.kind in FORGETS or shifts_origin(event)
        ]
        self._lost = 0
        self._vague = [False, False]  # the next travel starts at a place that is not known
        self._columns = pieces

    def advance(self, row: int) -> None:
        """Make all moves before `row`, and the events before it."""
        while self._lost < len(self._losses) and self._losses[self._lost][0] <= row:
            move, moved = self._losses[self._lost]
            self._run(move)
            for backlash in self.x_y:
                backlash.forget()
            if not moved:
                self._vague = [True, True]
            self._lost += 1
        self._run(row)

    def _run(self, row: int) -> None:
        for axis, backlash in enumerate(self.x_y):
            moves, travels = self._moves[axis], self._travels[axis]
            at = self._next[axis]
            while at < len(moves) and moves[at] < row:
                if self._vague[axis]:
                    backlash.forget()
                    self._vague[axis] = False
                else:
                    backlash.travel(travels[at], self._resolution[axis])
                at += 1
            self._next[axis] = at

    def first_direction(self, axis: int, first: int, last: int) -> int:
        """Return the direction in which an axis first travels in rows `first` to `last`, or 0."""
        moves, travels = self._columns[axis]
        start, stop = np.searchsorted(moves, (first, last))
        return _direction(travels[start:stop], self._resolution[axis])

    def last_forgotten(self, row: int) -> int:
        """Return the first row after the last event before `row` that loses the screw's side."""
        place = bisect_right(self._losses, row, key=lambda loss: loss[0])
        return self._losses[place - 1][0] if place else 0


def _direction(travels: Floats, resolution: float) -> int:
    """Return the sign of the first run one way that is longer than the resolution, or 0."""
    run = 0.0
    for start in range(0, len(travels), 64):
        for travel in travels[start : start + 64].tolist():
            run = run + travel if run * travel >= 0.0 else travel
            if abs(run) > resolution:
                return 1 if run > 0 else -1
    return 0
