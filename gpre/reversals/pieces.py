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


class Pieces(NamedTuple):
    """k pieces of one axis, in order of the motion.

    move: (k,) row of Motion. along: (k,) where the piece starts, 0 to 1 of the move. travel: (k,)
    mm, signed, never 0; NaN where not known.
    """

    move: Ints
    along: Floats
    travel: Floats


class Bows(NamedTuple):
    """The arcs of a motion: their rows, the arcs, the same about their centres."""

    row: Ints
    arcs: Arcs
    about: Polar


def bows_of(motion: Motion) -> Bows:
    """Pick the arcs out of a motion."""
    row, arcs = arcs_of(motion)
    return Bows(row, arcs, arc.polar(arcs))


def pieces_of(motion: Motion, bows: Bows, axis: int) -> Pieces:
    """Cut the motion of one axis (0 X, 1 Y, 2 Z) into pieces that travel one way each."""
    travel = motion.end[:, axis] - motion.start[:, axis]
    if not len(bows.row):
        move = np.flatnonzero(travel)
        return Pieces(move, np.zeros(len(move)), travel[move])
    _forget_unknown_arcs(travel, bows, axis)
    which, t = arc.quadrants_of(bows.arcs, bows.about, axis)
    if not len(which):
        move = np.flatnonzero(travel)
        return Pieces(move, np.zeros(len(move)), travel[move])
    about = Polar(*(column[which] for column in bows.about))
    turned = arc.points_of(bows.arcs.rows(which), about, t)[:, axis]
    ends = motion.start[:, axis], motion.end[:, axis]
    return _with_quadrants(travel, ends, bows.row[which], t, turned)


def _forget_unknown_arcs(travel: Floats, bows: Bows, axis: int) -> None:
    """Take the travel on both axes of its plane from an arc with anything unknown there."""
    unknown = ~np.isfinite(bows.about.angle + bows.about.radius_change + bows.arcs.sweep)
    if unknown.any():
        normal = arc.axes_of(bows.arcs.plane)[2]
        travel[bows.row[unknown & (normal != axis)]] = np.nan


def _with_quadrants(
    travel: Floats, ends: tuple[Floats, Floats], row: Ints, t: Floats, turned: Floats
) -> Pieces:
    """Set in a piece after each quadrant place.

    travel and both of ends: (n,) mm, all moves. row, t, turned: (q,) the move, the fraction and
    the coordinate (mm) of each place.
    """
    start, end = ends
    count = np.ones(len(travel), np.intp)
    np.add.at(count, row, 1)
    first = np.cumsum(count) - count  # the first piece of each move
    move = np.repeat(np.arange(len(travel)), count)
    rank_in_move = np.arange(len(row)) - np.searchsorted(row, row, side="left")
    place = first[row] + 1 + rank_in_move
    along = np.zeros(len(move))
    along[place] = t
    # where each piece starts and ends on the axis, arcs only; straight moves keep their travel
    total = travel[move]
    last = np.append(row[1:] != row[:-1], True)
    opens = np.append(True, last[:-1])
    total[place[opens] - 1] = turned[opens] - start[row[opens]]
    until = np.empty(len(row))
    until[:-1] = turned[1:]
    until[last] = end[row[last]]
    total[place] = until - turned
    moving = np.flatnonzero(total)
    return Pieces(move[moving], along[moving], total[moving])
