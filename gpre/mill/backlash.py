"""How much backlash an axis has where it stands."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.mill.mill import Axis

Floats = NDArray[np.float64]


def half_slack(axis: Axis, position: Floats, change: float = 0.0) -> Floats:
    """(n,) mm: half the slack of an axis at screw positions (n,), mm, machine coordinates.

    A table of slack is read on straight lines between its rows, and runs on evenly beyond its ends.
    change: mm, added to the slack everywhere, which never falls below 0. Zero for an axis that
    hangs. NaN positions have the slack of none of them: NaN where it is a table.
    """
    if axis.hangs:
        return np.zeros(len(position))
    if isinstance(axis.lost_motion, tuple):
        places, slacks = np.array(axis.lost_motion, np.float64).T
        slack = np.interp(position, places, slacks)
    else:
        slack = np.full(len(position), axis.lost_motion)
    result: Floats = np.maximum(slack + change, 0.0) / 2.0
    return result
