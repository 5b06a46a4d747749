"""How much backlash an axis has where it stands."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.mill.mill import Axis

Floats = NDArray[np.float64]


def half_backlash(axis: Axis, position: Floats, change: float = 0.0) -> Floats:
    """(n,) mm: half the backlash of an axis at screw positions (n,), mm, machine coordinates.

    A backlash table is read on straight lines between its rows, and runs on evenly beyond its ends.
    change: mm, added to the backlash everywhere, which never falls below 0. Zero for an axis that
    hangs. NaN positions have the backlash of none of them: NaN where it is a table.
    """
    if axis.hangs:
        return np.zeros(len(position))
    if isinstance(axis.lost_motion, tuple):
        places, amounts = np.array(axis.lost_motion, np.float64).T
        backlash = np.interp(position, places, amounts)
    else:
        backlash = np.full(len(position), axis.lost_motion)
    result: Floats = np.maximum(backlash + change, 0.0) / 2.0
    return result
