"""The circles that round the corners, as stretches of the way that take time of their own.

A corner that slows the path down is passed on a circle of radius R, at one speed v = sqrt(a R) all
along its R theta, with the turn theta from leg to leg; the legs end R tan(theta/2) before the
corner. A corner so sharp that this takes longer than a stop is stopped in: with the speed V of the
legs that is where (theta/2 - 1) R/v > (R tan(theta/2) - R/2)/V (plane geometry and the trapezoid).
Where the path need not slow down the circle takes what the corner takes, and is left out.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.geometry.arc import Floats, Ints
from gpre.geometry.tolerance import DUST
from gpre.mill.axis_limits import Allowed
from gpre.mill.junctions import Junctions

_SLOWER = 1.0 - DUST  # of the square of a speed: by rounding alone it is no less


class Blends(NamedTuple):
    """What lies at the n + 1 ends of a chain of n moves.

    square: mm²/s², the greatest square of the speed. cut: mm, how much of each leg the circle
    takes. length: mm, of the circle; 0 where there is none.
    """

    square: Floats
    cut: Floats
    length: Floats


def blends_of(moves: Allowed, at: Junctions, halts: Ints) -> Blends:
    """Return the circles of a chain of moves that starts and ends at rest.

    halts: (h,) the ends, 0 to n, at which the path stands.
    """
    result = Blends(*np.zeros((3, len(moves.length) + 1)))
    top = np.minimum(moves.speed[1:], moves.speed[:-1])
    turn = 2.0 * np.arctan2(at.sine, at.cosine)
    with np.errstate(divide="ignore", invalid="ignore"):
        cut = at.radius * at.sine / at.cosine
        longer = (turn / 2.0 - 1.0) * at.radius / np.sqrt(at.square)
        stopped = longer > (cut - at.radius / 2.0) / top
    result.square[1:-1] = np.where(stopped, 0.0, at.square)
    result.square[halts] = 0.0
    passed = result.square[1:-1]
    round_it = np.flatnonzero((passed > 0.0) & (passed < top**2 * _SLOWER))
    result.cut[round_it + 1] = cut[round_it]
    result.length[round_it + 1] = (at.radius * turn)[round_it]
    return result
