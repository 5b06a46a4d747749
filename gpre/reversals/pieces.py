"""Cuts a motion, axis by axis, into pieces that travel one way each.

A straight move is one piece, an arc as many as its quadrant places make of it. Pieces without
travel (rests, however long) are left out. A piece whose travel is not known stays, as NaN.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.geometry import arc
from gpre.geometry.arc import Arcs, Floats, Ints, Polar
from gpre.geometry.path import arcs_of
from gpre.motion.motion import Motion


class Bows(NamedTuple):
    """The arcs of a motion: their rows, the arcs, the same about their centres."""

    row: Ints
    arcs: Arcs
    about: Polar


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
    """Pick the arcs out of a motion."""
    row, arcs = arcs_of(motion)
    return Bows(row, arcs, arc.polar(arcs))


def pieces_of(motion: Motion, bows: Bows, axis: int) -> Pieces:
    """Cut the motion of one axis (0 X, 1 Y, 2 Z) into pieces that travel one way each."""
    travel = motion.end[:, axis] - motion.start[:, axis]
    turned, at = np.zeros(0, np.intp), np.zeros(0)
    if len(bows.row):
        _forget_unknown_arcs(travel, bows, axis)
        which, at = arc.quadrants_of(bows.arcs, bows.about, axis)
        if len(which):
            about = Polar(*(column[which] for column in bows.about))
            reached = arc.points_of(bows.arcs.rows(which), about, at)[:, axis]
            row = bows.row[which]
            travel = _cut(travel, row, reached, motion.start[row, axis], motion.end[row, axis])
            turned = row + 1 + np.arange(len(row))
    moving = np.count_nonzero(travel)
    if moving == len(travel):
        return Pieces(travel, None, turned, at)
    number = np.flatnonzero(travel)
    return Pieces(travel[number], number, turned, at)


def _forget_unknown_arcs(travel: Floats, bows: Bows, axis: int) -> None:
    """Take the travel on both axes of its plane from an arc with anything unknown there."""
    unknown = ~np.isfinite(bows.about.angle + bows.about.radius_change + bows.arcs.sweep)
    if unknown.any():
        normal = arc.axes_of(bows.arcs.plane)[2]
        travel[bows.row[unknown & (normal != axis)]] = np.nan


def _cut(travel: Floats, row: Ints, reached: Floats, start: Floats, end: Floats) -> Floats:
    """(n + q,) mm: the travels with a piece more for each quadrant place.

    travel: (n,) mm, all moves; the first pieces of arcs are set in it. row, reached, start, end:
    (q,) the move of each place, and the coordinates there and at the move's ends.
    """
    last = np.append(row[1:] != row[:-1], True)
    opens = np.append(True, last[:-1])
    travel[row[opens]] = reached[opens] - start[opens]
    until = end.copy()
    until[:-1][~last[:-1]] = reached[1:][~last[:-1]]
    result: Floats = np.insert(travel, row + 1, until - reached)
    return result
