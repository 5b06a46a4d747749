"""Where the screw must stand so that the table stands where the program means it.

With the backlash of an axis taken up in a direction, the command is the intended place and half the
backlash beyond it that way (the symmetric convention of `gpre.reversals.play`). Where the table
twists, the command is turned back about the pivot by what the yaw turns the part.

The *side* of an axis, -1 to 1, says how far its backlash is taken up: +1 for travel in plus, -1 in
minus, 0 half way. Lengths mm, angles rad.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil, floor

import numpy as np

from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST, SHARE
from gpre.mill.backlash import half_backlash
from gpre.mill.mill import Mill
from gpre.reversals import twist

_ROUNDS = 4  # of the fixed point; each gains a factor of the twist, or of the table's slope


@dataclass(frozen=True)
class Shift:
    """The shift of one mill.

    step: mm, of the coordinates that are written. feed_step: mm/min, of the feeds.
    """

    mill: Mill
    step: float
    feed_step: float = 0.1

    @cached_property
    def has_backlash(self) -> tuple[bool, bool, bool]:
        """Tell which axes have backlash to take up."""
        x, y, z = (
            not axis.gravity_loaded and axis.greatest_lost_motion > axis.resolution
            for axis in self.mill.axes
        )
        return x, y, z

    @cached_property
    def twists(self) -> tuple[tuple[int, float], ...]:
        """The axes that twist the table, each with its full angle."""
        return twist.twists(self.mill.twist)

    @cached_property
    def needs_origin(self) -> bool:
        """True where the shift depends on the place in machine coordinates."""
        tables = any(isinstance(axis.lost_motion, tuple) for axis in self.mill.axes)
        return tables or bool(self.twists)

    def half(self, axis: int, place: float) -> float:
        """Return half the backlash of an axis at a machine coordinate of its screw, mm.

        A backlash that is one number is rounded up to what can be written, so that a take-up is
        never left unfinished by rounding.
        """
        if not self.has_backlash[axis]:
            return 0.0
        each = self.mill.axes[axis]
        if isinstance(each.lost_motion, tuple):
            return float(half_backlash(each, np.array([place]))[0])
        return ceil(each.lost_motion / 2.0 / self.step - SHARE) * self.step

    def command(
        self, place: Sequence[float] | Floats, side: Sequence[float], origin: Floats
    ) -> Floats:
        """(3,) mm, program coordinates: the command for an intended place, with its sides.

        origin: (3,) mm, machine coordinates of the program's zero. NaN stays NaN.
        """
        intended = np.asarray(place, np.float64)
        result = intended.copy()
        for _ in range(_ROUNDS if self.needs_origin else 1):
            backlash = [
                side[axis] * self.half(axis, float(result[axis] + origin[axis]))
                for axis in range(3)
            ]
            new = intended + np.array(backlash)
            for axis, full in self.twists:
                yaw = np.array([side[axis] * full / 2.0])
                new[:2] -= twist.shift((result + origin)[None], yaw, self.mill.twist.pivot)[0]
            result = new
        return result

    def most(self, axis: int) -> float:
        """Return the greatest half backlash of an axis, mm."""
        return self.mill.axes[axis].greatest_lost_motion / 2.0 if self.has_backlash[axis] else 0.0

    def feed(self, wanted: float) -> float:
        """Round a feed down to what is written, mm/min."""
        return floor(wanted / self.feed_step + DUST) * self.feed_step or wanted

    def beyond(self, axis: int) -> float:
        """Return how far to go beyond half the backlash where its state is not known, mm.

        The screw then runs for twice the backlash in all, more than it is wherever it is uncertain.
        """
        each = self.mill.axes[axis]
        return ceil(max(each.greatest_lost_motion, 2.0 * each.uncertainty) / self.step) * self.step

    @cached_property
    def bends(self) -> float:
        """The greatest change of half a backlash for each mm of its screw; 0 without tables."""
        steepest = 0.0
        for axis, each in enumerate(self.mill.axes):
            if isinstance(each.lost_motion, tuple) and self.has_backlash[axis]:
                places, amounts = np.array(each.lost_motion, np.float64).T
                steepest = max(
                    steepest, float(np.abs(np.diff(amounts) / np.diff(places)).max(initial=0.0))
                )
        return steepest / 2.0
