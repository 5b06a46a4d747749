"""Where along a rapid of `after` the original runs at rapid too, as low and the same way.

The same tool in the same setup is asked for, and straight down only where it goes straight down.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import DUST, RESOLUTION
from gpre.motion.programmed import first_in_z
from gpre.proof.side import Pair

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class RapidPiece(NamedTuple):
    """A piece of a rapid: from where to where, (3,) mm; own: a rapid of `before`, -1 for none."""

    start: Floats
    end: Floats
    own: int


class OwnRapids:
    """The rapids of the original, to be asked which of them a piece of a new one goes along."""

    def __init__(self, pair: Pair) -> None:
        """Leave out those before Z is stated: where they run is only assumed."""
        self._pair = pair
        side = pair.before
        rows = side.rapids
        self._rows = rows[rows > first_in_z(side.motion)]
        self._start, self._end = side.motion.start[self._rows], side.motion.end[self._rows]

    def pieces(self, row: int, start: Floats, end: Floats) -> list[RapidPiece]:
        """Return the stretch of rapid `row` of `after` from start to end, (3,) mm, in pieces.

        Each has the first rapid of the original that goes along it: when most metal stood.
        """
        own, first, last = self._along(row, start, end)
        cuts = np.unique(np.concatenate(([0.0, 1.0], first, last)))
        result = []
        for low, high in zip(cuts[:-1].tolist(), cuts[1:].tolist(), strict=True):
            if high - low <= DUST:
                continue
            over = own[(first <= low + DUST) & (last >= high - DUST)]
            points = start + low * (end - start), start + high * (end - start)
            result.append(RapidPiece(*points, int(over[0]) if len(over) else -1))
        return result

    def _along(self, row: int, start: Floats, end: Floats) -> tuple[Ints, Floats, Floats]:
        """(k,) each: rapids of `before`, and from which share of the stretch to which they go."""
        pair = self._pair
        before, after = pair.before, pair.after
        same = before.tool[self._rows] == after.tool[row]
        same &= before.setup[self._rows] == after.setup[row]
        same &= pair.frames[0][self._rows] == pair.frames[1][row]
        rows, one, other = self._rows[same], self._start[same], self._end[same]
        upright = float(np.hypot(*(end - start)[:2])) <= RESOLUTION
        shares = (_upright if upright else _aside)(start, end, one, other, pair.tolerance)
        first, last = (np.clip(each, 0.0, 1.0) for each in shares)
        kept = last - first > DUST
        return rows[kept], first[kept], last[kept]


def _upright(
    start: Floats, end: Floats, one: Floats, other: Floats, tolerance: float
) -> tuple[Floats, Floats]:
    """(k,) each: the shares of a stretch straight down over which moves one to other go down."""
    on = np.maximum(*(np.hypot(*(at - start)[:, :2].T) for at in (one, other))) <= tolerance
    on &= other[:, 2] < one[:, 2]
    fall = start[2] - end[2]
    first, last = (start[2] - one[:, 2]) / fall, (start[2] - other[:, 2] + tolerance) / fall
    return first, np.where(on, last, first)


def _aside(
    start: Floats, end: Floats, one: Floats, other: Floats, tolerance: float
) -> tuple[Floats, Floats]:
    """(k,) each: the shares of a stretch over which moves one to other run on its line, as low."""
    along = end - start
    length = float(np.hypot(along[0], along[1]))
    way = along[:2] / length
    off = [(at - start)[:, 0] * way[1] - (at - start)[:, 1] * way[0] for at in (one, other)]
    on = np.maximum(np.abs(off[0]), np.abs(off[1])) <= tolerance
    share = np.array([(at - start)[:, :2] @ way / length for at in (one, other)])
    goes = share[1] - share[0]
    on &= np.abs(goes) * length > RESOLUTION
    if along[2] < -RESOLUTION:  # the original must go down there as well, and not come up
        on &= (goes > 0.0) & (other[:, 2] < one[:, 2])
    first, last = np.clip(share.min(axis=0), 0.0, 1.0), np.clip(share.max(axis=0), 0.0, 1.0)
    for at in (first, last):
        with np.errstate(divide="ignore", invalid="ignore"):
            height = one[:, 2] + (at - share[0]) / goes * (other - one)[:, 2]
            on &= height <= start[2] + at * along[2] + tolerance
    return first, np.where(on, last, first)
