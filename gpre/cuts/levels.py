"""Which moves go straight up or down, run at one Z, or change Z along the way."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import DUST, RESOLUTION
from gpre.motion.motion import Kind, Motion


class Slopes(NamedTuple):
    """(n,) bool each, over all moves: straight down or up, or not at all; and Z changing along XY.

    A move that is neither runs at one Z.
    """

    upright: NDArray[np.bool_]
    ramp: NDArray[np.bool_]


class Level(NamedTuple):
    """Rows of Motion, half open: `first` to `body` go down, `body` to `last` run at one Z."""

    first: int
    body: int
    last: int


def slopes(motion: Motion, resolution: float = RESOLUTION) -> Slopes:
    """Sort all moves; an arc outside the XY plane counts as a ramp, so does an unknown place.

    resolution: mm, of Z. Moves in a row that run at one Z do so together: where small changes of Z
    add up to more than the resolution, each of them is a ramp.
    """
    result = slopes_of(motion, slice(None), resolution)
    start, end = motion.start[:, 2], motion.end[:, 2]
    changes = np.abs(end - start)
    flat = ~result.ramp & (changes <= resolution + DUST)
    edges = np.flatnonzero(np.diff(flat, prepend=False, append=False))
    first, last = edges[::2], edges[1::2]
    bounds = edges[edges < len(motion)]
    low = np.minimum.reduceat(np.minimum(start, end), bounds)[::2]
    high = np.maximum.reduceat(np.maximum(start, end), bounds)[::2]
    drifts = high - low > resolution + DUST
    for head, tail in zip(first[drifts].tolist(), last[drifts].tolist(), strict=True):
        result.ramp[head:tail] = ~result.upright[head:tail] & (changes[head:tail] > DUST)
    return result


def slopes_of(motion: Motion, rows: slice, resolution: float = RESOLUTION) -> Slopes:
    """Sort some of the moves, each by itself."""
    delta = motion.travel(rows)
    straight = motion.kind[rows] != Kind.ARC
    level = np.abs(delta[:, 2]) <= resolution + DUST
    level &= straight | (motion.plane[rows] == 17)
    aside = np.hypot(delta[:, 0], delta[:, 1])
    plumb = (aside <= DUST) | ((aside <= RESOLUTION) & ~level)
    upright = straight & plumb
    return Slopes(upright, ~upright & ~level)


def levels(motion: Motion, first: int, last: int) -> tuple[Level, ...]:
    """Split the rows `first` to `last` at their upright moves; those at the end are left off."""
    rows = slice(first, last)
    upright = slopes_of(motion, rows).upright
    # a move of no length is no plunge
    changes = np.abs(motion.end[rows, 2] - motion.start[rows, 2])
    plunge = upright & (changes > RESOLUTION + DUST)
    along = np.flatnonzero(~upright)
    plunges = np.flatnonzero(plunge)
    result: list[Level] = []
    start = at = 0
    while at < len(along):
        body = int(along[at])
        after = int(np.searchsorted(plunges, body))
        stop = int(plunges[after]) if after < len(plunges) else last - first
        result.append(Level(first + start, first + body, first + stop))
        start = stop
        at = int(np.searchsorted(along, stop))
    return tuple(result)
