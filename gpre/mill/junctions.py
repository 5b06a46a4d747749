"""How fast a mill may pass from one move to the next, by the path mode in force.

Exact stop (G61.1) stops at the end of each move. Exact path (G61) may keep its speed only where
the path has no corner, and so do the moves within a canned cycle. In continuous mode (G64) the
controller rounds the corner by a circle that touches both legs and leaves the corner by its
tolerance d at most (NISTIR 6556, 2.1.2.16 and 3.5.14). With the angle phi between the legs, pi for
none, its radius is R = d sin(phi/2) / (1 - sin(phi/2)) and the speed through it v = sqrt(a R). A
turn straight back is a stop.

The circle takes at most half of each leg, so that short chords of a curve are passed no faster than
the curve itself. This alone limits the speed where two legs all but run on, as the chords of a
smooth curve do, and in exact path too. Squares of speeds throughout, mm²/s².
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST, LAST_DIGIT, SMOOTH
from gpre.mill.axis_limits import Allowed
from gpre.mill.mill import Mill

_NO_PULL = 1e-12  # s²/mm; less than any axis has
_TOGETHER = 16_384  # so many corners fit the processor's cache


class Junctions(NamedTuple):
    """The n - 1 junctions of n moves.

    square: mm²/s², the greatest square of the speed there. radius: mm, of the widest circle that
    may round it; 0 where the path stops. sine, cosine: of half the turn from leg to leg.
    """

    square: Floats
    radius: Floats
    sine: Floats
    cosine: Floats


def junctions(moves: Allowed, path: NDArray[np.int16], mill: Mill) -> Junctions:
    """Return how fast, and on what circle, the path may pass from each move to the next.

    moves: n moves, none of them a rest or unknown. path: (n,) 610, 611 or 640. Where the mode
    changes between two moves the stricter of the two holds.
    """
    result = np.empty((4, max(len(path) - 1, 0)))
    for at in range(0, result.shape[1], _TOGETHER):
        some = slice(at, at + _TOGETHER + 1)
        part = Allowed(
            moves.length[some],
            moves.speed[some],
            moves.acceleration[some],
            moves.first[:, some],
            moves.last[:, some],
        )
        result[:, at : at + _TOGETHER] = _junctions(part, path[some], mill)
    return Junctions(*result)


def _junctions(moves: Allowed, path: NDArray[np.int16], mill: Mill) -> Junctions:
    across = moves.first[:, 1:] - moves.last[:, :-1]
    along = moves.first[:, 1:] + moves.last[:, :-1]
    sine = np.sqrt(np.einsum("ij,ij->j", across, across)) / 2.0  # of half the turn
    cosine = np.sqrt(np.einsum("ij,ij->j", along, along)) / 2.0
    cosine[cosine <= DUST] = 0.0  # straight back: what is left there is rounding
    leg = np.minimum(moves.length[1:], moves.length[:-1]) / 2.0
    top = np.minimum(moves.speed[1:], moves.speed[:-1]) ** 2
    before, after = path[:-1], path[1:]
    smooth = sine <= np.sin(SMOOTH / 2.0)
    rounded = (before == 640) & (after == 640)
    tolerance = np.where(smooth, np.inf, np.where(rounded, mill.limits.corner_tolerance, 0.0))
    tolerance[(before == 611) | (after == 611)] = 0.0
    radius = rounding_radius(sine, cosine, leg, tolerance)
    pull = corner_acceleration(across, along, sine, cosine, mill)
    return Junctions(np.minimum(pull * radius, top), radius, sine, cosine)


def rounding_radius(sine: Floats, cosine: Floats, leg: Floats, tolerance: Floats) -> Floats:
    """(n,) mm: the radius of the circle that rounds each corner.

    sine, cosine: (n,) of half the turn from leg to leg (so of (pi - phi)/2). leg: (n,) mm, how much
    of the shorter leg the circle may take. tolerance: (n,) mm, how far it may leave the corner.
    """
    bent = np.maximum(sine, LAST_DIGIT)
    # 1 - cos as sin² / (1 + cos), which keeps the digits of flat corners
    radius = tolerance * cosine * (1.0 + cosine) / bent**2
    result: Floats = np.minimum(radius, leg * cosine / bent)
    return result


def corner_acceleration(
    across: Floats, along: Floats, sine: Floats, cosine: Floats, mill: Mill
) -> Floats:
    """(n,) mm/s²: what the axes can hold towards the centre all the way round each corner.

    across, along: (3, n) the difference and the sum of the two directions; sine, cosine: (n,) half
    their lengths. The pull turns with the path, so each axis has its greatest share of it either in
    between or at one end.
    """
    worst = np.full(len(sine), _NO_PULL)
    with np.errstate(divide="ignore", invalid="ignore"):
        to_middle, to_side, share = 0.5 / sine, 0.5 / cosine, sine / cosine
        for limits, difference, total in zip(mill.axes, across, along, strict=True):
            middle, side = np.abs(difference * to_middle), np.abs(total * to_side)
            at_end = middle * cosine + side * sine
            between = np.sqrt(middle**2 + side**2)
            greatest = np.where(side <= middle * share, between, at_end)
            # a turn straight back has no side: its radius is 0 whatever the acceleration
            np.fmax(worst, greatest / limits.acceleration, out=worst)
    return 1.0 / worst
