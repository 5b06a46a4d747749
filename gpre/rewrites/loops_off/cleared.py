"""The moves at feed between two halts, ready for the question which of them come near a place."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path
from gpre.geometry.plain_moves import PlainMoves
from gpre.geometry.region import BoxIndex
from gpre.geometry.swept import centre_lines, near
from gpre.motion.motion import Motion
from gpre.room.lowest_traverse import halts

MOST_KNOWN = 10_000  # centre lines kept
Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class Cleared:
    """What is cleared in one setup. rows: (n,), its moves; moves: the same as XY sees them."""

    def __init__(self, motion: Motion, rows: Ints) -> None:
        """Index the moves."""
        self.motion, self.rows = motion, rows
        taken = path.take(motion, rows)
        self.moves = PlainMoves(taken)
        self._least, self._greatest = path.bounds(taken)
        self._index = BoxIndex(self._least, self._greatest)
        self._lines: dict[int, Floats] = {}

    def near(self, place: Floats, reach: float, height: float) -> Ints:
        """(k,): where in `rows` the moves stand that come within `reach` mm, none above `height`.

        place: (2,) mm. height: Z, mm.
        """
        at = self._index.touched(place[None], place[None], reach)
        close: Ints = at[near(self._least[at], self._greatest[at], place, reach, height)]
        return close

    def lines(self, rows: Ints) -> list[Floats]:
        """(k, 2) mm each: the centre lines of moves; they are asked for again at each turn."""
        known = self._lines
        if len(known) > MOST_KNOWN:
            known.clear()
        new = np.array([row for row in rows.tolist() if row not in known], np.intp)
        if len(new):
            lines = centre_lines(path.take(self.motion, new))
            known.update(zip(new.tolist(), lines, strict=True))
        return [known[row] for row in rows.tolist()]


class Setups:
    """The setups of a program, each looked at once, when it is asked for."""

    def __init__(self, motion: Motion) -> None:
        """Find where clamps or the zero may be shifted."""
        self._motion = motion
        self._halts = halts(motion)
        # under radius compensation the tool runs beside what is written
        bare = np.array([state.compensation == 40 for state in motion.states], bool)
        self._rows = np.flatnonzero(motion.at_feed & motion.known & bare[motion.state])
        self._found: dict[int, Cleared] = {}

    def of(self, row: int) -> Cleared:
        """Return the setup of a move."""
        number = int(np.searchsorted(self._halts, row, side="right"))
        if number not in self._found:
            ends = np.concatenate(([0], self._halts, [len(self._motion)]))[number : number + 2]
            first, last = np.searchsorted(self._rows, ends)
            self._found[number] = Cleared(self._motion, self._rows[first:last])
        return self._found[number]
