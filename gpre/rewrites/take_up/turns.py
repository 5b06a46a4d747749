"""In which direction each axis travels anywhere on a motion, and where it turns round.

As the finder of reversals sees it, but with a coarser measure: what an axis goes back by less than
the error that is allowed is no turn, and no backlash is taken up for it. Behind a place that is not
known the direction starts anew.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST
from gpre.motion.motion import Motion
from gpre.reversals.pieces import Bows, Pieces, bows_of, pieces_of
from gpre.reversals.runs import turns_of

REST = 0.05  # of the allowed error: an axis that travels less about its extreme rests
Place = tuple[int, float]  # a row of Motion, and the fraction of its length


@dataclass(frozen=True, slots=True)
class AxisTurn:
    """One turn of an axis.

    reached: where the axis has come to its extreme; left: where it starts back. Between the two it
    rests. direction: the new one. first: nothing was known of its direction before.
    """

    reached: Place
    left: Place
    direction: int
    first: bool = False


@dataclass(frozen=True)
class Course:
    """The turns of one axis in order; the first direction counts as one."""

    turns: tuple[AxisTurn, ...]

    @cached_property
    def _left(self) -> list[Place]:
        return [turn.left for turn in self.turns]

    def direction(self, place: Place) -> int:
        """Return the direction in which the axis travels, or last did, at a place; 0: none."""
        at = bisect_right(self._left, place)
        return self.turns[at - 1].direction if at else 0

    def between(self, first: int, last: int) -> tuple[AxisTurn, ...]:
        """Return the turns that are left within rows `first` to `last`, half open."""
        start = bisect_right(self._left, (first, -1.0))
        return self.turns[start : bisect_right(self._left, (last, -1.0))]


def courses_of(motion: Motion, least: float) -> tuple[Course, Course, Course]:
    """Find the turns of X, Y and Z; an axis turns where it comes back by more than `least` mm."""
    bows = bows_of(motion)
    x, y, z = (_course(motion, bows, axis, least) for axis in range(3))
    return x, y, z


def _course(motion: Motion, bows: Bows, axis: int, least: float) -> Course:
    pieces = pieces_of(motion, bows, axis)
    travel = pieces.travel
    if not len(travel):
        return Course(())
    extreme, _ = turns_of(travel, least + DUST)
    first, way = _firsts(travel, least)
    sign = np.sign(travel[extreme]).astype(np.int64)
    at_rest = REST * least
    ahead = _past(travel, extreme, sign, at_rest)
    behind = len(travel) - 1 - _past(-travel[::-1], len(travel) - extreme, sign, at_rest)
    turns = [
        *_turns(pieces, ahead, behind, sign),
        *(AxisTurn(place, place, each, first=True) for place, each in _places(pieces, first, way)),
    ]
    return Course(tuple(sorted(turns, key=lambda turn: (turn.left, not turn.first))))


def _past(
    travel: Floats, piece: NDArray[np.intp], way: NDArray[np.int64], least: float
) -> NDArray[np.intp]:
    """Pass pieces that have hardly gone that way yet; travels within `least` mm are a rest."""
    piece = piece.copy()
    gone = travel[np.minimum(piece, len(travel) - 1)] * way
    rows = np.flatnonzero(gone <= least)
    while len(rows):
        piece[rows] += 1
        rows = rows[piece[rows] < len(travel)]
        gone[rows] += travel[piece[rows]] * way[rows]
        rows = rows[gone[rows] <= least]
    return np.minimum(piece, len(travel) - 1)


def _turns(
    pieces: Pieces, ahead: NDArray[np.intp], behind: NDArray[np.intp], way: NDArray[np.int64]
) -> Iterator[AxisTurn]:
    """Return turns by the pieces that bring the axis to its extreme, and away from it."""
    row, along = pieces.places(ahead)
    old_row, old_along = pieces.places(behind)
    row_behind, along_behind = pieces.places(np.minimum(behind + 1, len(pieces.travel) - 1))
    columns = (row, along, old_row, old_along, row_behind, along_behind, way)
    for move, t, before, began, next_move, next_t, sign in zip(
        *(column.tolist() for column in columns), strict=True
    ):
        end = next_t if next_move == before and next_t > began else 1.0
        yield AxisTurn((before, end), (move, t), sign)


def _places(
    pieces: Pieces, first: NDArray[np.intp], way: NDArray[np.int64]
) -> Iterator[tuple[Place, int]]:
    row, along = pieces.places(first)
    for move, t, sign in zip(row.tolist(), along.tolist(), way.tolist(), strict=True):
        yield (move, t), sign


def _firsts(travel: Floats, least: float) -> tuple[NDArray[np.intp], NDArray[np.int64]]:
    """Return the first piece of each chain between unknown travels, and its first direction."""
    broken = np.flatnonzero(np.isnan(travel))
    first, way = [], []
    for begin, end in zip(
        [0, *(broken + 1).tolist()], [*broken.tolist(), len(travel)], strict=True
    ):
        found = _first_way(travel[begin:end], least)
        if found:
            first.append(begin)
            way.append(found)
    return np.array(first, np.intp), np.array(way, np.int64)


def _first_way(travel: Floats, least: float) -> int:
    """Return the sign of the first travel of more than `least` from the least or greatest place."""
    at = low = high = 0.0
    for begin in range(0, len(travel), 64):
        for step in travel[begin : begin + 64].tolist():
            at += step
            low, high = min(low, at), max(high, at)
            if at - low > least + DUST:
                return 1
            if high - at > least + DUST:
                return -1
    return 0
