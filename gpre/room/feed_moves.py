"""The moves at feed of a program, and which of them come near a place."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path
from gpre.motion.motion import Motion

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class FeedMoves:
    """Moves at feed whose places are known. rows: (k,), in order."""

    def __init__(self, motion: Motion) -> None:
        """Find them."""
        self.motion = motion
        self.rows: Ints = np.flatnonzero(motion.at_feed & motion.known)

    @cached_property
    def _bounds(self) -> tuple[Floats, Floats]:
        """(k, 2) each, mm: least and greatest X and Y."""
        least, greatest = path.bounds(path.take(self.motion, self.rows))
        return least[:, :2], greatest[:, :2]

    def before(self, row: int) -> Ints:
        """(j,): those before a move."""
        return self.rows[: int(np.searchsorted(self.rows, row))]

    def near(self, places: Floats, reach: float, row: int | None = None) -> Ints:
        """(j,): those, before `row` if it is given, that may come within `reach` mm of a place.

        places: (n, 2) mm; the bounds of the moves are looked at.
        """
        count = len(self.rows) if row is None else len(self.before(row))
        least, greatest = (bound[:count] for bound in self._bounds)
        found = np.zeros(count, bool)
        for place in places:
            found |= ((least - reach <= place) & (place <= greatest + reach)).all(axis=1)
        return self.rows[:count][found]
