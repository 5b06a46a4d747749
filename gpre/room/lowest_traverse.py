"""How low a program goes over each place: what stands there, a clamp too, must be lower.

Clamps are in no program. That one stands between two holes shows only in that the program goes
round it, or over it at a greater height. So a new way in the air is clear where the program itself
goes as low; or where it lies as high as the highest way that the program takes along X or Y
between two halts at which a clamp could be shifted, unless it goes round something at that height.
(Common practice, no source.)
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.coverage import distances
from gpre.geometry.repeats import evenly
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.events import Effect, EventKind, kinds
from gpre.motion.motion import Kind, Motion
from gpre.motion.programmed import arrivals, first_in_z, unsaid
from gpre.program.program import Program

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

_BEND = 5.0  # mm; nobody goes round a clamp by less (common practice, no source)
_MACHINE = 53.0  # the G code of a move in machine coordinates
_SHARE = 0.5  # of the reach: how far apart the points of a way lie
_LONGEST = 1e5  # mm; a way beyond that is on no mill, and not looked at
_FIRST_LOOK = (0.5, 0.25, 0.75)  # of a way: most that are not clear show it there


def halts(motion: Motion) -> Ints:
    """(k,), in order: the moves before which clamps, or the zero, may be shifted."""
    return motion.moves_at(kinds(Effect.SHIFTS_CLAMPS))


class LowestTraverse:
    """What a program shows about the air above the part. reach: mm, see `clear`."""

    def __init__(self, program: Program, motion: Motion, reach: float) -> None:
        """Nothing is looked at before it is asked for."""
        self.program, self.motion, self.reach = program, motion, reach

    @cached_property
    def setup(self) -> Ints:
        """(n,): the number of what lies between two halts, for each move."""
        at = halts(self.motion)
        return np.searchsorted(at, np.arange(len(self.motion)), side="right").astype(np.intp)

    @cached_property
    def highest(self) -> Floats:
        """(s,) mm: per setup the greatest Z of a rapid along X or Y; inf where there is none.

        A hop within the reach tells nothing of the room elsewhere: an approach is one. A rapid that
        comes from where nobody knows counts as high as it ends. Where a program goes along X or Y
        before it says at what height, that of any rapid.
        """
        motion = self.motion
        z = np.column_stack((motion.start[:, 2], motion.end[:, 2]))
        first = first_in_z(motion)
        z[:first] = np.nan  # before its first move Z is only assumed
        if first < len(z):
            z[first, 0] = z[first, 1]
        sideways = _aside(motion) > max(self.reach, RESOLUTION)
        if not sideways[:first].any():  # from where is only assumed
            sideways[first : first + 1] = True
        elif first < len(z):
            sideways |= self.setup == self.setup[first]
        came = arrivals(motion)
        sideways[came] = True
        z[came, 0] = np.where(np.isnan(z[came, 0]), z[came, 1], z[came, 0])
        blind = np.isnan(motion.end[:, 2]) & ~(_aside(motion) <= RESOLUTION)
        sideways |= np.isin(self.setup, np.unique(self.setup[blind]))
        rows = np.flatnonzero((motion.kind == Kind.RAPID) & sideways)
        rows = rows[np.isfinite(z[rows]).all(axis=1)]
        # one for each setup, moves in it or not: another program may move there
        count = 1 + len(halts(motion))
        result = np.full(count, -np.inf)
        np.maximum.at(result, self.setup[rows], z[rows].max(axis=1))
        result[self._round(result)] = np.inf
        return np.where(np.isfinite(result), result, np.inf)

    def _round(self, highest: Floats) -> Ints:
        """(k,): the setups in which the program goes round something as high as it ever goes.

        It turns there from one way along X or Y into another, and the spindle runs on between
        them. The first way of a setup, from where the tool was changed, tells nothing, nor does a
        way in machine coordinates: that leads to where the part is measured or changed.
        """
        motion = self.motion
        far = np.abs(motion.end - motion.start)
        rows = np.flatnonzero(~(far <= RESOLUTION).all(axis=1))
        far, flat, setup = far[rows], (motion.end - motion.start)[rows, :2], self.setup[rows]
        level = np.hypot(*flat.T) > max(self.reach, RESOLUTION)
        level &= (far[:, 2] <= RESOLUTION) & (motion.kind[rows] == Kind.RAPID)
        level &= motion.end[rows, 2] >= highest[setup] - RESOLUTION
        aside = np.flatnonzero(~(np.hypot(*flat.T) <= RESOLUTION))
        level[aside[np.unique(setup[aside], return_index=True)[1]]] = False
        level &= ~self._by_machine[rows]
        spindle = motion.moves_at({EventKind.SPINDLE})
        part = np.column_stack((setup, np.searchsorted(spindle, rows, side="right")))
        one = np.flatnonzero(level[:-1] & level[1:] & (part[:-1] == part[1:]).all(axis=1))
        turn = np.abs(flat[one, 0] * flat[one + 1, 1] - flat[one, 1] * flat[one + 1, 0])
        straight = np.hypot(*(flat[one] + flat[one + 1]).T).clip(min=RESOLUTION)
        # how far the corner lies from the straight way
        result: Ints = np.unique(setup[one[turn / straight > max(self.reach, _BEND)]])
        return result

    @cached_property
    def _by_machine(self) -> Bools:
        """(n,): moves of blocks with G53 (NISTIR 6556, 3.5.12)."""
        words, named = self.program.words, np.zeros(len(self.program), bool)
        named[words.block[(words.letter == ord("G")) & (words.value == _MACHINE)]] = True
        return named[self.motion.block]

    @cached_property
    def _from_anywhere(self) -> Bools:
        """(n,): moves from where the operator left the tool; steps are the same from anywhere."""
        absolute = np.array([state.distance == 90 for state in self.motion.states], bool)
        left = unsaid(self.program, self.motion).any(axis=1)
        result: Bools = left & (_aside(self.motion) > RESOLUTION) & absolute[self.motion.state]
        return result

    def clear(self, start: Floats, end: Floats, setup: Ints) -> Bools:
        """(k,): straight ways from `start` to `end`, (k, 3) mm, on which nothing can stand.

        As high as the program ever goes in that setup, or nowhere farther than the reach from
        where it goes as low.
        """
        low = np.minimum(start[:, 2], end[:, 2])
        result: Bools = low >= self.highest[setup] - RESOLUTION
        for number in np.unique(setup[~result]).tolist():
            for height in np.unique(low[~result & (setup == number)]).tolist():
                mine = np.flatnonzero(~result & (setup == number) & (low == height))
                result[mine] = self._gone_over(start[mine], end[mine], height, number)
        return result

    def _gone_over(self, start: Floats, end: Floats, height: float, setup: int) -> Bools:
        """(k,): ways that stay near where the program goes no higher than `height`, mm."""
        by = self._as_low(height, setup)
        left = np.arange(len(start))
        for share in _FIRST_LOOK:
            point = start[left] + (end - start)[left] * share
            left = left[self._near(point, by)]
        length = np.hypot(*(end - start)[left, :2].T)
        left, length = left[length <= _LONGEST], length[length <= _LONGEST]
        count = np.ceil(length / (_SHARE * self.reach)).astype(np.intp) + 1
        owner, along = evenly(count)
        point = start[left[owner]] + (end - start)[left[owner]] * along[:, None]
        bad = np.bincount(owner, ~self._near(point, by), len(left)) > 0
        result = np.zeros(len(start), bool)
        result[left[~bad]] = True
        return result

    def _near(self, point: Floats, by: paths.Moves) -> Bools:
        flat = point * np.array((1.0, 1.0, 0.0))
        found: Bools = np.isfinite(distances(flat, by, below=False, reach=self.reach))
        return found

    def _as_low(self, height: float, setup: int) -> paths.Moves:
        """Return the moves of a setup that run no higher than `height`, mm, as XY sees them."""
        motion = self.motion
        ends = np.column_stack((motion.start[:, 2], motion.end[:, 2]))
        first = first_in_z(motion)
        ends[first : first + 1, 0] = ends[first : first + 1, 1]
        upright = (_aside(motion) <= RESOLUTION) & (motion.kind != Kind.ARC)
        with np.errstate(invalid="ignore"):
            low = np.where(upright, ends.min(axis=1), ends.max(axis=1)) <= height + RESOLUTION
        low &= self.setup == setup
        low &= motion.known
        arc = motion.kind == Kind.ARC
        low &= ~arc | (motion.plane == 17)
        low[:first] = False
        low &= ~self._from_anywhere
        moves = paths.take(motion, np.flatnonzero(low))
        flat = np.array((1.0, 1.0, 0.0))
        return moves._replace(start=moves.start * flat, end=moves.end * flat)


def _aside(motion: Motion) -> Floats:
    """(n,) mm: how far each move goes along X and Y."""
    delta = motion.end - motion.start
    result: Floats = np.hypot(delta[:, 0], delta[:, 1])
    return result
