"""The places in a cut where X or Y turns with the tool on its way, and which way all goes there."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.cuts import Cut
from gpre.cuts.levels import slopes_of
from gpre.editing.context import Context
from gpre.geometry import path
from gpre.geometry.tolerance import DUST, RESOLUTION, SIDE_CHORD
from gpre.motion.motion import Kind, Motion
from gpre.room.entries import first_ways

Floats = NDArray[np.float64]
_SMOOTH = 1e-3  # rad; a corner that is none
_COARSE = SIDE_CHORD  # fine enough to see which way an axis travels


@dataclass(frozen=True)
class TurnInCut:
    """Where axes turn: move `row`, `along` 0 to 1 of it.

    point: (3,) mm. before, after: (2,) unit vectors, the ways in XY in which the tool comes and
    goes on. bend: +1 where the path bends to the left there, -1 to the right, without a corner; 0
    where it has a corner. axes: those that turn. wanted: (3,), the way in which each axis goes on
    from there within the cut, 0 where it does not travel any more.
    """

    row: int
    along: float
    point: Floats
    before: Floats
    after: Floats
    bend: int
    axes: tuple[int, ...]
    wanted: NDArray[np.int8]


def turns_in(context: Context, cut: Cut, kinds: Container[int]) -> list[list[TurnInCut]]:
    """Find the turns of X and Y in a cut, those of one move together, in order.

    Left out are turns of axes whose backlash is within the tolerance, and those at the start of the
    cut or behind a plunge: how the tool comes there is another matter.
    """
    found, mill = context.reversals, context.mill
    first, last = np.searchsorted(found.move, (cut.first, cut.last))
    places: dict[tuple[int, float], list[int]] = {}
    for at in range(int(first), int(last)):
        axis = int(found.axis[at])
        small = axis == 2 or mill.axes[axis].greatest_lost_motion <= mill.limits.tolerance
        if found.in_cut[at] and not small and int(found.kind[at]) in kinds:
            place = int(found.move[at]), float(found.along[at])
            places.setdefault(place, []).append(axis)
    moves: dict[int, list[TurnInCut]] = {}
    onward = _WaysOn(context.motion, cut)
    for (row, along), axes in sorted(places.items(), reverse=True):
        turn = _turn(onward, row, along, tuple(axes))
        if turn is not None:
            moves.setdefault(row, []).insert(0, turn)
    return list(moves.values())[::-1]


class _WaysOn:
    """Tells which way each axis goes on within a cut: from its last places to its first."""

    def __init__(self, motion: Motion, cut: Cut) -> None:
        self.motion, self.cut = motion, cut
        self._row, self._ways = cut.last, np.zeros(3, np.int8)

    def at(self, row: int, along: float) -> NDArray[np.int8]:
        """(3,): the way in which each axis first travels from a place on, 0 where it does not."""
        if not along:
            return self._from(row)
        rest = path.split(path.take(self.motion, slice(row, row + 1)), np.array([along]))[1]
        travel = np.diff(path.sample(path.with_few_turns(rest), _COARSE)[2], axis=0)
        ways = self._from(row + 1).copy()
        for axis in range(3):
            # small travels add up, so that rounding at a quadrant is no way
            reached = np.cumsum(travel[:, axis])
            moving = np.flatnonzero(np.abs(reached) > RESOLUTION)
            if len(moving):
                ways[axis] = np.sign(reached[moving[0]])
        return ways

    def _from(self, row: int) -> NDArray[np.int8]:
        """(3,): the ways from the start of a move on, no later than the one asked before."""
        first = first_ways(self.motion, row, self._row)
        self._row, self._ways = row, np.where(first == 0, self._ways, first)
        return self._ways


def _turn(onward: _WaysOn, row: int, along: float, axes: tuple[int, ...]) -> TurnInCut | None:
    motion = onward.motion
    here = path.take(motion, slice(row, row + 1))
    at = np.array([along])
    after = _flat(path.tangents(here, at)[0])
    before = after
    if along == 0.0:
        if row - 1 < onward.cut.first or slopes_of(motion, slice(row - 1, row)).upright[0]:
            return None
        before = _flat(path.tangents(path.take(motion, slice(row - 1, row)), np.array([1.0]))[0])
    if before is None or after is None:
        return None
    point = path.points(here, at)[0] if along else motion.start[row].copy()
    bend = _bend(motion, row, along, before, after)
    return TurnInCut(row, along, point, before, after, bend, axes, onward.at(row, along))


def _bend(motion: Motion, row: int, along: float, before: Floats, after: Floats) -> int:
    """Return the side to which the path bends at a place without a corner, 0 at a corner."""
    sweep = motion.sweep
    bends = {int(np.sign(sweep[row]))}
    if along == 0.0:
        bends.add(int(np.sign(sweep[row - 1])))
        if float(np.hypot(*(after - before))) > _SMOOTH:
            return 0
    bends.discard(0)
    return bends.pop() if len(bends) == 1 else 0


def _flat(tangent: Floats) -> Floats | None:
    """(2,): the way of a tangent in XY; None where it goes straight up or down, or nowhere."""
    length = float(np.hypot(tangent[0], tangent[1]))
    if not length > RESOLUTION:
        return None
    way: Floats = tangent[:2] / length
    way[np.abs(way) < DUST] = 0.0  # a quadrant place is one
    return way / float(np.hypot(way[0], way[1]))


def travels_between(context: Context, first: TurnInCut, last: TurnInCut, axis: int) -> bool:
    """Return whether an axis travels between two turns of a cut."""
    motion = context.motion
    rows = slice(first.row, last.row if last.along == 0.0 else last.row + 1)
    if first.along or last.along or (motion.kind[rows] == Kind.ARC).any():
        return True
    travel = np.abs(motion.end[rows, axis] - motion.start[rows, axis])
    return bool((travel > RESOLUTION).any())
