"""Cuts a motion, axis by axis, into pieces that travel one way each.

A straight move is one piece, an arc as many as its quadrant places make of it. Pieces without
travel (rests, however long) are left out. A piece whose travel is not known stays, as NaN.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry.arc import Arcs, Floats, Ints, Polar
from gpre.geometry.path import take
from gpre.motion.motion import Motion

_WINDOW = 1 << 15  # moves


class Bends(NamedTuple):
    """q places where one axis turns within arcs, in order.

    row: (q,) int32, the moves. at: (q,) the fractions of them. reached: (q,) mm, where the axis is.
    """

    row: NDArray[np.int32]
    at: Floats
    reached: Floats


class Bows(NamedTuple):
    """The arcs of a motion, X, Y and Z: where they turn; those whose way is not known (rows)."""

    bends: tuple[Bends, ...]
    unknown: tuple[Ints, ...]


class Pieces(NamedTuple):
    """k pieces of one axis, in order of the motion.

    travel: (k,) mm, signed, never 0; NaN where not known. number: (k,) where each piece stands
    among the pieces with and without travel, None where all have some. turned: (q,) the numbers
    of the pieces that start at a quadrant place, at: (q,) the fraction of the move there. All
    other pieces start with a move.
    """

    travel: Floats
    number: Ints | None
    turned: Ints
    at: Floats

    def places(self, piece: Ints) -> tuple[Ints, Floats]:
        """(p,) each: the moves of some pieces, and the fractions at which the pieces start."""
        number = piece if self.number is None else self.number[piece]
        if not len(self.turned):
            return number, np.zeros(len(piece))
        behind = np.searchsorted(self.turned, number, side="right")
        last = behind - 1  # -1, the last of all, is never this piece where `behind` is 0
        along = np.where(self.turned[last] == number, self.at[last], 0.0)
        return number - behind, along


def bows_of(motion: Motion) -> Bows:
    """Look at the arcs of a motion, a window at a time: so little is in between at once."""
    found: list[list[Bends]] = [[], [], []]
    unknown: list[list[Ints]] = [[], [], []]
    for first in range(0, len(motion), _WINDOW):
        row = np.flatnonzero(motion.sweep[first : first + _WINDOW])
        if not len(row):
            continue
        row += first
        arcs = Arcs(*take(motion, row))
        about = arc.polar(arcs)
        lost = ~np.isfinite(about.angle + about.radius_change + arcs.sweep)
        normal = arc.axes_of(arcs.plane)[2] if lost.any() else None
        for axis in range(3):
            if normal is not None:  # then neither axis of its plane is known
                unknown[axis].append(row[lost & (normal != axis)])
            which, at = arc.quadrants_of(arcs, about, axis)
            if len(which):
                some = Polar(*(column[which] for column in about))
                reached = arc.points_of(arcs.rows(which), some, at)[:, axis]
                found[axis].append(Bends(row[which].astype(np.int32), at, reached.copy()))
    return Bows(
        tuple(_join(parts) for parts in found),
        tuple(np.concatenate([np.zeros(0, np.intp), *rows]) for rows in unknown),
    )


def _join(parts: list[Bends]) -> Bends:
    if not parts:
        return Bends(np.zeros(0, np.int32), np.zeros(0), np.zeros(0))
    return Bends(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def pieces_of(motion: Motion, bows: Bows, axis: int) -> Pieces:
    """Cut the motion of one axis (0 X, 1 Y, 2 Z) into pieces that travel one way each."""
    travel = motion.end[:, axis] - motion.start[:, axis]
    travel[bows.unknown[axis]] = np.nan
    bends = bows.bends[axis]
    turned = np.zeros(0, np.intp)
    if len(bends.row):
        ends = motion.start[bends.row, axis], motion.end[bends.row, axis]
        turned = bends.row + np.arange(1, len(bends.row) + 1)
        travel = _cut(travel, bends, turned, *ends)
    moving = np.count_nonzero(travel)
    if moving == len(travel):
        return Pieces(travel, None, turned, bends.at)
    number = np.flatnonzero(travel)
    return Pieces(travel[number], number, turned, bends.at)


def _cut(travel: Floats, bends: Bends, turned: Ints, start: Floats, end: Floats) -> Floats:
    """(n + q,) mm: the travels with a piece more for each quadrant place.

    travel: (n,) mm, all moves; the first pieces of arcs are set in it. turned: (q,) as in Pieces.
    start, end: (q,) mm, the coordinates at the ends of the moves of `bends`.
    """
    row, _, reached = bends
    last = np.append(row[1:] != row[:-1], True)
    opens = np.append(True, last[:-1])
    travel[row[opens]] = reached[opens] - start[opens]
    until = end.copy()
    until[:-1][~last[:-1]] = reached[1:][~last[:-1]]
    result = np.empty(len(travel) + len(row))
    others = np.ones(len(result), np.bool_)
    others[turned] = False
    result[others] = travel
    result[turned] = until - reached
    return result
