"""Finds the places where an axis starts to travel against its last direction.

An axis has turned once it has come back from its extreme by more than its resolution. The turn's
place is the extreme; it belongs to the first move behind it that travels the new way. Rests are
no travel, however long. Where the position is not known the direction is not known afterwards.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry.arc import Arcs, Floats, Ints
from gpre.geometry.path import take
from gpre.geometry.tolerance import DUST, POINT, RESOLUTION
from gpre.motion.motion import Kind, Motion
from gpre.reversals.pieces import Pieces, bows_of, pieces_of
from gpre.reversals.reversals import ReversalKind, Reversals
from gpre.reversals.runs import turns_of

_REST_STEPS = 8  # so many rests in a row are passed one by one
_WINDOW = 1 << 16  # moves


class Turns(NamedTuple):
    """k turns of one axis, in order: move, fraction, new direction, travel before (mm).

    back: the move in which the axis has come back by its resolution.
    """

    move: NDArray[np.int32]
    back: NDArray[np.int32]
    along: Floats
    direction: NDArray[np.int8]
    run: Floats

    def rows(self, first: int, last: int) -> Turns:
        """Return the turns `first` to `last`, half open."""
        rows = slice(first, last)
        return Turns(
            self.move[rows],
            self.back[rows],
            self.along[rows],
            self.direction[rows],
            self.run[rows],
        )


def find_reversals(
    motion: Motion,
    resolution: tuple[float, float, float] = (RESOLUTION, RESOLUTION, RESOLUTION),
) -> Reversals:
    """Find every reversal of X, Y and Z; `resolution` is mm for each axis."""
    bows = bows_of(motion)
    each = [_turns(pieces_of(motion, bows, axis), resolution[axis]) for axis in range(3)]
    del bows
    return _in_order(motion, each)


def _turns(pieces: Pieces, resolution: float) -> Turns:
    """Find the turns of one axis and give each to its move."""
    # a travel of just the resolution is none, whatever the last bit of a subtraction says
    extreme, run = turns_of(pieces.travel, resolution + DUST)
    count = len(extreme)
    result = Turns(
        np.empty(count, np.int32),
        np.empty(count, np.int32),
        np.zeros(count),
        np.empty(count, np.int8),
        run,
    )
    for first in range(0, count, _WINDOW):
        rows = slice(first, first + _WINDOW)
        way = np.sign(pieces.travel[extreme[rows]])
        # an arc of a rounded program meets its quadrant up to some 1e-7 mm early or late: so small
        # a travel is not taken for the start of a direction
        move, along = _places(pieces, extreme[rows], way, min(POINT, resolution))
        result.move[rows] = move
        result.back[rows] = pieces.places(_come_back(pieces, extreme[rows], way, resolution))[0]
        result.direction[rows] = way
        if len(pieces.turned):
            result.along[rows] = along
    return result


def _places(pieces: Pieces, extreme: Ints, way: Floats, dust: float) -> tuple[Ints, Floats]:
    """(t,) each: the moves that the turns at some pieces belong to, and where they lie in them."""
    piece = _come_back(pieces, extreme, way, dust)
    move, along = pieces.places(piece)
    if not len(pieces.turned):
        return move, along
    outset, place = pieces.places(extreme)
    along = np.where(outset == move, place, 0.0)
    # and back to the start of the move where it had hardly gone on the old way
    inside = np.flatnonzero(along)
    before = extreme[inside] - 1
    home, place = pieces.places(before)
    hardly = (place == 0.0) & (np.abs(pieces.travel[before]) <= dust)
    along[inside[(home != move[inside]) | hardly]] = 0.0
    return move, along


def _come_back(pieces: Pieces, extreme: Ints, way: Floats, by: float) -> Ints:
    """(t,): the pieces in which the axis has come back from the extremes by more than `by` mm."""
    piece = extreme.copy()
    back = np.abs(pieces.travel[piece])
    rows = np.flatnonzero(back <= by)
    while len(rows):
        piece[rows] += 1
        back[rows] += pieces.travel[piece[rows]] * way[rows]
        rows = rows[back[rows] <= by]
    return piece


def _in_order(motion: Motion, each: list[Turns]) -> Reversals:
    """Put the turns of X, Y and Z together in order of the motion, a window of it at a time."""
    result = _empty(sum(len(turns.move) for turns in each))
    count, begin = 0, [0, 0, 0]
    for last in range(_WINDOW, len(motion) + _WINDOW, _WINDOW):
        # of the type of the column, which would be copied otherwise
        upto = [int(np.searchsorted(turns.move, np.int32(last))) for turns in each]
        some = [
            turns.rows(first, stop) for turns, first, stop in zip(each, begin, upto, strict=True)
        ]
        begin = upto
        size = sum(len(turns.move) for turns in some)
        if size:
            _fill(result, slice(count, count + size), motion, some)
            count += size
    return result


def _empty(count: int) -> Reversals:
    """Make room for so many reversals."""
    return Reversals(
        axis=np.empty(count, np.uint8),
        move=np.empty(count, np.int32),
        block=np.empty(count, np.int32),
        along=np.zeros(count),  # what is not written to takes no memory
        position=np.empty((count, 3)),
        direction=np.empty(count, np.int8),
        kind=np.empty(count, np.uint8),
        in_cut=np.empty(count, np.bool_),
        run=np.empty(count),
    )


def _fill(result: Reversals, place: slice, motion: Motion, some: list[Turns]) -> None:
    """Fill rows of `result` with the turns of a window."""
    axis = np.repeat(np.arange(3, dtype=np.uint8), [len(turns.move) for turns in some])
    move = np.concatenate([turns.move for turns in some]).astype(np.intp)
    along = np.concatenate([turns.along for turns in some])
    # each axis is in order already, which a stable sort makes use of
    order = np.argsort(move + along, kind="stable")
    move, along = move[order], along[order]
    result.axis[place] = axis[order]
    result.move[place] = move
    result.block[place] = motion.block[move]
    if along.any():
        result.along[place] = along
    result.position[place] = _positions(motion, move, along)
    result.direction[place] = np.concatenate([turns.direction for turns in some])[order]
    result.kind[place] = _kinds(motion, move, along)
    # what comes back by less than the resolution at feed, and the rest at rapid, turns in the air
    back = np.concatenate([turns.back for turns in some])[order]
    result.in_cut[place] = (motion.kind[move] != Kind.RAPID) & (motion.kind[back] != Kind.RAPID)
    result.run[place] = np.concatenate([turns.run for turns in some])[order]


def _positions(motion: Motion, move: Ints, along: Floats) -> Floats:
    """(k, 3) mm: where the axes stand at the turns."""
    result = motion.start.take(move, axis=0)
    inside = np.flatnonzero(along)
    if len(inside):
        result[inside] = arc.points(Arcs(*take(motion, move[inside])), along[inside])
    return result


def _kinds(motion: Motion, move: Ints, along: Floats) -> NDArray[np.uint8]:
    """(k,) of ReversalKind."""
    kind = np.full(len(move), ReversalKind.CORNER, np.uint8)
    of_move = motion.kind[move]
    before = _moving_before(motion, move)
    behind_arc = (before >= 0) & (motion.kind[before] == Kind.ARC)
    kind[behind_arc | (of_move == Kind.ARC)] = ReversalKind.JOIN
    kind[of_move == Kind.RAPID] = ReversalKind.LINK
    inside = np.flatnonzero(along)
    if len(inside):
        rows = move[inside]
        normal = arc.axes_of(motion.plane[rows])[2]
        rise = motion.end[rows, normal] - motion.start[rows, normal]
        helical = ~(np.abs(rise) <= DUST)
        kind[inside] = np.where(helical, ReversalKind.HELIX, ReversalKind.QUADRANT)
    return kind


def _moving_before(motion: Motion, move: Ints) -> Ints:
    """(k,): for each move the last one before it that goes anywhere, -1 where there is none."""
    before = move - 1
    rows = np.flatnonzero(before >= 0)
    for _ in range(_REST_STEPS):
        rows = rows[_still(motion, before[rows])]
        if not len(rows):
            return before
        before[rows] -= 1
        rows = rows[before[rows] >= 0]
    _pass_long_rests(motion, before, rows)
    return before


def _pass_long_rests(motion: Motion, before: Ints, rows: Ints) -> None:
    """Take `before` of some rows back over any rests, a window of the motion at a time."""
    while len(rows):
        last = int(before[rows].max()) + 1
        first = max(last - _WINDOW, 0)
        here = rows[before[rows] >= first]
        row = np.arange(first, last)
        moving = np.maximum.accumulate(np.where(_still(motion, row), first - 1, row))
        before[here] = moving[before[here] - first]
        # those that came to the head of the window go on, but not past the first move
        rows = rows[(before[rows] >= 0) & (before[rows] < first)]


def _still(motion: Motion, rows: Ints) -> NDArray[np.bool_]:
    """Tell which of some moves go nowhere: (k,) bool."""
    start, end = motion.start.take(rows, axis=0), motion.end.take(rows, axis=0)
    rests: NDArray[np.bool_] = motion.sweep[rows] == 0.0
    for axis in range(3):
        rests &= start[:, axis] == end[:, axis]
    return rests
