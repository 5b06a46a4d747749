"""How long the controller stands at each reversal while it takes up the backlash.

A controller that compensates stops the path where an axis turns round, sends the screw through the
backlash at its own feed, and pauses (common practice, no source). Where two axes turn at one place
each has its own take-up, one after the other: the longer guess.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats
from gpre.mill.backlash import half_backlash
from gpre.mill.mill import Mill
from gpre.motion.motion import Motion


class TurnsAtStops(Protocol):
    """k reversals: axis, move, along, position (k, 3) mm, in_cut and run (mm); see Reversals."""

    @property
    def axis(self) -> NDArray[np.uint8]: ...  # noqa: D102
    @property
    def move(self) -> NDArray[np.int32]: ...  # noqa: D102
    @property
    def along(self) -> Floats: ...  # noqa: D102
    @property
    def position(self) -> Floats: ...  # noqa: D102
    @property
    def in_cut(self) -> NDArray[np.bool_]: ...  # noqa: D102
    @property
    def run(self) -> Floats: ...  # noqa: D102


def take_up_seconds(motion: Motion, turns: TurnsAtStops, mill: Mill) -> Floats:
    """(k,) s: backlash / take-up feed + pause for each reversal, 0 where nothing is taken up.

    Nothing is unless the controller compensates; nor on an axis without backlash there, or
    gravity-loaded, nor after travel within the resolution. Where a position is not known, the
    greatest backlash of the axis is taken.
    """
    result = np.zeros(len(turns.axis))
    if mill.compensation.by != "controller":
        return result
    feed = mill.compensation.take_up_feed / 60.0
    origins = motion.origins
    for number, axis in enumerate(mill.axes):
        rows = np.flatnonzero((turns.axis == number) & (turns.run > axis.resolution))
        origin = origins[motion.state[turns.move[rows]], number]
        # a gravity-loaded axis has none
        backlash = 2.0 * half_backlash(axis, turns.position[rows, number] + origin)
        backlash = np.where(np.isnan(backlash), axis.greatest_lost_motion, backlash)
        result[rows] = np.where(backlash > 0.0, backlash / feed + mill.compensation.pause, 0.0)
    return result
