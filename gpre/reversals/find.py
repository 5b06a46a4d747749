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
from gpre.geometry.arc import Floats, Ints
from gpre.geometry.tolerance import DUST, RESOLUTION
from gpre.motion.motion import Kind, Motion
from gpre.reversals.pieces import Bows, Pieces, bows_of, pieces_of
from gpre.reversals.reversals import ReversalKind, Reversals
from gpre.reversals.runs import turns_of

# mm; an arc of a rounded program meets its quadrant up to some 1e-7 mm early or late, and a travel
# as small as that is not taken for the start of a direction
FIRST_TRAVEL = 1e-6
_REST_STEPS = 8  # so many rests in a row are passed one by one


class Turns(NamedTuple):
    """k turns of one axis: move, fraction, new direction, travel before (mm)."""

    move: Ints
    along: Floats
    direction: NDArray[np.int8]
    run: Floats


def find_reversals(
    motion: Motion,
    resolution: tuple[float, float, float] = (RESOLUTION, RESOLUTION, RESOLUTION),
) -> Reversals:
    """Find every reversal of X, Y and Z; `resolution` is mm for each axis."""
    bows = bows_of(motion)
    each = [_turns(pieces_of(motion, bows, axis), resolution[axis]) for axis in range(3)]
    axis = np.repeat(np.arange(3, dtype=np.uint8), [len(turns.move) for turns in each])
    move = np.concatenate([turns.move for turns in each])
    along = np.concatenate([turns.along for turns in each])
    # each axis is in order already, which a stable sort makes use of
    order = np.argsort(move + along, kind="stable")
    axis, move, along = axis[order], move[order], along[order]
    return Reversals(
        axis=axis,
        move=move.astype(np.int32),
        block=motion.block[move],
        along=along,
        position=_positions(motion, bows, move, along),
        direction=np.concatenate([turns.direction for turns in each])[order],
        kind=_kinds(motion, move, along),
        in_cut=motion.kind[move] != Kind.RAPID,
        run=np.concatenate([turns.run for turns in each])[order],
    )


def _turns(pieces: Pieces, resolution: float) -> Turns:
    """Find the turns of one axis and give each to its move."""
    # a travel of just the resolution is none, whatever the last bit of a subtraction says
    extreme, run = turns_of(pieces.travel, resolution + DUST)
    way = np.sign(pieces.travel[extreme])
    dust = min(FIRST_TRAVEL, resolution)
    # past pieces that have hardly come back yet
    piece = extreme.copy()
    back = np.abs(pieces.travel[piece])
    rows = np.flatnonzero(back <= dust)
    while len(rows):
        piece[rows] += 1
        back[rows] += pieces.travel[piece[rows]] * way[rows]
        rows = rows[back[rows] <= dust]
    move, along = pieces.places(piece)
    outset, place = pieces.places(extreme)
    along = np.where(outset == move, place, 0.0)
    # and back to the start of the move where it had hardly gone on the old way
    inside = np.flatnonzero(along)
    before = extreme[inside] - 1
    home, place = pieces.places(before)
    hardly = (place == 0.0) & (np.abs(pieces.travel[before]) <= dust)
    along[inside[(home != move[inside]) | hardly]] = 0.0
    return Turns(move, along, way.astype(np.int8), run)


def _positions(motion: Motion, bows: Bows, move: Ints, along: Floats) -> Floats:
    """(k, 3) mm: where the axes stand at the turns."""
    result = motion.start.take(move, axis=0)
    inside = np.flatnonzero(along)
    if len(inside):
        which = np.searchsorted(bows.row, move[inside])
        about = arc.Polar(*(column[which] for column in bows.about))
        result[inside] = arc.points_of(bows.arcs.rows(which), about, along[inside])
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
    # a long row of rests: look at all moves at once
    row = np.arange(len(motion))
    moving = np.maximum.accumulate(np.where(_still(motion, row), -1, row))
    before[rows] = moving[before[rows]]
    return before


def _still(motion: Motion, rows: Ints) -> NDArray[np.bool_]:
    """Tell which of some moves go nowhere: (k,) bool."""
    start, end = motion.start.take(rows, axis=0), motion.end.take(rows, axis=0)
    rests: NDArray[np.bool_] = motion.sweep[rows] == 0.0
    for axis in range(3):
        rests &= start[:, axis] == end[:, axis]
    return rests
