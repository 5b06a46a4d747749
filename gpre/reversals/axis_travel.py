"""The travels of one axis in the order of the motion, each one way."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.geometry.arc import Floats, Ints
from gpre.motion.motion import Motion
from gpre.reversals.pieces import bows_of, pieces_of


class Travels(NamedTuple):
    """move: (k,) row of Motion. travel: (k,) mm, signed, never 0; NaN where not known."""

    move: Ints
    travel: Floats


def travels_of(motion: Motion) -> tuple[Travels, Travels, Travels]:
    """Cut the motion of X, Y and Z into travels; an arc has as many as its quadrants make."""
    bows = bows_of(motion)
    found = []
    for axis in range(3):
        pieces = pieces_of(motion, bows, axis)
        move = pieces.places(np.arange(len(pieces.travel)))[0]
        found.append(Travels(move, pieces.travel))
    return found[0], found[1], found[2]
