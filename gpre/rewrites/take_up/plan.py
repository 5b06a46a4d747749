"""What a take-up plan holds: the sides of all moves, and what is put between them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST
from gpre.rewrites.take_up.parts import Part, Sides
from gpre.rewrites.take_up.windows import Window

NONE: Sides = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Take:
    """A take-up in the air, between two moves.

    row: the last move before it, -1 for none. block: it stands before this block. place: (3,) mm,
    the intended place. at: a move with the same offsets in force. sides: where it leaves all axes.
    beyond: mm for each axis, how much farther back the screw goes first; 0 where the state of its
    backlash is known. axes: those that take part. arrives: False where the next move of the program
    comes to the place itself.
    """

    row: int
    block: int
    place: Floats
    at: int
    sides: Sides
    beyond: tuple[float, float, float]
    axes: tuple[int, ...]
    arrives: bool = True


@dataclass
class TakeUpPlan:
    """What is to be written.

    sides: the sides at the end of each move in the air, by row. parts: of each move at feed, by
    row. takes: in order. undone: rows behind which the shift is taken out again; undone_at_feed:
    those of them behind which the tool stands in the cut. windows: all of the cuts.
    """

    sides: dict[int, Sides] = field(default_factory=dict)
    parts: dict[int, list[Part]] = field(default_factory=dict)
    takes: list[Take] = field(default_factory=list)
    undone: list[int] = field(default_factory=list)
    undone_at_feed: set[int] = field(default_factory=set)
    windows: list[Window] = field(default_factory=list)


@dataclass
class AxisBacklash:
    """How far a table stands from its screw, mm, in bounds; reach: half the backlash, or more."""

    reach: float
    low: float = 0.0
    high: float = 0.0

    def forget(self) -> None:
        """Take nothing for known."""
        self.low, self.high = -self.reach, self.reach

    def travel(self, distance: float) -> None:
        """Move the screw, mm; NaN where nothing is known."""
        if not np.isfinite(distance):
            self.forget()
            return
        self.low = min(max(self.low - distance, -self.reach), self.reach)
        self.high = min(max(self.high - distance, -self.reach), self.reach)

    def settle(self, side: float) -> None:
        """Have the backlash taken up towards a side."""
        self.low = self.high = -side * self.reach

    def taken_up(self, side: float) -> bool:
        """Return whether the backlash is taken up towards a side for certain."""
        return abs(self.low + side * self.reach) + abs(self.high + side * self.reach) <= DUST

    @property
    def known(self) -> bool:
        """True where the table can stand at one place only."""
        return self.high - self.low <= DUST
